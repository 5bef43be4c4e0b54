"""The channel objective by the letter of its definitions, counted from nothing.

The slow twin of ``renet.orthogonal``: escapes, cells and connections are given;
bends, vias, crossings and overflow are found link by link, pair by pair and cell
edge by cell edge, in Python's whole numbers and fractions.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from renet.orthogonal.escapes import Escape, Point
from renet.orthogonal.field import Field
from renet.orthogonal.terms import Terms

EAST, WEST, SOUTH, NORTH = range(4)
STEP = {EAST: (1, 0), WEST: (-1, 0), SOUTH: (0, 1), NORTH: (0, -1)}
OPPOSITE = {EAST: WEST, WEST: EAST, SOUTH: NORTH, NORTH: SOUTH}
Edge = tuple[Point, Point]


class Drawn(NamedTuple):
    """One connection as the definitions draw it."""

    net: int
    p: Point
    q: Point
    u: int
    v: int
    bends: int
    layers: frozenset[int] | None
    a: Escape
    b: Escape


def recount(field: Field, connections: Sequence[tuple[int, int, int]], price_nm: int) -> Terms:
    """All terms of a board with these connections (pad, pad, net)."""
    drawn = [_draw(field, *one) for one in connections]
    crossings = apart = 0
    met = [False] * len(drawn)
    for i, one in enumerate(drawn):
        for j, two in enumerate(drawn[:i]):
            if one.net == two.net or not meets(one.p, one.q, two.p, two.q):
                continue
            if one.layers and two.layers and not one.layers & two.layers:
                apart += 1
                continue
            met[i] = met[j] = True
            weight = max(int(field.weight[one.net]), int(field.weight[two.net]))
            crossings += weight * (1 if {_lean(one), _lean(two)} == {"h", "v"} else 4)
    demand: defaultdict[Edge, Fraction] = defaultdict(Fraction)
    for one in drawn:
        _spread(field, one, demand)
    return Terms(
        overflow=int(_overflow(field, demand)),
        vias=sum(_vias(one, hit) for one, hit in zip(drawn, met, strict=True)),
        bends=sum(one.bends for one in drawn),
        crossings=crossings,
        apart=apart,
        length_nm=sum(_walk(x.a.at, x.p) + _walk(x.p, x.q) + _walk(x.q, x.b.at) for x in drawn),
        price_nm=price_nm,
        changes=sum(_changes(field, one) for one in drawn),
    )


def meets(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Whether two straight links cross inside both, or share more than a point of one line."""
    sides = [_side(a, b, c), _side(a, b, d), _side(c, d, a), _side(c, d, b)]
    if sides == [0, 0, 0, 0]:
        if a == b or c == d:
            return False
        low, high = max(min(a, b), min(c, d)), min(max(a, b), max(c, d))
        return low < high
    return sides[0] * sides[1] < 0 and sides[2] * sides[3] < 0


def _side(a: Point, b: Point, c: Point) -> int:
    product = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    return (product > 0) - (product < 0)


def _draw(field: Field, a: int, b: int, net: int) -> Drawn:
    one, two = field.escapes[a], field.escapes[b]
    u, p = _exit(one, two.at)
    v, q = _exit(two, one.at)
    if u != v and not one.fixed and not two.fixed:
        p, q = _level(one, two, u, p, v, q), _level(two, one, v, q, u, p)
        if v == OPPOSITE[u] and _gap(u, p, q) < 0 < _gap(u, one.at, two.at):
            half = _gap(u, one.at, two.at) // 2
            p, q = _along(one.at, u, half), _along(one.at, u, half)
            q = (q[0], two.at[1]) if u in (EAST, WEST) else (two.at[0], q[1])
    bends = _bends(u, v, p, q, field.pitch)
    if any(_cuts(p, q, x.body) for x in (one, two)):
        bends = max(bends, 2)
    return Drawn(net, p, q, u, v, bends, _layers(one, two), one, two)


def _gap(u: int, p: Point, q: Point) -> int:
    return STEP[u][0] * (q[0] - p[0]) + STEP[u][1] * (q[1] - p[1])


def _along(p: Point, u: int, far: int) -> Point:
    return p[0] + STEP[u][0] * far, p[1] + STEP[u][1] * far


def _level(one: Escape, two: Escape, u: int, p: Point, v: int, q: Point) -> Point:
    """An exit at right angles to the other goes no farther than level with the partner."""
    if v == OPPOSITE[u] or not 0 < _gap(u, one.at, two.at) < _gap(u, one.at, p):
        return p
    return _along(one.at, u, _gap(u, one.at, two.at))


def _changes(field: Field, one: Drawn) -> int:
    """Tries every track of up to four runs, each on a layer of its direction."""
    reach = 10 * field.pitch
    needed = {1} if abs(one.b.at[0] - one.a.at[0]) > reach else set()
    needed |= {2} if abs(one.b.at[1] - one.a.at[1]) > reach else set()
    best = None
    for length in range(1, 5):
        for first in (1, 2):
            runs = [first if k % 2 == 0 else 3 - first for k in range(length)]
            if needed <= set(runs):
                ends = (one.a.ways & runs[0] == 0) + (one.b.ways & runs[-1] == 0)
                best = min(length - 1 + ends, 9 if best is None else best)
    assert best is not None
    return best + one.a.drop + one.b.drop


def _exit(one: Escape, partner: Point) -> tuple[int, Point]:
    best = None
    for side, point in one.exits:
        dx, dy = STEP[side]
        facing = dx * (partner[0] - one.at[0]) + dy * (partner[1] - one.at[1])
        if best is None or facing > best[0]:
            best = facing, side, point
    assert best is not None
    return best[1], best[2]


def _bends(u: int, v: int, p: Point, q: Point, pitch: int) -> int:
    ahead = {EAST: q[0] - p[0], WEST: p[0] - q[0], SOUTH: q[1] - p[1], NORTH: p[1] - q[1]}
    if u == v:
        return 2
    if v == OPPOSITE[u]:
        aside = abs(q[1] - p[1]) if u in (EAST, WEST) else abs(q[0] - p[0])
        if ahead[u] < 0:
            return 4
        return 0 if Fraction(aside) <= Fraction(pitch, 2) else 2
    return 1 if ahead[u] >= 0 and ahead[v] <= 0 else 3


def _cuts(p: Point, q: Point, body: tuple[int, int, int, int]) -> bool:
    """Clips the link to the open box, one side after the other; a point cuts nothing."""
    if p == q:
        return False
    low, high = Fraction(0), Fraction(1)
    for axis in (0, 1):
        least, most, step = body[axis], body[axis + 2], q[axis] - p[axis]
        if step == 0:
            if not least < p[axis] < most:
                return False
            continue
        times = sorted((Fraction(least - p[axis], step), Fraction(most - p[axis], step)))
        low, high = max(low, times[0]), min(high, times[1])
    return low < high


def _layers(one: Escape, two: Escape) -> frozenset[int] | None:
    """The layer a link is on; None where it has none of its own."""
    named = {x.layer for x in (one, two)} - {-1}
    return frozenset(named) if len(named) == 1 else None


def _vias(one: Drawn, met: bool) -> int:
    named = {x.layer for x in (one.a, one.b)} - {-1}
    least = one.a.drop + one.b.drop + (len(named) == 2)
    if not met:
        return least
    full = one.bends
    for side, end in ((one.u, one.a), (one.v, one.b)):
        needed = 1 if side in (EAST, WEST) else 2
        full += end.drop + (0 if end.ways & needed else 1)
    return max(full, least)


def _lean(one: Drawn) -> str:
    wide, high = abs(one.q[0] - one.p[0]), abs(one.q[1] - one.p[1])
    return "h" if wide > high else "v" if high > wide else "-"


def _walk(p: Point, q: Point) -> int:
    return abs(p[0] - q[0]) + abs(p[1] - q[1])


def _spread(field: Field, one: Drawn, demand: defaultdict[Edge, Fraction]) -> None:
    """One track, shared among the shapes in whole thousandths, the first ones get the rest."""
    shapes = _shapes(one, field.cells.cell(one.p), field.cells.cell(one.q))
    for number, corners in enumerate(shapes):
        share = 1000 // len(shapes) + (1 if number < 1000 % len(shapes) else 0)
        at = corners[0]
        for corner in corners[1:]:
            while at != corner:
                step = tuple((c > a) - (c < a) for a, c in zip(at, corner, strict=True))
                then = at[0] + step[0], at[1] + step[1]
                demand[min(at, then), max(at, then)] += share
                at = then


def _shapes(one: Drawn, p: Point, q: Point) -> list[list[Point]]:
    across, down = [p, (q[0], p[1]), q], [p, (p[0], q[1]), q]
    dx, dy = one.q[0] - one.p[0], one.q[1] - one.p[1]
    ahead = {EAST: dx, WEST: -dx, SOUTH: dy, NORTH: -dy}
    if one.u == one.v and one.bends == 2:
        if one.u in (EAST, WEST):
            x = max(p[0], q[0]) if one.u == EAST else min(p[0], q[0])
            return [[p, (x, p[1]), (x, q[1]), q]]
        y = max(p[1], q[1]) if one.u == SOUTH else min(p[1], q[1])
        return [[p, (p[0], y), (q[0], y), q]]
    if one.bends > 2 or ahead[one.u] < 0 or ahead[one.v] > 0:
        return [across, down]
    if one.v != OPPOSITE[one.u]:
        return [across if one.u in (EAST, WEST) else down]
    if one.u in (EAST, WEST):
        jogs = range(min(p[0], q[0]), max(p[0], q[0]) + 1)
        return [[p, (x, p[1]), (x, q[1]), q] for x in jogs]
    jogs = range(min(p[1], q[1]), max(p[1], q[1]) + 1)
    return [[p, (p[0], y), (q[0], y), q] for y in jogs]


def _overflow(field: Field, demand: defaultdict[Edge, Fraction]) -> Fraction:
    cells = field.cells
    total = Fraction(0)
    for (one, two), wanted in demand.items():
        south = one[0] == two[0]
        index = one[1] * cells.columns + one[0] + (cells.columns * cells.rows if south else 0)
        total += max(wanted - int(cells.room[index]), Fraction(0))
    return total
