"""Planned lengths against half perimeter, rectilinear spanning and Steiner trees.

Oracles: the project's facts, section 7 (computed there with independent code).  Hwang, "On
Steiner Minimal Trees with Rectilinear Distance", SIAM J. Appl. Math. 30(1), 1976: the
spanning tree is at most 1.5 times the Steiner tree (figure from memory).  A Steiner tree
needs no other points than those of the grid through the pins (Hanan 1966, from memory).
"""

from __future__ import annotations

from itertools import combinations, product

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from twins.conflicts import pads_apart

from renet.channels.job import outlook
from renet.channels.record import channels_record
from renet.pipeline import Inputs, Named, Options

Point = tuple[int, int]
ORACLES: list[tuple[list[Point], tuple[int, int, int]]] = [
    ([(1, 0), (-1, 0), (0, 1), (0, -1)], (4, 6, 4)),
    ([(0, 0), (4, 1), (2, 5)], (9, 11, 9)),
    ([(0, 0), (2, 0), (0, 2), (2, 2)], (4, 6, 6)),
    ([(0, 0), (2, 0), (0, 1), (2, 1)], (3, 4, 4)),
    ([(0, 0), (3, 0), (1, 2), (4, 3), (0, 4)], (8, 13, 11)),
]
MM = 6


def half_perimeter(pins: list[Point]) -> int:
    xs, ys = zip(*pins, strict=True)
    return int(max(xs) - min(xs) + max(ys) - min(ys))


def spanning(pins: list[Point]) -> int:
    """Length of the least rectilinear spanning tree, by networkx."""
    graph = nx.Graph()
    graph.add_nodes_from(pins)
    for a, b in combinations(set(pins), 2):
        graph.add_edge(a, b, weight=abs(a[0] - b[0]) + abs(a[1] - b[1]))
    return int(nx.minimum_spanning_tree(graph).size(weight="weight"))


def steiner(pins: list[Point]) -> int:
    """The same with up to two points fewer than pins added anywhere on the grid through them."""
    extra = sorted(set(product({x for x, _ in pins}, {y for _, y in pins})) - set(pins))
    return min(
        spanning([*pins, *some])
        for count in range(max(len(pins) - 1, 1))
        for some in combinations(extra, count)
    )


def board(pins: list[Point]) -> bytes:
    """One net over pads of 1 mm at the points, ``MM`` apart."""
    lines = ["(kicad_pcb (version 20211014) (generator made)", "(general (thickness 1.6))"]
    lines.append('(layers (0 "F.Cu" signal) (31 "B.Cu" signal) (44 "Edge.Cuts" user))')
    lines.append('(net 0 "") (net 1 "/N")')
    for number, (x, y) in enumerate(pins, start=1):
        lines.append(f'(footprint "one" (layer "F.Cu") (at {20 + MM * x} {20 + MM * y})')
        lines.append(f'(fp_text reference "TP{number}" (at 0 0) (layer "F.SilkS"))')
        lines.append('(pad "1" thru_hole circle (at 0 0) (size 1 1) (drill 0.6) (layers "*.Cu")')
        lines.append('(net 1 "/N")))')
    lines.append('(gr_rect (start 0 0) (end 60 60) (layer "Edge.Cuts") (width 0.1))')
    return "\n".join([*lines, ")"]).encode()


@pytest.mark.parametrize(("pins", "known"), ORACLES)
def test_planned_length_keeps_to_the_bounds(pins: list[Point], known: tuple[int, int, int]) -> None:
    assert (half_perimeter(pins), spanning(pins), steiner(pins)) == known
    record = channels_record(outlook(Inputs(Named("net", board(pins))), Options()))
    assert record["blocked"] == 0 and len(record["routes"]) == len(pins) - 1
    least = sum(map(pads_apart, record["routes"])) / MM
    # The connections are a Euclidean spanning tree: no shorter than the rectilinear one.
    assert known[1] - 1e-6 <= least <= 1.5 * known[1]
    # Tracks may end at the rim of a pad, half a millimetre from its middle.
    assert record["length_mm"] >= MM * known[2] - len(pins)
    for route in record["routes"]:
        assert route["length_mm"] >= route["bound_mm"] >= pads_apart(route) - 2


@settings(max_examples=30)
@given(
    st.lists(st.tuples(st.integers(0, 6), st.integers(0, 6)), min_size=2, max_size=4, unique=True)
)
def test_the_bounds_stand_in_order(pins: list[Point]) -> None:
    """HPWL <= RSMT <= RMST <= 1.5 RSMT; the first two are equal up to three pins."""
    short, tree, span = half_perimeter(pins), steiner(pins), spanning(pins)
    assert short <= tree <= span <= 1.5 * tree
    if len(pins) <= 3:
        assert short == tree
