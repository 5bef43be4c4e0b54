"""Any board gives a draft that loads, holds, frees what it says, and stays as a hand left it."""

from __future__ import annotations

from typing import Any

import numpy as np
from cases.structures import cases, draft_of, read
from hypothesis import event, given
from hypothesis import strategies as st

from renet.draft import FREE, KEPT, draft_text, updated
from renet.errors import RulesError
from renet.freedom import resolve
from renet.read.rules import read_rules

REFS = ("U1", "U2", "RN1", "RN2", "J1", "Y1", "C1", "U:3", "U[4]", "U*", 'U"5', "ü", "A B")
VALUES = ("", "CTRL", "74HC00", "LM324", "74HC245", "10k", "DDR3", "LPDDR2", "SRAM", "ESP32-C3")
NAMES = (
    *("PA1", "PA2", "PA3", "PB4/UART1_TX", "PB5/UART1_RX", "PB6/UART2_TX", "PB7 (SPI1_SCK)"),
    *("IO_L1P_1", "IO_L1N_1", "IO_L2P_2", "PL2A", "PL2B", "VCCO_1", "VCCO_2", "GPIO0", "NRST"),
    *("DQ0", "DQS0", "DM0", "A0", "A1", "D0", "D1", "~{WE}", "~{OE}", "~{CS}", "R1.1", "R1.2"),
    *("+", "-", "IN_A+", "OUT_A", "1A", "1B", "1Y", "COM", "USB_DP", "XTAL1", "SWDIO", "~", "*"),
    "",
)  # fmt: skip
TYPES = (
    "bidirectional",
    "input",
    "output",
    "passive",
    "power_in",
    "no_connect",
    "open_collector",
    "",
)
NETS = (
    *("", "", "GND", "+3V3", "VCC", "/A_TX", "/A_RX", "/B_SCK", "/D0", "/D1", "/D2", "/D3", "/X_P"),
    *("/X_N", "/Y+", "/Y-", "/RESET", "/CLK", "/ADC1", "Net-(U1-Pad3)", "/b[0]", "/b[1]"),
    *("/*", "a b"),
)  # fmt: skip
NUMBERS = ("1-3", "A1", "*", "[2]", "EP", "7.5", "#", '"', "ä")


KNOWN = [part for path in cases() for part in read(path)["part"]]


@st.composite
def parts(draw: st.DrawFn) -> list[dict[str, Any]]:
    """Parts of any pins, and parts of the corpus under other references, a few pins changed."""
    found = draw(loose_parts())
    for ref in draw(st.lists(st.sampled_from(REFS), max_size=2, unique=True)):
        if ref not in {part["ref"] for part in found}:
            known = draw(st.sampled_from(KNOWN))
            pins = [list(pin) for pin in known["pins"]]
            for at in draw(st.sets(st.sampled_from(range(len(pins))), max_size=3)):
                pins[at][1:] = [draw(st.sampled_from(words)) for words in (NAMES, TYPES, NETS)]
            found.append(known | {"ref": ref, "pins": pins})
    return found


@st.composite
def loose_parts(draw: st.DrawFn) -> list[dict[str, Any]]:
    found = []
    for ref in draw(st.lists(st.sampled_from(REFS), min_size=1, max_size=3, unique=True)):
        plain = [str(number + 1) for number in range(draw(st.integers(2, 16)))]
        odd = draw(st.lists(st.sampled_from(NUMBERS), max_size=2, unique=True))
        pins = [
            [number, *(draw(st.sampled_from(words)) for words in (NAMES, TYPES, NETS))]
            for number in (*plain, *odd)
        ]
        shape = draw(st.sampled_from(("row", "dual", "header", "edge")))
        value = draw(st.sampled_from(VALUES))
        found.append({"ref": ref, "value": value, "shape": shape, "pins": pins})
    return found


@given(parts(), st.data())
def test_a_draft_loads_and_frees_what_it_says(made: list[dict[str, Any]], data: Any) -> None:
    draft = draft_of({"part": made})
    board = draft.evidence.board
    text = draft_text(draft, "any").encode()
    freedom = resolve(board, read_rules(text), {})
    free = {pin for pin, verdict in draft.verdicts.items() if verdict.state == FREE}
    event(f"free: {bool(free)}")
    lone = {pin for pin, why in freedom.kept if why.startswith("no other pin")}
    assert set(np.flatnonzero(freedom.movable).tolist()) == free - lone
    assert updated(text, draft).data == text
    lines = text.decode().splitlines(True)
    gone = data.draw(st.sets(st.sampled_from(range(len(lines)))))
    left = "".join(line for at, line in enumerate(lines) if at not in gone or line[:1] != "#")
    again = updated(left.encode(), draft)
    assert updated(again.data, draft).data == again.data


@given(parts())
def test_every_question_may_be_answered_with_yes(made: list[dict[str, Any]]) -> None:
    draft = draft_of({"part": made})
    text = draft_text(draft, "any").replace("#? ", "").encode()
    freedom = resolve(draft.evidence.board, read_rules(text), {})
    kept = {pin for pin, verdict in draft.verdicts.items() if verdict.state == KEPT}
    assert not kept & set(np.flatnonzero(freedom.movable).tolist())


@given(parts(), parts())
def test_a_draft_of_another_board_comes_in_or_is_refused_in_one_line(
    made: list[dict[str, Any]], other: list[dict[str, Any]]
) -> None:
    """What the file names may be gone from the board; then the complaint says where."""
    text = draft_text(draft_of({"part": made}), "any").encode()
    fresh = [part for part in other if part["ref"] not in {one["ref"] for one in made}]
    draft = draft_of({"part": [*made, *fresh]})
    try:
        found = updated(text, draft)
    except RulesError as error:
        assert error.line
        return
    resolve(draft.evidence.board, read_rules(found.data), {})
    assert updated(found.data, draft).data == found.data
