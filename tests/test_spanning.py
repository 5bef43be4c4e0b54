"""The minimum spanning tree against its slow twin, and both ways of finding it."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from renet import spanning
from renet.columns import pad_columns
from renet.spanning import span
from tests.strategies.boards import PadSpec, build
from tests.twins.tangle import spanning_edges

# x, y, part, label; a tight lattice, so that ties and coinciding pads are the rule
POINTS = st.lists(
    st.tuples(st.integers(-3, 3), st.integers(-3, 3), st.sampled_from("UVW"), st.integers(0, 9)),
    min_size=1,
    max_size=14,
)


def laid(points: list[tuple[int, int, str, int]]):  # type: ignore[no-untyped-def]
    pads = [PadSpec(ref, str(i), x, y, "A") for i, (x, y, ref, _) in enumerate(points)]
    board = build(pads)
    order = sorted(range(len(points)), key=lambda i: "UVW".index(points[i][2]))
    first = {ref: n for n, ref in enumerate(dict.fromkeys(p[2] for p in points))}
    order.sort(key=lambda i: first[points[i][2]])
    labels = np.array([points[i][3] for i in order])
    return board, pad_columns(board), labels


@given(POINTS)
@settings(max_examples=300)
def test_few_points_span_as_by_the_letter(points: list[tuple[int, int, str, int]]) -> None:
    board, cols, labels = laid(points)
    found = span(np.arange(len(points)), cols, labels)
    assert [tuple(edge) for edge in found.tolist()] == spanning_edges(
        board, range(len(points)), labels.tolist()
    )


@given(POINTS)
@settings(max_examples=300)
def test_many_points_span_like_few(points: list[tuple[int, int, str, int]]) -> None:
    _, cols, labels = laid(points)
    order = np.argsort(cols.rank)
    x, y, label = cols.x[order], cols.y[order], labels[order]
    few = spanning.kruskal(x.tolist(), y.tolist(), label.tolist())
    assert spanning.prim(x, y, label) == few


@given(POINTS, st.randoms(use_true_random=False))
def test_the_order_of_pads_does_not_matter(points, random) -> None:  # type: ignore[no-untyped-def]
    _, cols, labels = laid(points)
    order = list(range(len(points)))
    random.shuffle(order)
    one = span(np.arange(len(points)), cols, labels)
    two = span(np.array(order), cols, labels)
    assert np.array_equal(one, two)


def test_an_edge_runs_between_the_nearest_pads_of_joined_nodes() -> None:
    points = [(0, 0, "U", 0), (9, 0, "U", 0), (0, 3, "U", 2), (9, 2, "U", 2), (30, 0, "U", 4)]
    _, cols, labels = laid(points)
    assert span(np.arange(5), cols, labels).tolist() == [[1, 3], [1, 4]]


def test_nothing_to_span() -> None:
    _, cols, labels = laid([(0, 0, "U", 1), (5, 5, "U", 1)])
    assert span(np.array([], dtype=np.int64), cols, labels).shape == (0, 2)
    assert span(np.array([1]), cols, labels).shape == (0, 2)
    assert span(np.array([0, 1]), cols, labels).shape == (0, 2)


def test_many_pads_at_one_point_hang_on_the_lowest() -> None:
    count = 3_000
    zero = np.zeros(count, dtype=np.int64)
    assert spanning.tree(zero, zero, np.arange(count)) == [(0, i) for i in range(1, count)]


def test_a_large_lattice_has_unit_edges_only_and_joins_everything() -> None:
    x, y = (v.ravel() for v in np.meshgrid(np.arange(40), np.arange(30), indexing="ij"))
    edges = np.array(spanning.tree(x, y, np.arange(1_200)))
    steps = np.abs(x[edges[:, 0]] - x[edges[:, 1]]) + np.abs(y[edges[:, 0]] - y[edges[:, 1]])
    assert (steps == 1).all()
    assert len(edges) == 1_199
