"""One connection as a link between escape points: its bends, vias, length and layer.

Least bends follow from the exit directions ``u`` and ``v`` and the way ``d``
from one escape point to the other: facing exits 0 if they are in line within
half a pitch, else 2, and 4 if ``d`` points away; exits at right angles 1 if
``d`` goes along ``u`` and against ``v``, else 3; exits in one direction 2.  A
link that cuts the pad box of one of its own parts has 2 at least.  These counts
are plain geometry; that they stand for a route is common practice, no source.

Where two parts stand so close that their exits would run past each other, the
exits stop level with the partner, or half way if they face.

Layer changes are counted apart from bends: the least number with which a track
that may start and end in some directions runs in those that it needs.  A run of
at most ``SHORT`` pitches needs none: planners let it go against its layer.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from renet.geometry import passes_through
from renet.orthogonal.escapes import ANY, BOTH, HORIZONTAL, STEPS, VERTICAL, Box, Escape, Point

MIXED = -2
SHORT = 10


class Link(NamedTuple):
    """A connection of two pads; it is on the board whichever net it carries.

    ``laid`` vias are needed where it crosses something on its layer, ``free``
    where it does not.  ``layer`` may be ``ANY`` (both ends reach all) or
    ``MIXED`` (the ends leave on two): such a link meets all others.  ``lean`` is
    above 0 if it is mainly horizontal, below 0 if mainly vertical.
    """

    start: Point
    stop: Point
    out: int
    back: int
    bends: int
    laid: int
    free: int
    layer: int
    lean: int
    length: int
    changes: int


def link_of(a: Escape, b: Escape, pitch: int) -> Link:
    """The link between two pads; ``out`` and ``back`` are the exits' directions."""
    way = b.at[0] - a.at[0], b.at[1] - a.at[1]
    (out, start), (back, stop) = _towards(a, way), _towards(b, (-way[0], -way[1]))
    if not (a.fixed or b.fixed or out == back):
        start, stop = _stopped((a.at, out, start), (b.at, back, stop))
    d = stop[0] - start[0], stop[1] - start[1]
    bends = least_bends(out, back, d, pitch)
    if _cuts(start, stop, a.body) or _cuts(start, stop, b.body):
        bends = max(bends, 2)
    layer = _layer(a.layer, b.layer)
    free = a.drop + b.drop + (layer == MIXED)
    ends = a.drop + b.drop + (not a.ways & _axis(out)) + (not b.ways & _axis(back))
    steps = (a.at, start), (start, stop), (stop, b.at)
    return Link(
        start,
        stop,
        out,
        back,
        bends,
        laid=max(bends + ends, free),
        free=free,
        layer=layer,
        lean=abs(d[0]) - abs(d[1]),
        length=sum(abs(q[0] - p[0]) + abs(q[1] - p[1]) for p, q in steps),
        changes=a.drop + b.drop + layer_changes(a.ways, b.ways, _needed(way, pitch)),
    )


def layer_changes(first: int, last: int, needed: int) -> int:
    """The least changes of layer between ends open to some directions, with the needed runs."""
    orders = [(HORIZONTAL, VERTICAL), (VERTICAL, HORIZONTAL)]
    if needed != BOTH:
        orders = [(needed, needed)] if needed else [(HORIZONTAL,) * 2, (VERTICAL,) * 2]
    return min((one != two) + (not first & one) + (not last & two) for one, two in orders)


def least_bends(out: int, back: int, d: Point, pitch: int) -> int:
    """Bends that exits in directions ``out`` and ``back`` need when the ends are ``d`` apart."""
    u, v = STEPS[out], STEPS[back]
    along, against = d[0] * u[0] + d[1] * u[1], d[0] * v[0] + d[1] * v[1]
    if out == back:
        return 2
    if u[0] == -v[0] and u[1] == -v[1]:
        if along < 0:
            return 4
        return 0 if 2 * abs(d[0] * u[1] - d[1] * u[0]) <= pitch else 2
    return 1 if along >= 0 and against <= 0 else 3


def _towards(one: Escape, way: Point) -> tuple[int, Point]:
    """The exit that faces the partner; the first of several alike."""
    return max(one.exits, key=lambda e: STEPS[e[0]][0] * way[0] + STEPS[e[0]][1] * way[1])


def _stopped(one: tuple[Point, int, Point], two: tuple[Point, int, Point]) -> tuple[Point, Point]:
    """Escape points of two pads (place, direction, escape) that do not run past each other."""
    (p, out, start), (q, back, stop) = one, two
    u, v = STEPS[out], STEPS[back]
    reach = _ahead(p, start, u), _ahead(q, stop, v)
    most = _ahead(p, q, u), _ahead(q, p, v)
    if u[0] == -v[0] and u[1] == -v[1]:
        if sum(reach) <= most[0]:
            return start, stop
        most = most[0] // 2, most[0] - most[0] // 2
    if 0 < most[0] < reach[0]:
        start = p[0] + u[0] * most[0], p[1] + u[1] * most[0]
    if 0 < most[1] < reach[1]:
        stop = q[0] + v[0] * most[1], q[1] + v[1] * most[1]
    return start, stop


def _ahead(p: Point, q: Point, direction: Point) -> int:
    return (q[0] - p[0]) * direction[0] + (q[1] - p[1]) * direction[1]


def _needed(way: Point, pitch: int) -> int:
    """The directions in which a link has to run for longer than a short run."""
    return (abs(way[0]) > SHORT * pitch) * HORIZONTAL + (abs(way[1]) > SHORT * pitch) * VERTICAL


def _axis(direction: int) -> int:
    return HORIZONTAL if STEPS[direction][0] else VERTICAL


def _layer(one: int, two: int) -> int:
    if ANY in (one, two):
        return max(one, two)
    return one if one == two else MIXED


def _cuts(start: Point, stop: Point, body: Box) -> bool:
    """Whether the straight link runs through the inside of a box."""
    x0, y0, x1, y1 = body
    if max(start[0], stop[0]) <= x0 or min(start[0], stop[0]) >= x1:
        return False
    if max(start[1], stop[1]) <= y0 or min(start[1], stop[1]) >= y1:
        return False
    corners = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
    return bool(passes_through(np.array([*start, *stop]), corners))
