"""Outlines of copper in numbers: arcs, circles and curves broken into chords.

Points are integer nanometres, y down; angles are in degrees.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

from renet.model import Core

Point = tuple[int, int]

CHORD_DEGREES = 5.0
CURVE_CHORDS = 16


def circle(center: Point, on: Point) -> list[Point]:
    """A circle by its centre and a point on it, as a closed polyline."""
    return [*sweep(center, on, 360.0)[:-1], on]


def sweep(center: Point, start: Point, angle: float) -> list[Point]:
    """An arc round ``center`` from ``start``; a positive angle goes clockwise on screen."""
    count = max(1, math.ceil(abs(angle) / CHORD_DEGREES))
    dx, dy = start[0] - center[0], start[1] - center[1]
    found = []
    for step in range(count + 1):
        turn = math.radians(angle * step / count)
        cos, sin = math.cos(turn), math.sin(turn)
        found.append(
            (center[0] + round(dx * cos - dy * sin), center[1] + round(dx * sin + dy * cos))
        )
    return found


def arc(start: Point, mid: Point, end: Point) -> list[Point]:
    """The arc through three points; three points in one line give their chords."""
    ax, ay = mid[0] - start[0], mid[1] - start[1]
    bx, by = end[0] - start[0], end[1] - start[1]
    area = 2 * (ax * by - ay * bx)
    if not area:
        return [start, mid, end]
    a2, b2 = ax * ax + ay * ay, bx * bx + by * by
    cx, cy = (by * a2 - ay * b2) / area, (ax * b2 - bx * a2) / area
    first = math.atan2(-cy, -cx)
    full = (math.atan2(by - cy, bx - cx) - first) % math.tau
    if area < 0:
        full -= math.tau
    inner = sweep((round(start[0] + cx), round(start[1] + cy)), start, math.degrees(full))
    return [start, *inner[1:-1], end]


def curve(corners: list[Point]) -> list[Point]:
    """A cubic curve by its four control points (Bezier form), as a polyline."""
    found = []
    for step in range(CURVE_CHORDS + 1):
        t = step / CURVE_CHORDS
        weights = ((1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3)
        x, y = (sum(w * p[axis] for w, p in zip(weights, corners, strict=True)) for axis in (0, 1))
        found.append((round(x), round(y)))
    return found


def rectangle(one: Point, other: Point) -> list[Point]:
    """A rectangle by two opposite corners, in order round it."""
    return [one, (other[0], one[1]), other, (one[0], other[1])]


def strokes(line: list[Point], radius: int) -> Iterator[Core]:
    """A polyline drawn with a round pen, as capsules."""
    for a, b in pairwise(line):
        yield Core((a, b) if a != b else (a,), radius)
