"""The second opinion on real boards: what did not change and what did."""

from __future__ import annotations

from pathlib import Path

import pytest
from cases.boardtext import BoardText, Edit, TextPad, splice
from conftest import CORPUS, board_paths

from renet.changes import ChangeList
from renet.rules import Pool, Rules
from renet.verify import (
    COPPER,
    PARTITION,
    RULES,
    Expect,
    verify_board,
    verify_netlist,
    verify_returned,
)

BOARDS = sorted(CORPUS.glob("*/*.kicad_pcb")) + board_paths()
NETLISTS = [path for path in (p.with_suffix(".net") for p in BOARDS) if path.exists()]
OUT_OF_STEP = {"v20170123_fpga_host"}
"""Pairs whose netlist and board come from different days."""


def traded(text: BoardText) -> tuple[TextPad, TextPad]:
    """Two pins of one part, each of one pad and with a real net of its own."""
    times: dict[tuple[str, str], int] = {}
    for pad in text.pads:
        times[pad.ref, pad.number] = times.get((pad.ref, pad.number), 0) + 1
    single = [
        p for p in text.pads if times[p.ref, p.number] == 1 and not p.private and p.type == ""
    ]
    single += [
        p
        for p in text.pads
        if times[p.ref, p.number] == 1 and not p.private and "power" not in p.type
    ]
    refs = {pad.ref for pad in text.pads}
    for ref in sorted(refs):
        pins = [pad for pad in single if pad.ref == ref]
        for one in pins:
            for two in pins:
                if one.net != two.net:
                    return one, two
    raise LookupError("no two pins to trade")


def by_hand(text: BoardText) -> tuple[bytes, TextPad, TextPad]:
    one, two = traded(text)
    edits = []
    for pad, other in ((one, two), (two, one)):
        mine, theirs = pad.node.one("net"), other.node.one("net")
        assert mine and theirs
        edits.append(Edit(mine.start, mine.end, text.data[theirs.start : theirs.end]))
    return splice(text.data, edits), one, two


@pytest.mark.parametrize("path", BOARDS, ids=lambda p: p.stem)
@pytest.mark.parametrize("mode", ["keep", "rip", "ignore"])
def test_a_board_is_itself(path: Path, mode: str) -> None:
    data = path.read_bytes()
    verdict = verify_board(data, data, Expect(Rules(), None, mode))
    assert verdict.findings == []
    assert verdict.moved == ()
    assert verdict.counts.pads_compared > 0


@pytest.mark.parametrize("path", BOARDS, ids=lambda p: p.stem)
def test_two_nets_traded_by_hand_are_found(path: Path) -> None:
    text = BoardText(path.read_bytes())
    try:
        data, one, two = by_hand(text)
    except LookupError:
        assert len({p.net for p in text.pads if not p.private}) <= 1
        return
    labels = {f"{pad.ref}:{pad.number}" for pad in (one, two)}
    verdict = verify_board(text.data, data, Expect(Rules()))
    assert {move.label for move in verdict.moved} == labels
    assert {f.where for f in verdict.of(RULES)} == labels
    assert {f.check for f in verdict.findings} <= {RULES, COPPER}
    listed = verify_board(text.data, data, Expect(changes=ChangeList((), ())))
    assert {f.where for f in listed.of("moves")} == labels
    free = Rules(pools=(Pool(one.ref, (one.number, two.number)),))
    allowed = verify_board(text.data, data, Expect(free))
    assert {f.check for f in allowed.findings} <= {COPPER}
    assert not allowed.of(PARTITION)


@pytest.mark.parametrize("path", NETLISTS, ids=lambda p: p.stem)
def test_a_netlist_is_itself_and_its_board(path: Path) -> None:
    data, board = path.read_bytes(), path.with_suffix(".kicad_pcb").read_bytes()
    assert verify_netlist(data, data, Expect(Rules())).findings == []
    nothing = ChangeList((), ())
    assert verify_returned(data, data, nothing).findings == []
    assert verify_returned(data, board, nothing).ok == (path.stem not in OUT_OF_STEP)
