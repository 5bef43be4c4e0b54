"""Exact touching against shapely's distances (a general-purpose geometry library)."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, Polygon

from renet.verify.touching import Piece, arc_chain, copper, covers, piece, touches

NEAR = st.integers(-6, 6)
FAR = st.integers(-1_000_000_000, 1_000_000_000)


def pieces(
    coordinate: st.SearchStrategy[int], wide: st.SearchStrategy[int]
) -> st.SearchStrategy[Piece]:
    spot = st.tuples(coordinate, coordinate)
    chains = st.lists(spot, min_size=1, max_size=4).map(tuple)
    areas = st.lists(spot, min_size=3, max_size=6).map(tuple).filter(lambda p: Polygon(p).is_valid)
    return st.one_of(
        st.builds(lambda p, w: piece(p, w, False), chains, wide),
        st.builds(lambda p, w: piece(p, w, True), areas, wide),
    )


def shape(one: Piece) -> shapely.Geometry:
    if one.closed:
        return Polygon(one.points)
    return LineString(one.points) if len(set(one.points)) > 1 else Point(one.points[0])


def test_pieces_apart_within_boxes_that_meet() -> None:
    """Only one of the pieces is near, and none of them touches."""
    spots = [piece(((x, x),), 2, False) for x in (0, 100)]
    between = copper(1, (piece(((40, 40), (60, 60)), 2, False),))
    assert not touches(copper(1, tuple(spots)), between)
    assert touches(copper(1, (*spots, piece(((50, 50),), 2, False))), between)


def touch(a: Piece, b: Piece) -> bool:
    return touches(copper(1, (a,)), copper(1, (b,)))


@given(pieces(NEAR, st.integers(0, 7)), pieces(NEAR, st.integers(0, 7)))
def test_touching_is_a_distance_of_at_most_half_the_widths(a: Piece, b: Piece) -> None:
    gap = shapely.distance(shape(a), shape(b)) - (a.wide + b.wide) / 2
    assert touch(a, b) == touch(b, a)
    assert touch(a, b) == (gap <= 1e-9)


@given(pieces(FAR, st.integers(0, 10_000_000)), pieces(FAR, st.integers(0, 10_000_000)))
def test_touching_at_the_size_of_boards(a: Piece, b: Piece) -> None:
    gap = shapely.distance(shape(a), shape(b)) - (a.wide + b.wide) / 2
    assume(abs(gap) > 1.0)
    assert touch(a, b) == (gap < 0)


@given(st.data())
def test_a_long_outline_is_sieved_without_loss(data: st.DataObject) -> None:
    """Above 64 corners only edges near the other piece are looked at."""
    count = data.draw(st.integers(65, 90))
    radii = data.draw(st.lists(st.integers(20, 60), min_size=count, max_size=count))
    corners = tuple(
        (round(r * math.cos(math.tau * k / count)), round(r * math.sin(math.tau * k / count)))
        for k, r in enumerate(radii)
    )
    assume(Polygon(corners).is_valid)
    one = piece(corners, data.draw(st.integers(0, 5)), True)
    other = data.draw(pieces(st.integers(-70, 70), st.integers(0, 5)))
    gap = shapely.distance(shape(one), shape(other)) - (one.wide + other.wide) / 2
    assert touch(one, other) == (gap <= 1e-9)
    line = piece(corners, one.wide, False)
    gap = shapely.distance(shape(line), shape(other)) - (one.wide + other.wide) / 2
    assert touch(line, other) == (gap <= 1e-9)


@given(st.lists(st.tuples(NEAR, NEAR), min_size=3, max_size=8), st.tuples(NEAR, NEAR))
def test_covering_off_the_outline(points: list[tuple[int, int]], at: tuple[int, int]) -> None:
    area = Polygon(points)
    assume(area.is_valid and not area.boundary.intersects(Point(at)))
    assert covers(tuple(points), at) == area.contains(Point(at))


def test_nothing_touches_on_other_layers_or_without_pieces() -> None:
    dot = (piece(((0, 0),), 10, False),)
    assert touches(copper(0b01, dot), copper(0b11, dot))
    assert not touches(copper(0b01, dot), copper(0b10, dot))
    assert not touches(copper(0b01, dot), copper(0b11, ()))


@pytest.mark.parametrize("turn", [1, -1])
@pytest.mark.parametrize("sweep", [0.3, 1.5, 3.0, 4.5, 6.2])
def test_chords_stay_within_half_a_micrometre_of_the_circle(turn: int, sweep: float) -> None:
    radius = 3_000_000.0

    def at(angle: float) -> tuple[int, int]:
        return round(radius * math.cos(turn * angle)), round(radius * math.sin(turn * angle))

    chain = arc_chain(at(0.2), at(0.2 + sweep / 2), at(0.2 + sweep))
    assert chain[0] == at(0.2)
    assert chain[-1] == at(0.2 + sweep)
    for (ax, ay), (bx, by) in pairwise(chain):
        assert abs(math.hypot(ax, ay) - radius) < 5
        assert radius - math.hypot((ax + bx) / 2, (ay + by) / 2) < 505
    length = sum(math.dist(a, b) for a, b in pairwise(chain))
    assert length == pytest.approx(radius * sweep, rel=1e-3)


def test_three_points_in_a_line_are_no_arc() -> None:
    assert arc_chain((0, 0), (5, 0), (9, 0)) == ((0, 0), (5, 0), (9, 0))
