"""Path text for pictures: whole numbers of a picture unit, written as short as they can be.

A picture unit is 10 micrometres.  ``step`` coarsens a path to multiples of so
many units; points that fall together are dropped, so coarser text is shorter.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from renet.model import IntArray

UNIT = 10_000
"""Nanometres in a picture unit."""

MARGIN = 200

Points = Sequence[tuple[int, int]]


@dataclass(frozen=True, slots=True)
class Frame:
    """From board nanometres to picture units: ``origin`` is the picture's corner."""

    origin: tuple[int, int]
    width: int
    height: int

    def at(self, points: Iterable[tuple[int, int]], step: int = 1) -> list[tuple[int, int]]:
        """Points in picture units, rounded to multiples of ``step``."""
        x0, y0 = self.origin
        unit = UNIT * step
        return [(round((x - x0) / unit) * step, round((y - y0) / unit) * step) for x, y in points]

    def array(self, points: IntArray, step: int = 1) -> IntArray:
        """As :meth:`at`, for (..., 2)."""
        scaled = np.rint((points - np.array(self.origin)) / (UNIT * step)) * step
        return np.asarray(scaled.astype(np.int64))


def frame_of(points: IntArray) -> Frame:
    """The frame round points (n, 2), with a margin; a small one where there are none."""
    if not len(points):
        points = np.zeros((1, 2), dtype=np.int64)
    low = points.min(axis=0) - MARGIN * UNIT
    size = (points.max(axis=0) - low) // UNIT + MARGIN
    return Frame((int(low[0]), int(low[1])), int(size[0]), int(size[1]))


def numbers(values: Iterable[int]) -> str:
    """Numbers with no more between them than a reader needs."""
    text = ""
    for value in values:
        text += f"{value}" if value < 0 or not text else f" {value}"
    return text


def polyline(points: Points, closed: bool = False) -> str:
    """One path piece with relative coordinates; a single point is a dot for round line ends."""
    (x, y), *rest = points
    steps: list[int] = []
    for u, v in rest:
        if (u, v) != (x, y):
            steps += (u - x, v - y)
            x, y = u, v
    start = "M" + numbers(points[0])
    if not steps:
        return start + "h0"
    return start + "l" + numbers(steps) + ("z" if closed else "")


def polylines(many: Iterable[Points], closed: bool = False) -> str:
    """Several pieces in one path."""
    return "".join(polyline(points, closed) for points in many)


def segments(ends: IntArray) -> str:
    """Straight pieces (n, 4) in picture units."""
    return "".join(
        f"M{numbers((x, y))}l{numbers((u - x, v - y))}" if (x, y) != (u, v) else ""
        for x, y, u, v in ends.tolist()
    )


def dots(points: IntArray) -> str:
    """A dot at each of the points (n, 2) in picture units, equal ones once."""
    return "".join(f"M{numbers(point)}h0" for point in np.unique(points, axis=0).tolist())


def arc(through: Sequence[tuple[int, int]], frame: Frame, step: int = 1) -> str:
    """A circular arc through three points of the board; straight where they lie in line."""
    (ax, ay), (bx, by), (cx, cy) = through
    start, _, end = frame.at(through, step)
    cross = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
    if not cross:
        return polyline([start, end])
    sides = math.dist((ax, ay), (bx, by)) * math.dist((bx, by), (cx, cy))
    radius = max(1, round(sides * math.dist((cx, cy), (ax, ay)) / (2 * abs(cross)) / UNIT))
    acute = (ax - bx) * (cx - bx) + (ay - by) * (cy - by) > 0
    flags = f"{int(acute)} {int(cross > 0)}"
    return f"M{numbers(start)}A{radius} {radius} 0 {flags} {numbers(end)}"
