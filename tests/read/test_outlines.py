from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from renet.model import Core
from renet.read.outlines import Point, arc, circle, curve, rectangle, strokes, sweep

MM = 1_000_000
points = st.tuples(st.integers(-50 * MM, 50 * MM), st.integers(-50 * MM, 50 * MM))


def reach(center: Point, line: list[Point]) -> list[float]:
    return [math.dist(center, point) for point in line]


@given(points, points, st.floats(-360, 360))
def test_a_sweep_keeps_its_distance(center: Point, start: Point, angle: float) -> None:
    radius = math.dist(center, start)
    line = sweep(center, start, angle)
    assert line[0] == start
    assert all(abs(r - radius) < 2 for r in reach(center, line))


@given(points, points, st.floats(1.1, 178.9), st.sampled_from([1, -1]))
def test_a_sweep_turns_clockwise(center: Point, start: Point, size: float, sign: int) -> None:
    angle = sign * size
    assume(math.dist(center, start) > MM)
    line = sweep(center, start, angle)
    (sx, sy), (ex, ey) = ((x - center[0], y - center[1]) for x, y in (start, line[-1]))
    assert math.copysign(1, sx * ey - sy * ex) == math.copysign(1, angle)


@given(points, st.integers(MM // 10, 40 * MM), st.floats(0, 6.2), st.floats(0.2, 6.0))
def test_an_arc_through_three_points_runs_on_their_circle(
    center: Point, radius: int, first: float, turn: float
) -> None:
    start, mid, end = (
        (
            center[0] + round(radius * math.cos(first + turn * part)),
            center[1] + round(radius * math.sin(first + turn * part)),
        )
        for part in (0.0, 0.5, 1.0)
    )
    for line, stops in ((arc(start, mid, end), (start, end)), (arc(end, mid, start), (end, start))):
        assert (line[0], line[-1]) == stops
        assert all(abs(r - radius) < radius / 1_000 + 50 for r in reach(center, line))
        chords = sum(math.dist(a, b) for a, b in pairwise(line))
        assert chords == pytest.approx(radius * turn, rel=2e-3)


def test_three_points_in_a_line_are_their_chords() -> None:
    assert arc((0, 0), (1, 1), (2, 2)) == [(0, 0), (1, 1), (2, 2)]


@given(points, points)
def test_a_circle_is_closed(center: Point, on: Point) -> None:
    line = circle(center, on)
    assert line[0] == line[-1] == on
    assert all(abs(r - math.dist(center, on)) < 2 for r in reach(center, line))


def test_a_curve_begins_and_ends_at_its_outer_points() -> None:
    line = curve([(0, 0), (0, 4 * MM), (8 * MM, 4 * MM), (8 * MM, 0)])
    assert (line[0], line[-1]) == ((0, 0), (8 * MM, 0))
    assert line[len(line) // 2] == (4 * MM, 3 * MM)


def test_small_things() -> None:
    assert rectangle((0, 0), (2, 1)) == [(0, 0), (2, 0), (2, 1), (0, 1)]
    line = [(0, 0), (5, 0), (5, 0)]
    assert list(strokes(line, 3)) == [Core(((0, 0), (5, 0)), 3), Core(((5, 0),), 3)]
