from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from renet.splice import Edit, splice


@st.composite
def edited(draw: st.DrawFn) -> tuple[bytes, list[Edit]]:
    """Bytes, and sorted edits that do not overlap."""
    data = draw(st.binary(max_size=40))
    cuts = sorted(draw(st.lists(st.integers(0, len(data)), max_size=12)))
    pairs = zip(cuts[0::2], cuts[1::2], strict=False)
    return data, [Edit(start, end, draw(st.binary(max_size=4))) for start, end in pairs]


@given(edited())
def test_equals_replacing_from_the_back(case: tuple[bytes, list[Edit]]) -> None:
    data, edits = case
    expected = data
    for start, end, text in reversed(edits):
        expected = expected[:start] + text + expected[end:]
    assert splice(data, edits) == expected


@given(edited())
def test_putting_back_what_stood_there_changes_nothing(case: tuple[bytes, list[Edit]]) -> None:
    data, edits = case
    assert splice(data, [Edit(s, e, data[s:e]) for s, e, _ in edits]) == data
    assert splice(data, []) == data


@given(edited())
def test_what_was_cut_out_can_be_put_back(case: tuple[bytes, list[Edit]]) -> None:
    data, edits = case
    back, shift = [], 0
    for start, end, text in edits:
        begin = start + shift
        back.append(Edit(begin, begin + len(text), data[start:end]))
        shift += len(text) - (end - start)
    assert splice(splice(data, edits), back) == data


def test_insertions_at_one_place_keep_their_order() -> None:
    assert splice(b"ad", [Edit(1, 1, b"b"), Edit(1, 1, b"c")]) == b"abcd"


@pytest.mark.parametrize(
    "edits",
    [
        [Edit(0, 3, b""), Edit(2, 4, b"")],
        [Edit(3, 4, b""), Edit(0, 1, b"")],
        [Edit(2, 1, b"")],
        [Edit(-1, 1, b"")],
        [Edit(0, 7, b"")],
    ],
)
def test_disorder_is_an_error_of_the_program(edits: list[Edit]) -> None:
    with pytest.raises(ValueError, match="out of order"):
        splice(b"abcdef", edits)
