"""Crossings, overlaps and lengths against known figures and general-purpose libraries."""

from __future__ import annotations

import itertools
from math import comb

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linear_sum_assignment
from scipy.sparse.csgraph import minimum_spanning_tree
from scipy.spatial.distance import cdist
from scipy.stats import kendalltau

from renet.columns import pad_columns
from renet.spanning import span
from renet.tangle import crossing_pairs, length_mm, lengths, overlap_pairs
from tests.strategies.boards import PadSpec, build


def facing_rows(order: list[int], pitch: int = 1_000_000) -> np.ndarray:
    """Links from row 0 to row 1; the i-th of the left goes to place ``order[i]`` of the right."""
    left = np.arange(len(order)) * pitch
    right = np.array(order, dtype=np.int64) * pitch
    across = np.full(len(order), 20 * pitch)
    return np.stack([np.zeros(len(order), dtype=np.int64), left, across, right], axis=1)


def crossings(ends: np.ndarray) -> int:
    return len(crossing_pairs(ends, np.arange(len(ends))))


# Crossings of two facing rows are the inversions of the permutation: facts.md section 7
# ("Metrics and small oracles"), marked there as computed by independent code.
@pytest.mark.parametrize(
    ("order", "expected"),
    [("4321", 6), ("87654321", 28), ("2143", 2), ("2413", 3), ("135246", 3), ("1234", 0)],
)
def test_small_rows(order: str, expected: int) -> None:
    assert crossings(facing_rows([int(digit) for digit in order])) == expected


@given(st.permutations(range(40)))
@settings(max_examples=50)
def test_rows_cross_as_often_as_kendall_counts_inversions(order: list[int]) -> None:
    """Kendall's tau (scipy) is (concordant - discordant) / all pairs; discordant = inversions."""
    tau = kendalltau(range(len(order)), order).statistic
    pairs = comb(len(order), 2)
    assert crossings(facing_rows(list(order))) == round((1 - tau) * pairs / 2)


@pytest.mark.parametrize(("m", "n"), [(2, 2), (3, 3), (4, 7), (6, 6), (9, 11)])
def test_complete_bipartite_drawings(m: int, n: int) -> None:
    """K(m,n) between two rows has C(m,2)*C(n,2) crossings: every two on one side and every two
    on the other make one (textbook graph drawing, from memory).  The links all carry different
    nets here; pairs that share an end are no crossings."""
    ends = [[0, i * 1_000, 50_000, j * 1_003] for i in range(m) for j in range(n)]
    assert crossings(np.array(ends)) == comb(m, 2) * comb(n, 2)


@pytest.mark.parametrize("seed", range(20))
def test_the_shortest_matching_crosses_nowhere(seed: int) -> None:
    """A crossing pair could be uncrossed by the triangle inequality (textbook, from memory)."""
    rng = np.random.default_rng(seed)
    left, right = (rng.choice(10**8, (60, 2), replace=False) for _ in range(2))
    _, partner = linear_sum_assignment(cdist(left, right))
    shortest = np.concatenate([left, right[partner]], axis=1)
    assert crossings(shortest) == 0
    anyhow = np.concatenate([left, right], axis=1)
    assert crossings(anyhow) > 0
    assert length_mm(anyhow) > length_mm(shortest)


def tangled(count: int, seed: int, lattice: int) -> tuple[np.ndarray, np.ndarray]:
    """Segments like connections: many short, some long, half of them at multiples of 45 degrees."""
    rng = np.random.default_rng(seed)
    start = rng.integers(0, 200, (count, 2)) * lattice
    turn = rng.choice(np.array(list(itertools.product((-1, 0, 1), repeat=2))), count)
    straight = turn * rng.integers(0, 60, (count, 1))
    free = rng.integers(-60, 61, (count, 2))
    way = np.where(rng.random((count, 1)) < 0.5, straight, free) * lattice
    return np.concatenate([start, start + way], axis=1), rng.integers(0, count // 2, count)


@pytest.mark.parametrize("seed", range(6))
def test_pairs_are_those_that_shapely_finds(seed: int) -> None:
    """Lines cross (DE-9IM, OGC Simple Features: interiors meet in a point) or share a line.

    Shapely also says "crosses" where an end of one lies inside the other, which
    is touching to us, so those pairs are taken out by its own ``touches``.
    """
    ends, net = tangled(1_200, seed, lattice=250_000)
    lines = shapely.linestrings(ends.reshape(-1, 2, 2).astype(float))
    i, j = shapely.STRtree(lines).query(lines, predicate="intersects")
    keep = (i < j) & (net[i] != net[j])
    i, j = i[keep], j[keep]
    shared = shapely.intersection(lines[i], lines[j])
    kind, size = shapely.get_type_id(shared), shapely.length(shared)
    real = (shapely.length(lines[i]) > 0) & (shapely.length(lines[j]) > 0)
    boundary = shapely.points(ends.reshape(-1, 2).astype(float)).reshape(-1, 2)
    at_end = np.zeros(len(i), dtype=bool)
    for index, other in ((i, j), (j, i)):
        for side in (0, 1):
            at_end |= shapely.distance(boundary[index, side], lines[other]) == 0
    crossed = (kind == 0) & real & ~at_end
    overlapped = (kind == 1) & (size > 0)
    for pairs, hit in ((crossing_pairs, crossed), (overlap_pairs, overlapped)):
        expected = sorted(zip(i[hit].tolist(), j[hit].tolist(), strict=True))
        assert [tuple(pair) for pair in pairs(ends, net).tolist()] == expected
        assert expected


@pytest.mark.parametrize(("count", "seed"), [(2, 1), (7, 2), (40, 3), (200, 4)])
def test_spanning_trees_are_as_short_as_those_of_scipy(count: int, seed: int) -> None:
    rng = np.random.default_rng(seed)
    at = rng.permutation(10_000)[:count]
    x, y = at % 100, at // 100
    cols = pad_columns(build([PadSpec("U1", str(k), x[k], y[k], "A") for k in range(count)]))
    edges = span(np.arange(count), cols, np.arange(count))
    ends = np.stack([cols.x[edges[:, 0]], cols.y[edges[:, 0]]], axis=1)
    ends = np.concatenate([ends, np.stack([cols.x[edges[:, 1]], cols.y[edges[:, 1]]], axis=1)], 1)
    places = np.stack([cols.x, cols.y], axis=1).astype(float)
    expected = minimum_spanning_tree(cdist(places, places)).sum()
    assert lengths(ends).sum() == pytest.approx(expected, rel=1e-12)


# Rectilinear trees are another matter, but the Euclidean tree of a few of those point sets
# follows by hand: a plus of unit arms has three edges of sqrt(2), a square of side 2 three of 2
# (facts.md section 7 has the sets, marked computed).
@pytest.mark.parametrize(
    ("points", "expected_mm"),
    [
        ([(1, 0), (-1, 0), (0, 1), (0, -1)], 4.242641),
        ([(0, 0), (2, 0), (2, 2), (0, 2)], 6.0),
        ([(0, 0), (4, 1), (2, 5)], 8.595242),
    ],
)
def test_small_trees(points: list[tuple[int, int]], expected_mm: float) -> None:
    specs = [PadSpec("U1", str(k), x, y, "A") for k, (x, y) in enumerate(points)]
    cols = pad_columns(build(specs))
    edges = span(np.arange(len(points)), cols, np.arange(len(points)))
    a, b = edges[:, 0], edges[:, 1]
    assert length_mm(np.stack([cols.x[a], cols.y[a], cols.x[b], cols.y[b]], axis=1)) == expected_mm
