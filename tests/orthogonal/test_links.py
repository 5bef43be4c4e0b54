"""Least bends against a search over all rectilinear paths, and what a link needs by itself."""

from __future__ import annotations

from functools import cache

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from renet.orthogonal.escapes import ANY, BOTH, HORIZONTAL, STEPS, VERTICAL, Escape
from renet.orthogonal.links import MIXED, layer_changes, least_bends, link_of

REACH = 4
EAST, WEST, SOUTH, NORTH = range(4)
offsets = st.integers(-REACH + 1, REACH - 1)


@cache
def paths() -> nx.DiGraph:
    """States (x, y, heading): a step ahead is free, a turn by a right angle costs one bend."""
    graph = nx.DiGraph()
    for x in range(-REACH, REACH + 1):
        for y in range(-REACH, REACH + 1):
            for heading, (dx, dy) in enumerate(STEPS):
                graph.add_edge((x, y, heading), (x + dx, y + dy, heading), weight=0)
                for other, (u, v) in enumerate(STEPS):
                    if dx * u + dy * v == 0:
                        graph.add_edge((x, y, heading), (x, y, other), weight=1)
    return graph


@given(st.integers(0, 3), st.integers(0, 3), offsets, offsets)
def test_bends_are_the_fewest_of_any_path(out: int, back: int, dx: int, dy: int) -> None:
    """networkx, a general-purpose library, finds the path; an exit may be turned at once.

    Exits in one direction that lie in line are left out: one then stands in the other's way.
    """
    u = STEPS[out]
    if (dx, dy) == (0, 0) or (out == back and dx * u[1] == dy * u[0]):
        return
    arriving = STEPS.index((-STEPS[back][0], -STEPS[back][1]))
    fewest = nx.dijkstra_path_length(paths(), (0, 0, out), (dx, dy, arriving))
    assert least_bends(out, back, (dx, dy), 1) == fewest


@pytest.mark.parametrize(
    ("out", "back", "d", "bends"),
    [
        (EAST, WEST, (9, 1), 0),  # facing, within half a pitch of 2
        (EAST, WEST, (9, 2), 2),
        (EAST, WEST, (-9, 0), 4),  # d points away
        (EAST, NORTH, (5, 5), 1),  # along u and against v
        (EAST, NORTH, (5, -5), 3),
        (EAST, SOUTH, (-5, -5), 3),
        (SOUTH, SOUTH, (7, 3), 2),
    ],
)
def test_the_table_of_issue_5(out: int, back: int, d: tuple[int, int], bends: int) -> None:
    assert least_bends(out, back, d, 2) == bends


def pad(x: int, side: int, layer: int = 0, drop: int = 0, ways: int = HORIZONTAL) -> Escape:
    dx, dy = STEPS[side]
    return Escape((x, 0), ((side, (x + dx, dy)),), layer, drop, ways, (x, 0, x, 0))


def test_a_straight_link_on_a_layer_of_its_direction_has_no_via() -> None:
    link = link_of(pad(0, EAST), pad(20, WEST), 2)
    assert (link.bends, link.laid, link.free, link.length) == (0, 0, 0, 20)


def test_ends_that_leave_across_their_layer_take_a_via_each() -> None:
    link = link_of(pad(0, NORTH), pad(20, NORTH), 2)
    assert (link.bends, link.laid, link.free) == (2, 4, 0)
    assert link_of(pad(0, NORTH, ANY, 0, BOTH), pad(20, NORTH), 2).laid == 3


def test_exits_stop_level_with_a_partner_that_is_close() -> None:
    """Half a track apart though both exits are ten long: no way round, no bend."""
    a, b = (Escape((x, 0), ((side, (x + dx, 0)),), 0, 0, HORIZONTAL, (x, 0, x, 0))
            for x, side, dx in ((0, EAST, 10), (6, WEST, -10)))  # fmt: skip
    assert (link_of(a, b, 2).bends, link_of(a, b, 2).length) == (0, 6)
    assert link_of(a._replace(fixed=True), b, 2).bends == 4


@pytest.mark.parametrize(
    ("first", "last", "needed", "changes"),
    [
        (HORIZONTAL, HORIZONTAL, HORIZONTAL, 0),
        (HORIZONTAL, HORIZONTAL, BOTH, 2),
        (HORIZONTAL, BOTH, BOTH, 1),
        (BOTH, BOTH, BOTH, 1),
        (HORIZONTAL, VERTICAL, 0, 1),
        (HORIZONTAL, HORIZONTAL, VERTICAL, 2),
    ],
)
def test_layer_changes_follow_from_directions(
    first: int, last: int, needed: int, changes: int
) -> None:
    assert layer_changes(first, last, needed) == changes


def test_layers_of_links() -> None:
    assert link_of(pad(0, EAST, 1, 1), pad(9, WEST, 0), 2).layer == MIXED
    assert link_of(pad(0, EAST, 1, 1), pad(9, WEST, ANY), 2).layer == 1
    assert link_of(pad(0, EAST, 1, 1), pad(9, WEST, 0), 2).free == 2


def test_a_link_through_its_own_part_bends_twice() -> None:
    body = (-10, -3, 30, 3)
    a, b = pad(0, EAST)._replace(body=body), pad(20, WEST)
    assert link_of(a, b, 2).bends == 2
