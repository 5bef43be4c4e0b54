"""Exact plane geometry on integer nanometres.

Differences of coordinates stay below 2**31 (a board is at most 2 m wide, which
``read`` enforces), so every orientation product fits 64-bit integers exactly.
Arrays are int64 throughout; nothing here rounds except :func:`place`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from renet.errors import InputError
from renet.model import BoolArray, IntArray

Floats = NDArray[np.float64]

MAX_EXTENT = 2_000_000_000
NM_PER_MM = 1_000_000

_FAR_MM = 1e6

_PLAIN = b"0123456789+-.()xy \t\r\n"
_ALL_ZEROS = bytes.maketrans(b"123456789", b"000000000")
_SEVEN = b"0000000"
_NUMBER = re.compile(rb"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?")


def nm(mm: float) -> int:
    """Millimetres to nanometres, rounded half to even."""
    return round(mm * NM_PER_MM)


def points(text: bytes) -> IntArray:
    """Decimal millimetre text (``x y x y ...``, anything between is skipped) as (n, 2).

    InputError where a coordinate is none that a board can have.
    """
    try:
        flat = np.array(text.translate(None, b"()xy").split(), dtype=np.float64)
    except ValueError:
        flat = np.array(_NUMBER.findall(text), dtype=np.float64)
    flat = flat[: len(flat) // 2 * 2]
    if len(flat) and not float(np.abs(flat).max()) <= _FAR_MM:  # refuses nan as well
        what = "a polygon has a corner that is no number or more than 1 km away"
        raise InputError(what, "mend or remove the zone in the program that drew it")
    return np.rint(flat * NM_PER_MM).astype(np.int64).reshape(-1, 2)


def check_points(texts: Sequence[bytes]) -> None:
    """InputError where :func:`points` would refuse one of some texts.

    Numbers without an exponent and with six digits in a row at most are never too far.
    """
    joined = b" ".join(texts)
    if joined.translate(None, _PLAIN) or _SEVEN in joined.translate(_ALL_ZEROS):
        for text in texts:
            points(text)


def place(
    local: Iterable[tuple[int, int]], x: int, y: int, angle: float
) -> tuple[tuple[int, int], ...]:
    """Turn points by ``angle`` degrees (the files' sense, y down) and move them to (x, y).

    Multiples of 90 degrees are exact integer exchanges; other angles use
    float64 sine and cosine, rounded half to even before (x, y) is added.
    """
    turn = angle % 360.0
    if turn == 0.0:
        return tuple((x + u, y + v) for u, v in local)
    if turn == 90.0:
        return tuple((x + v, y - u) for u, v in local)
    if turn == 180.0:
        return tuple((x - u, y - v) for u, v in local)
    if turn == 270.0:
        return tuple((x - v, y + u) for u, v in local)
    cos, sin = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return tuple((x + round(u * cos + v * sin), y + round(v * cos - u * sin)) for u, v in local)


def place_rows(local: IntArray, at: IntArray, angle: Floats) -> IntArray:
    """As :func:`place` for points ``local`` (n, 2), each with its own ``at`` (n, 2) and angle."""
    turn, which = np.unique(angle % 360.0, return_inverse=True)
    radians = [math.radians(one) for one in turn.tolist()]  # not numpy: its last digit may differ
    cos, sin = (np.array([f(one) for one in radians])[which] for f in (math.cos, math.sin))
    u, v = local[:, 0], local[:, 1]
    placed = np.rint(np.stack([u * cos + v * sin, v * cos - u * sin], axis=1)).astype(np.int64)
    for exact, (x, y) in ((0.0, (u, v)), (90.0, (v, -u)), (180.0, (-u, -v)), (270.0, (-v, u))):
        rows = np.flatnonzero(turn[which] == exact)
        placed[rows] = np.stack([x[rows], y[rows]], axis=1)
    return np.asarray(placed + at)


def box_corners(boxes: IntArray, at: IntArray, angle: Floats) -> IntArray:
    """(n, 4, 2): the corners of pad-frame boxes (n, 4) on the board, in order round each."""
    corners = boxes[:, [0, 1, 2, 1, 2, 3, 0, 3]].reshape(-1, 2)
    placed = place_rows(corners, np.repeat(at, 4, axis=0), np.repeat(angle, 4))
    return placed.reshape(-1, 4, 2)


def crosses(a: IntArray, b: IntArray) -> BoolArray:
    """Whether segments ``a`` and ``b`` (..., 4: x1 y1 x2 y2) cross in their interiors.

    Both pairs of orientations must be strictly opposite: touching, sharing an
    end and lying in one line are no crossings.  The leading shapes broadcast.
    """
    ax, ay, bx, by = (a[..., i] for i in range(4))
    cx, cy, dx, dy = (b[..., i] for i in range(4))
    ux, uy = bx - ax, by - ay
    first = np.sign(ux * (cy - ay) - uy * (cx - ax)) * np.sign(ux * (dy - ay) - uy * (dx - ax))
    vx, vy = dx - cx, dy - cy
    second = np.sign(vx * (ay - cy) - vy * (ax - cx)) * np.sign(vx * (by - cy) - vy * (bx - cx))
    return np.asarray((first < 0) & (second < 0))


def overlaps(a: IntArray, b: IntArray) -> BoolArray:
    """Whether segments (..., 4) lie in one line and share more than a point."""
    ax, ay, bx, by = (a[..., i] for i in range(4))
    cx, cy, dx, dy = (b[..., i] for i in range(4))
    ux, uy = bx - ax, by - ay
    line = (ux * (cy - ay) == uy * (cx - ax)) & (ux * (dy - ay) == uy * (dx - ax))
    wide = np.minimum(np.maximum(ax, bx), np.maximum(cx, dx)) > np.maximum(
        np.minimum(ax, bx), np.minimum(cx, dx)
    )
    high = np.minimum(np.maximum(ay, by), np.maximum(cy, dy)) > np.maximum(
        np.minimum(ay, by), np.minimum(cy, dy)
    )
    real = ((ux != 0) | (uy != 0)) & ((cx != dx) | (cy != dy))
    return np.asarray(line & (wide | high) & real)


def passes_through(segment: IntArray, corners: IntArray) -> BoolArray:
    """Whether segments (..., 4) meet the open interior of convex quads (..., 4, 2).

    Running along an edge or touching a corner is not passing through; neither
    is anything through a quad of no area.  Leading shapes broadcast.
    """
    ax, ay, bx, by = (segment[..., i] for i in range(4))
    sides = [
        np.sign((bx - ax) * (corners[..., i, 1] - ay) - (by - ay) * (corners[..., i, 0] - ax))
        for i in range(4)
    ]
    low = np.minimum(np.minimum(sides[0], sides[1]), np.minimum(sides[2], sides[3]))
    high = np.maximum(np.maximum(sides[0], sides[1]), np.maximum(sides[2], sides[3]))
    hit = np.asarray((low < 0) & (high > 0))
    px, py = corners[..., 0], corners[..., 1]
    winding = np.sign(
        (px[..., 2] - px[..., 0]) * (py[..., 3] - py[..., 1])
        - (py[..., 2] - py[..., 0]) * (px[..., 3] - px[..., 1])
    )
    hit = hit & (winding != 0)
    for i in range(4):
        j = (i + 1) % 4
        ex, ey = px[..., j] - px[..., i], py[..., j] - py[..., i]
        at_a = winding * (ex * (ay - py[..., i]) - ey * (ax - px[..., i]))
        at_b = winding * (ex * (by - py[..., i]) - ey * (bx - px[..., i]))
        hit = hit & ~((at_a <= 0) & (at_b <= 0))
    return np.asarray(hit)


def doubled_area(polygon: Sequence[tuple[int, int]] | IntArray) -> int:
    """Twice the area of a simple polygon, as an exact integer."""
    corners = [(int(x), int(y)) for x, y in polygon]
    total = sum(
        x0 * y1 - x1 * y0
        for (x0, y0), (x1, y1) in zip(corners, corners[1:] + corners[:1], strict=True)
    )
    return abs(total)


def inside(polygon: IntArray, at: IntArray) -> BoolArray:
    """Which of the points ``at`` (m, 2) lie inside ``polygon`` (n, 2), even-odd rule.

    A point exactly on the outline may fall either way.
    """
    x, y = at[:, 0], at[:, 1]
    found = np.zeros(len(at), dtype=bool)
    nxt = np.roll(polygon, -1, axis=0)
    for (x0, y0), (x1, y1) in zip(polygon.tolist(), nxt.tolist(), strict=True):
        if y0 == y1:
            continue
        spans = (y0 > y) != (y1 > y)
        side = (x1 - x0) * (y - y0) - (x - x0) * (y1 - y0)
        found ^= spans & ((side > 0) == (y1 > y0))
    return found
