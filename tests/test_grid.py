"""The grid loses no pair, whatever the shapes."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from renet import grid
from renet.touch import within

SIZES = st.sampled_from([3, 50, 4_000, 10**6, 10**9])


@st.composite
def segments(draw: st.DrawFn) -> tuple[np.ndarray, np.ndarray]:
    """Segments (n, 4) of mixed sizes on one board, and how far each is grown."""
    board = draw(SIZES)
    count = draw(st.integers(1, 30))
    seed = np.random.default_rng(draw(st.integers(0, 2**32)))
    start = seed.integers(-board, board + 1, (count, 2))
    reach = np.minimum(seed.choice([0, 1, board // 9 + 1, board], (count, 2)), board)
    way = seed.integers(-reach, reach + 1)
    way[seed.random(count) < 0.3] *= [1, 0]
    end = np.clip(start + way, -board, board)
    grow = seed.choice([0, 1, board // 50 + 1, board // 5 + 1], count)
    return np.concatenate([start, end], axis=1), grow


def gathered(blocks) -> set[tuple[int, int]]:  # type: ignore[no-untyped-def]
    found: set[tuple[int, int]] = set()
    for i, j in blocks:
        found.update(zip(i.tolist(), j.tolist(), strict=True))
    return found


@given(segments())
@settings(max_examples=500)
def test_grown_segments_that_touch_share_a_cell(case: tuple[np.ndarray, np.ndarray]) -> None:
    ends, grow = case
    field = grid.lay(grid.segment_boxes(ends, grow))
    found = gathered(grid.pairs_within(grid.enter_segments(field, ends, grow)))
    found |= {(j, i) for i, j in found}
    i, j = (index.ravel() for index in np.indices((len(ends), len(ends))))
    hit = within(ends[i], ends[j], (grow[i] + grow[j]).astype(np.float64)) & (i != j)
    assert set(zip(i[hit].tolist(), j[hit].tolist(), strict=True)) <= found


@given(segments(), segments())
@settings(max_examples=300)
def test_segments_and_boxes_that_touch_share_a_cell(one, two) -> None:  # type: ignore[no-untyped-def]
    ends, boxes = one[0], grid.segment_boxes(two[0], two[1])
    field = grid.lay(np.concatenate([grid.segment_boxes(ends), boxes]))
    found = gathered(
        grid.pairs_between(grid.enter_segments(field, ends), grid.enter_boxes(field, boxes))
    )
    i, j = (index.ravel() for index in np.indices((len(ends), len(boxes))))
    x0, y0, x1, y1 = boxes[j].T
    zero = np.zeros(len(i))
    hit = np.zeros(len(i), dtype=bool)
    for side in ((x0, y0, x1, y0), (x1, y0, x1, y1), (x1, y1, x0, y1), (x0, y1, x0, y0)):
        hit |= within(ends[i], np.stack(side, axis=1), zero)
    inside = (ends[i, 0] >= x0) & (ends[i, 0] <= x1) & (ends[i, 1] >= y0) & (ends[i, 1] <= y1)
    hit |= inside
    assert set(zip(i[hit].tolist(), j[hit].tolist(), strict=True)) <= found


@given(segments(), segments())
@settings(max_examples=300)
def test_all_that_meet_may_meet(one, two) -> None:  # type: ignore[no-untyped-def]
    boxes, others = grid.segment_boxes(*one), grid.segment_boxes(*two)
    meets = grid.boxes_meet(boxes[:, None], others[None, :]).any(axis=1)
    assert grid.may_meet(boxes, others)[meets].all()
    assert not grid.may_meet(boxes, others[:0]).any()


def test_what_is_far_may_not_meet() -> None:
    """A frame of small boxes round one in the middle, and one off to each side."""
    at = [(0, 0), (0, 1000), (1000, 0), (1000, 1000), (500, 500), (5000, 500), (-500, 500)]
    boxes = np.array([(x, y, x + 10, y + 10) for x, y in at])
    others = boxes[[0, 3, 4]]
    assert grid.may_meet(boxes, others).tolist() == [True, False, False, True, True, False, False]


@given(segments(), st.lists(st.integers(0, 2), min_size=30, max_size=30))
def test_groups_are_kept_apart(case: tuple[np.ndarray, np.ndarray], names: list[int]) -> None:
    ends, grow = case
    group = np.array(names[: len(ends)])
    field = grid.lay(grid.segment_boxes(ends, grow))
    together = gathered(grid.pairs_within(grid.enter_segments(field, ends, grow)))
    apart = gathered(grid.pairs_within(grid.enter_segments(field, ends, grow, group)))
    assert {tuple(sorted(p)) for p in apart} == {
        tuple(sorted(p)) for p in together if group[p[0]] == group[p[1]]
    }


@given(segments(), st.lists(st.integers(0, 4), min_size=30, max_size=30))
def test_items_of_one_owner_make_no_pairs(case, names: list[int]) -> None:  # type: ignore[no-untyped-def]
    ends, grow = case
    owner = np.array(sorted(names[: len(ends)]))
    entries = grid.enter_segments(grid.lay(grid.segment_boxes(ends, grow)), ends, grow)
    every = gathered(grid.pairs_within(entries))
    found = gathered(grid.pairs_within(entries, owner))
    assert found == {(i, j) for i, j in every if owner[i] != owner[j]}


def test_entries_stay_linear_where_one_segment_is_far_longer() -> None:
    rng = np.random.default_rng(5)
    start = rng.integers(0, 10**9, (5_000, 2))
    ends = np.concatenate([start, start + rng.integers(-50, 50, (5_000, 2))], axis=1)
    ends[0] = [0, 0, 10**9, 10**9]
    field = grid.lay(grid.segment_boxes(ends))
    assert len(grid.enter_segments(field, ends).key) < 6 * len(ends) + 3 * grid.MOST_CELLS


@given(st.lists(st.integers(0, 5), max_size=50), st.integers(1, 9))
def test_blocks_are_all_rows_in_order_and_bounded(counts: list[int], most: int) -> None:
    count = np.array(counts, dtype=np.int64)
    old, grid.BLOCK = grid.BLOCK, most
    try:
        slices = list(grid.blocks(count))
    finally:
        grid.BLOCK = old
    assert [i for s in slices for i in range(s.start, s.stop)] == list(range(len(counts)))
    assert all(count[s].sum() <= most or s.stop - s.start == 1 for s in slices)


def test_spread() -> None:
    row, number = grid.spread(np.array([5, 0, 7]), np.array([2, 0, 3]))
    assert row.tolist() == [0, 0, 2, 2, 2]
    assert number.tolist() == [5, 6, 7, 8, 9]


def test_no_boxes_make_a_grid_all_the_same() -> None:
    field = grid.lay(np.empty((0, 4), dtype=np.int64))
    assert len(grid.enter_boxes(field, np.empty((0, 4), dtype=np.int64)).key) == 0


def test_distinct_rows_are_sorted() -> None:
    pairs = np.array([[2, 1], [0, 3], [2, 1], [0, 1]])
    assert grid.distinct(pairs, 4).tolist() == [[0, 1], [0, 3], [2, 1]]
    assert grid.distinct(np.empty((0, 2), dtype=np.int64), 0).shape == (0, 2)
