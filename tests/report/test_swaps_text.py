"""Whatever names a change list holds, it reads back the same, here and through sexpdata."""

from __future__ import annotations

import sexpdata
from hypothesis import given
from hypothesis import strategies as st

from renet.changes import ChangeList, Figures, Move, Source, Swap
from renet.read.swaps import read_swaps
from renet.report.swaps import swaps_text

NAMES = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=8)
FIGURES = st.none() | st.builds(
    Figures, *[st.integers(-99, 99)] * 3, st.floats(-1e6, 1e6).map(lambda mm: round(mm, 3))
)


@st.composite
def lists(draw: st.DrawFn) -> ChangeList:
    """A change list with one to three swaps over pins of any name."""
    pins = draw(st.lists(st.tuples(NAMES, NAMES), unique=True, min_size=1, max_size=6))
    moves = [Move(*pin, draw(NAMES), draw(st.none() | NAMES), draw(st.none() | NAMES))
             for pin in pins]  # fmt: skip
    swaps = [Swap(number, tuple(moves[number - 1 :: 3]), draw(FIGURES), draw(FIGURES))
             for number in range(1, min(3, len(moves)) + 1)]  # fmt: skip
    return ChangeList((Source("board", draw(NAMES), "00"),), tuple(swaps))


@given(lists())
def test_a_list_reads_back_the_same(changes: ChangeList) -> None:
    assert read_swaps(swaps_text(changes).encode()) == changes


@given(lists())
def test_a_general_reader_sees_the_same_moves(changes: ChangeList) -> None:
    document = sexpdata.loads(swaps_text(changes), nil=None, true=None)
    moves = [
        {pair[0].value(): pair[1] for pair in entry[1:]}
        for swap in document[1:]
        if swap[0].value() == "swap"
        for entry in swap[2:]
        if entry[0].value() == "move"
    ]
    assert [(m["part"], m["pin"], m["name"], m.get("was"), m.get("is")) for m in moves] == [
        tuple(move) for move in changes.moves
    ]
