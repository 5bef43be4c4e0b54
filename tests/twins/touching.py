"""Which copper touches which, pair by pair, in whole numbers and fractions.

The slow twin of ``renet.touch`` and ``renet.copper``: no grid, no arrays, no
floating point.  Only the chords of an arc are taken from ``renet.shapes``.
"""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from renet.model import Board
from renet.shapes import arc

Point = tuple[int, int]
TOLERANCE = 5


class Copper(NamedTuple):
    """One element: pieces are (points, twice the radius, is it a filled polygon)."""

    net: int
    layers: set[int]
    pieces: list[tuple[list[Point], int, bool]]


def _bits(mask: int) -> set[int]:
    return {i for i in range(64) if mask >> i & 1}


def all_copper(board: Board) -> list[Copper]:
    """Pads, tracks, vias and fills, in this order."""
    found = [Copper(p.net, _bits(p.layers) if p.plated else set(), _pad(p)) for p in board.pads]
    tracks, vias = board.tracks, board.vias
    for i in range(len(tracks)):
        x1, y1, x2, y2 = (int(v) for v in tracks.ends[i])
        points = [(x1, y1), (x2, y2)]
        if tracks.curved[i]:
            points = [(int(x), int(y)) for x, y in arc(tracks.ends[i], tracks.mid[i])]
        piece = (points, int(tracks.width[i]), False)
        found.append(Copper(int(tracks.net[i]), {int(tracks.layer[i])} - {-1}, [piece]))
    for i in range(len(vias)):
        centre = (int(vias.at[i, 0]), int(vias.at[i, 1]))
        piece = ([centre], int(vias.size[i]), False)
        found.append(Copper(int(vias.net[i]), _bits(int(vias.layers[i])), [piece]))
    for zone in board.zones:
        for fill in zone.fills:
            flat = [Fraction(v.decode()) for v in fill.text.translate(None, b"()xy").split()]
            whole = [round(v * 1_000_000) for v in flat]
            points = list(zip(whole[::2], whole[1::2], strict=True))
            piece = (points, 2 * fill.grow, len(points) > 2)
            found.append(Copper(zone.net, {fill.layer} - {-1}, [piece]))
    return found


def _pad(pad) -> list[tuple[list[Point], int, bool]]:  # type: ignore[no-untyped-def]
    quarter = {0.0: (1, 0), 90.0: (0, 1), 180.0: (-1, 0), 270.0: (0, -1)}.get(pad.angle % 360)
    pieces = []
    for core in pad.shape.cores:
        points = []
        for u, v in core.points:
            if quarter:
                cos, sin = quarter
                points.append((pad.x + u * cos + v * sin, pad.y - u * sin + v * cos))
            else:
                a = math.radians(pad.angle)
                du = u * math.cos(a) + v * math.sin(a)
                dv = v * math.cos(a) - u * math.sin(a)
                points.append((pad.x + round(du), pad.y + round(dv)))
        if points:
            pieces.append((points, 2 * core.radius, len(points) > 2))
    return pieces


def touch(a: Copper, b: Copper) -> bool:
    """Whether two elements touch, whatever their nets."""
    return bool(a.layers & b.layers) and any(
        _pieces_touch(p, q) for p in a.pieces for q in b.pieces
    )


def _pieces_touch(p, q) -> bool:  # type: ignore[no-untyped-def]
    (a, twice_a, full_a), (b, twice_b, full_b) = p, q
    if (full_a and _inside(b[0], a)) or (full_b and _inside(a[0], b)):
        return True
    reach = Fraction(twice_a + twice_b, 2) + TOLERANCE
    return any(
        _apart_squared(e, f) <= reach * reach
        for e in _edges(a, full_a)
        for f in _edges(b, full_b)
        if not _far(e, f, reach)
    )


def _far(e, f, reach: Fraction) -> bool:  # type: ignore[no-untyped-def]
    """Whether two edges are out of reach by one coordinate alone."""
    return any(
        max(p[axis] for p in e) + reach < min(p[axis] for p in f)
        or max(p[axis] for p in f) + reach < min(p[axis] for p in e)
        for axis in (0, 1)
    )


def _edges(points: list[Point], closed: bool) -> list[tuple[Point, Point]]:
    if len(points) == 1:
        return [(points[0], points[0])]
    chain = [*points, points[0]] if closed else points
    return list(pairwise(chain))


def _inside(at: Point, polygon: list[Point]) -> bool:
    """Even-odd along a ray upwards (the fast code looks to the right)."""
    x, y = at
    odd = False
    for (ax, ay), (bx, by) in _edges(polygon, True):
        if (ax > x) != (bx > x):
            height = ay + Fraction((x - ax) * (by - ay), bx - ax)
            odd ^= height < y
    return odd


def _apart_squared(e, f) -> Fraction:  # type: ignore[no-untyped-def]
    """The squared distance of two segments."""
    if _proper(e, f):
        return Fraction(0)
    (a, b), (c, d) = e, f
    return min(
        _point_squared(a, c, d),
        _point_squared(b, c, d),
        _point_squared(c, a, b),
        _point_squared(d, a, b),
    )


def _proper(e, f) -> bool:  # type: ignore[no-untyped-def]
    (a, b), (c, d) = e, f

    def turn(p: Point, q: Point, r: Point) -> int:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return turn(a, b, c) * turn(a, b, d) < 0 and turn(c, d, a) * turn(c, d, b) < 0


def _point_squared(p: Point, a: Point, b: Point) -> Fraction:
    ux, uy = b[0] - a[0], b[1] - a[1]
    wx, wy = p[0] - a[0], p[1] - a[1]
    square = ux * ux + uy * uy
    t = Fraction(ux * wx + uy * wy, square) if square else Fraction(0)
    t = min(max(t, Fraction(0)), Fraction(1))
    return (wx - t * ux) ** 2 + (wy - t * uy) ** 2


def joined(board: Board, nets: set[int]) -> list[set[int]]:
    """Clusters of elements: copper of these nets (-1: no net), and pads whatever their net."""
    copper = all_copper(board)
    clusters = [{i} for i in range(len(copper))]
    for i, a in enumerate(copper):
        for j, b in enumerate(copper[:i]):
            pads = i < len(board.pads)
            if a.net == b.net and (pads or a.net in nets) and touch(a, b):
                one = next(c for c in clusters if i in c)
                two = next(c for c in clusters if j in c)
                if one is not two:
                    clusters.remove(two)
                    one |= two
    return clusters


def foreign_touches(board: Board) -> set[tuple[int, int]]:
    """(pad, element) where copper touches a pad of another net, or one of the two has none."""
    copper = all_copper(board)
    return {
        (pad, other)
        for pad in range(len(board.pads))
        for other, element in enumerate(copper)
        if other != pad and element.net != copper[pad].net and touch(copper[pad], element)
    }
