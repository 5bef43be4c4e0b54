"""Drafts of every real board: they load, what may never be free is not, and they untangle.

The words here are this test's own; nothing is taken from the drafting.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from cases.drafts import Drafted, drafted
from conftest import board_paths

from renet.agree import compare
from renet.draft import ASKED, FREE, draft_text, updated
from renet.engine import Params
from renet.freedom import resolve
from renet.pipeline import Inputs, Named, Options, untangle
from renet.read.board import read_board
from renet.read.netlist import read_netlist
from renet.read.rules import read_rules

NEVER_TYPES = {"power_in", "power_out", "no_connect"}
# How these boards write them, read off their files by hand; common practice, no source.
NEVER_NAMES = re.compile(
    r"(A|D|P)?(GND|VSS)(\W.*|_\w+|\d*)?|V(CC|DD|BAT|BUS|CCIO|REF|PP)\w*(\W.*)?|(IO|A|D)VDD\w*"
    r"|N?C?RE?SE?T(_B|_N|N)?|~\{C?RESET\}.*|NRST|RUN|EN|CHIP_PU|(N?BOOT\d?)|C?DONE|PROG(RAM)?(_?[NB])?"
    r"|XIN|XOUT|XTAL\w*|OSC\w*|JT?(DI|DO|MS|CK)|T(DI|DO|MS|CK|RST)(_B)?|SWD(IO|CLK)?|SWCLK|UPDI|SWO"
    r"|USB_?D[PM+-]|D[+-]|D[PN]\d?|CC\d|SBU\d|NC|MT(DI|DO|CK|MS)|SPI(HD|WP|Q|D|CLK|CS0)|XTAL_32K_[PN]"
)
NEVER_NETS = re.compile(
    r"GND|[AD]GND|\+?\d+V\d*|\+\d+\.?\d*V\w*|V(CC|DD|BUS|BAT|SYS)|NRST|RESET\w*|.*BOOT(MODE|SEL)?\d?|~\{RESET\}"
    r"|USB\d?_?D[+-PMN]+|USB_(P|M|N|D\+|D-)|UD[+-]|SWDIO|SWCLK|SWD|SWO|JTAG_\w+|UPDI|XIN|XOUT|XTAL\d?"
    r"|USB_PU|SS|SDI|SDO|SCK"  # the last four: the boot flash of the small logic module
)
# Pins that these boards' radio modules read at start-up; from memory of their data sheets.
STRAPS = {
    "v2017_wifi_devkit": r".*\bIO(0|3|45|46)\b.*",
    "v20241229_mcu_board": r".*\bGPIO(2|8|9)\b.*",
}
GENERAL = re.compile(
    r"(P[A-K]\d+|GPIO\d+|IO[LRTB]_\d+[ab]?|P[LRTB]\d+[A-D]|IO_L\d+[PN])(\W.*|_.*)?"
)
CONNECTOR = re.compile(r"(J|P|CON|CN|EXT|PMOD|UEXT|GPIO|PGM|VGA|HDMI|JTAG)\d+")


@pytest.fixture(params=board_paths() or [None], ids=lambda path: path.stem if path else "none")
def found(request: pytest.FixtureRequest) -> Drafted:
    if request.param is None:
        pytest.skip("no real boards: ../shared/boards is not there")
    return drafted(request.param)


def test_no_pin_that_must_not_be_traded_is_ever_free(found: Drafted) -> None:
    board = found.draft.evidence.board
    bad = []
    for pin, verdict in found.draft.verdicts.items():
        if verdict.state != FREE:
            continue
        entry = board.pins[pin]
        net = (board.net_name(entry.net) or "").rsplit("/", 1)[-1]
        pieces = re.split(r"[/()\s]+", re.sub(rf"_{re.escape(entry.number)}$", "", entry.name))
        if (
            entry.type in NEVER_TYPES
            or any(NEVER_NAMES.fullmatch(piece) for piece in pieces)
            or NEVER_NETS.fullmatch(net)
            or re.fullmatch(STRAPS.get(found.path.stem, "(?!)"), entry.name)
        ):
            bad.append((board.pin_label(pin), entry.name, net))
    assert bad == []


def test_most_general_pins_that_reach_a_connector_are_free_or_asked(found: Drafted) -> None:
    draft = found.draft
    board = draft.evidence.board
    reaching = {
        pin.net
        for pin in board.pins
        if pin.net >= 0 and CONNECTOR.fullmatch(board.parts[pin.part].ref)
    }
    # one netlist is of another revision than its board: pins on which they differ never move
    netlist = read_netlist(found.netlist.read_bytes())[0] if found.netlist else None
    differs = compare(read_board(found.path.read_bytes())[0], netlist).differs if netlist else {}
    general = [
        index
        for index, pin in enumerate(board.pins)
        if pin.net in reaching
        and pin.type == "bidirectional"
        and GENERAL.fullmatch(pin.name)
        and len(board.parts[pin.part].pins) >= 16
        and not CONNECTOR.fullmatch(board.parts[pin.part].ref)
        and not NEVER_NETS.fullmatch(board.nets[pin.net].rsplit("/", 1)[-1])
        and not any(NEVER_NAMES.fullmatch(piece) for piece in pin.name.split("/"))
        and index not in differs
    ]
    traded = [pin for pin in general if draft.verdicts[pin].state in (FREE, ASKED)]
    missed = [draft.evidence.board.pin_label(pin) for pin in general if pin not in traded]
    assert 10 * len(traded) >= 8 * len(general), missed


def test_every_pin_has_one_verdict_with_a_reason(found: Drafted) -> None:
    draft = found.draft
    assert sorted(draft.verdicts) == list(range(len(draft.evidence.board.pins)))
    assert all(v.kind and v.why and v.evidence for v in draft.verdicts.values())


def test_drafting_over_the_draft_changes_nothing(found: Drafted) -> None:
    text = draft_text(found.draft, found.path.name).encode()
    again = updated(text, found.draft)
    assert (again.data, again.notes) == (text, ())


def test_every_question_may_be_answered_with_yes(found: Drafted) -> None:
    board = found.draft.evidence.board
    text = draft_text(found.draft, found.path.name).replace("#? ", "").encode()
    freedom = resolve(board, read_rules(text), {})
    asked = {pin for pin, verdict in found.draft.verdicts.items() if verdict.state == ASKED}
    kept = {pin for pin, _ in freedom.kept}
    assert asked <= set(np.flatnonzero(freedom.movable).tolist()) | kept


def test_untangling_with_the_draft_is_legal(found: Drafted) -> None:
    """The pipeline raises where the second opinion, which reads the rules by itself, objects."""
    text = draft_text(found.draft, found.path.name).encode()
    netlist = Named(found.netlist.name, found.netlist.read_bytes()) if found.netlist else None
    inputs = Inputs(
        Named(found.path.name, found.path.read_bytes()), netlist, Named("draft.rules.toml", text)
    )
    job = untangle(inputs, Options(params=Params(iterations=200)))
    free = {p for p, verdict in found.draft.verdicts.items() if verdict.state == FREE}
    labels = {found.draft.evidence.board.pin_key(pin) for pin in free}
    assert {(move.part, move.pin) for move in job.changes.moves} <= labels


def test_the_table_of_verdicts_is_up_to_date(shared_boards: list[Path]) -> None:
    """tests/draft/verdicts.txt, written by scripts/draft_table."""
    from cases.drafts import TABLE, table

    assert TABLE.read_text("utf-8") == table(shared_boards)
