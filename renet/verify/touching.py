"""Does copper touch copper?  Exact, in plain integers, with no cleverness.

Everything is a chain of straight edges (one point: a disc, two: a capsule) or a
closed polygon, grown by half of ``wide``.  Widths are kept whole and compared
as ``4 * distance**2 <= (wide + wide)**2``, so odd widths need no rounding.
Arcs are broken into chords that leave the circle by less than 0.5 um.
Touching along an edge is touching.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from renet import geometry
from renet.model import IntArray, Pad

Point = tuple[int, int]
Box = tuple[int, int, int, int]

_SAGITTA = 500.0
_MANY = 64


class Piece(NamedTuple):
    """A chain (``closed`` false) or the area of a polygon, grown by ``wide / 2``."""

    points: tuple[Point, ...]
    wide: int
    closed: bool
    box: Box
    table: IntArray | None


class Copper(NamedTuple):
    """One connected bit of copper on the layers of a mask."""

    layers: int
    pieces: tuple[Piece, ...]
    box: Box


def piece(points: tuple[Point, ...], wide: int, closed: bool) -> Piece:
    """A piece with its box, half the width added on every side (rounded up)."""
    half = (wide + 1) // 2
    xs, ys = zip(*points, strict=True)
    box = (min(xs) - half, min(ys) - half, max(xs) + half, max(ys) + half)
    table = np.array(points, dtype=np.int64) if len(points) > _MANY else None
    return Piece(points, wide, closed and len(points) > 2, box, table)


def copper(layers: int, pieces: tuple[Piece, ...]) -> Copper:
    """Copper from its pieces; without any it touches nothing."""
    if not pieces:
        return Copper(0, (), (0, 0, -1, -1))
    if len(pieces) == 1:
        return Copper(layers, pieces, pieces[0].box)
    left, top, right, bottom = zip(*(part.box for part in pieces), strict=True)
    return Copper(layers, pieces, (min(left), min(top), max(right), max(bottom)))


def pad_copper(pad: Pad) -> Copper:
    """All cores of a pad, placed on the board."""
    pieces = [
        piece(geometry.place(core.points, pad.x, pad.y, pad.angle), 2 * core.radius, True)
        for core in pad.shape.cores
        if core.points
    ]
    return copper(pad.layers, tuple(pieces))


def arc_chain(start: Point, mid: Point, end: Point) -> tuple[Point, ...]:
    """Points along the circle through three points; straight when they lie in a line."""
    (ax, ay), (bx, by), (cx, cy) = start, mid, end
    doubled = 2 * ((bx - ax) * (cy - ay) - (by - ay) * (cx - ax))
    if doubled == 0:
        return (start, mid, end)
    b2 = (bx - ax) ** 2 + (by - ay) ** 2
    c2 = (cx - ax) ** 2 + (cy - ay) ** 2
    ox = ((cy - ay) * b2 - (by - ay) * c2) / doubled
    oy = ((bx - ax) * c2 - (cx - ax) * b2) / doubled
    radius = math.hypot(ox, oy)
    from_, to = math.atan2(-oy, -ox), math.atan2(cy - ay - oy, cx - ax - ox)
    turn = (to - from_) % math.tau
    if doubled < 0:
        turn -= math.tau
    step = 2 * math.acos(max(1 - _SAGITTA / radius, 0.0)) if radius > _SAGITTA else 1.0
    count = max(1, math.ceil(abs(turn) / step))
    between = tuple(
        (
            ax + round(ox + radius * math.cos(from_ + turn * i / count)),
            ay + round(oy + radius * math.sin(from_ + turn * i / count)),
        )
        for i in range(1, count)
    )
    return (start, *between, end)


def touches(a: Copper, b: Copper) -> bool:
    """Whether two bits of copper share a layer and a point."""
    if not a.layers & b.layers or not _meet(a.box, b.box):
        return False
    return any(_pieces_touch(p, q) for p in a.pieces for q in b.pieces)


def _meet(a: Box, b: Box) -> bool:
    return a[0] <= b[2] and b[0] <= a[2] and a[1] <= b[3] and b[1] <= a[3]


def _pieces_touch(a: Piece, b: Piece) -> bool:
    if not _meet(a.box, b.box):
        return False
    wide = a.wide + b.wide
    mine, theirs = _edges(a, b.box), _edges(b, a.box)
    if any(_edges_within(e, f, wide) for e in mine for f in theirs):
        return True
    return (a.closed and covers(a.points, b.points[0])) or (
        b.closed and covers(b.points, a.points[0])
    )


def _edges(part: Piece, window: Box) -> list[tuple[Point, Point]]:
    """The edges of a piece whose grown boxes meet the window; only those can touch."""
    points = part.points
    if len(points) == 1:
        return [(points[0], points[0])]
    last = len(points) if part.closed else len(points) - 1
    chosen = list(range(last)) if part.table is None else _near(part, part.table, window)
    return [(points[i], points[(i + 1) % len(points)]) for i in chosen if i < last]


def _near(part: Piece, points: IntArray, window: Box) -> list[int]:
    """Which edges can come near the window; only a sieve, nothing is decided here."""
    nxt = np.roll(points, -1, axis=0)
    low, high = np.minimum(points, nxt), np.maximum(points, nxt)
    half = (part.wide + 1) // 2
    hit = (
        (low[:, 0] - half <= window[2])
        & (high[:, 0] + half >= window[0])
        & (low[:, 1] - half <= window[3])
        & (high[:, 1] + half >= window[1])
    )
    return [int(i) for i in np.flatnonzero(hit)]


def _edges_within(e: tuple[Point, Point], f: tuple[Point, Point], wide: int) -> bool:
    """Whether two edges come within ``wide / 2`` of each other."""
    (p, q), (r, s) = e, f
    reach = wide * wide
    if _crossing(p, q, r, s):
        return True
    return (
        _point_within(p, r, s, reach)
        or _point_within(q, r, s, reach)
        or _point_within(r, p, q, reach)
        or _point_within(s, p, q, reach)
    )


def _turn(a: Point, b: Point, c: Point) -> int:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _crossing(p: Point, q: Point, r: Point, s: Point) -> bool:
    """Crossing of the insides; every other contact has an end of one edge on the other."""
    return (_turn(p, q, r) > 0) != (_turn(p, q, s) > 0) and (_turn(r, s, p) > 0) != (
        _turn(r, s, q) > 0
    )


def _point_within(c: Point, a: Point, b: Point, reach: int) -> bool:
    """``4 * distance(c, a-b)**2 <= reach``, in integers."""
    ux, uy = b[0] - a[0], b[1] - a[1]
    wx, wy = c[0] - a[0], c[1] - a[1]
    along, length = ux * wx + uy * wy, ux * ux + uy * uy
    if along <= 0 or length == 0:
        return 4 * (wx * wx + wy * wy) <= reach
    if along >= length:
        return 4 * ((c[0] - b[0]) ** 2 + (c[1] - b[1]) ** 2) <= reach
    return 4 * (ux * wy - uy * wx) ** 2 <= reach * length


def covers(polygon: Sequence[Sequence[int]], at: Point) -> bool:
    """Even-odd rule, exact; only asked when no edge is near, so never on the outline."""
    x, y = at
    odd = False
    x0, y0 = polygon[-1]
    for x1, y1 in polygon:
        if (y0 > y) != (y1 > y):
            side = (x1 - x0) * (y - y0) - (x - x0) * (y1 - y0)
            odd ^= (side > 0) == (y1 > y0)
        x0, y0 = x1, y1
    return odd
