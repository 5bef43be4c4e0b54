"""The tangle by the letter of its definitions, in whole numbers and fractions.

The slow twin of ``renet.tangle`` and ``renet.spanning``: every pair is looked
at, coordinates are Python integers, a pad's corners come from ``renet.columns``.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Sequence
from decimal import Decimal, localcontext
from fractions import Fraction

from renet.model import Board

Point = tuple[int, int]
Segment = tuple[int, int, int, int]


def end_key(board: Board, pad: int):  # type: ignore[no-untyped-def]
    """(x, y, part, natural-sorted pin, index): the order of ends in the design."""
    entry = board.pads[pad]
    number = board.pins[entry.pin].number if entry.pin >= 0 else ""
    pieces = re.findall(r"\d+|\D+", number)
    natural = [(0, int(p), p) if p.isdecimal() else (1, 0, p) for p in pieces]
    return (entry.x, entry.y, board.parts[entry.part].ref, natural, pad)


def spanning_edges(
    board: Board, pads: Collection[int], label: Sequence[int]
) -> list[tuple[int, int]]:
    """The least edge between two trees, again and again, until all pads hang together."""
    trees = [{pad for pad in pads if label[pad] == name} for name in {label[p] for p in pads}]
    edges = []
    while len(trees) > 1:
        best = min(
            (
                (_squared(board, p, q), *sorted((end_key(board, p), end_key(board, q))))
                for i, one in enumerate(trees)
                for two in trees[:i]
                for p in one
                for q in two
            ),
        )
        a, b = best[1][-1], best[2][-1]
        edges.append((best, (a, b)))
        one = next(t for t in trees if a in t)
        two = next(t for t in trees if b in t)
        trees.remove(two)
        one |= two
    return [edge for _, edge in sorted(edges)]


def _squared(board: Board, p: int, q: int) -> int:
    a, b = board.pads[p], board.pads[q]
    return (a.x - b.x) ** 2 + (a.y - b.y) ** 2


def connections(
    board: Board, label: Sequence[int], left_out: Collection[int]
) -> list[tuple[int, int, int]]:
    """(net, pad, pad) of all open connections."""
    found = []
    for net in range(len(board.nets)):
        if net not in left_out:
            nodes = [pad for pin in board.pins if pin.net == net for pad in pin.pads]
            found += [(net, a, b) for a, b in spanning_edges(board, nodes, label)]
    return found


def _turn(ax: int, ay: int, bx: int, by: int, cx: int, cy: int) -> int:
    return (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)


def cross(a: Segment, b: Segment) -> bool:
    """Both orientation products strictly negative."""
    one = _turn(*a, *b[:2]) * _turn(*a, *b[2:])
    two = _turn(*b, *a[:2]) * _turn(*b, *a[2:])
    return one < 0 and two < 0


def overlap(a: Segment, b: Segment) -> bool:
    """In one line, with more than a point in common (by parameters along a)."""
    if a[:2] == a[2:] or b[:2] == b[2:]:
        return False
    if _turn(*a, *b[:2]) or _turn(*a, *b[2:]):
        return False
    axis = 0 if a[0] != a[2] else 1
    ends = sorted(Fraction(b[axis + k] - a[axis], a[axis + 2] - a[axis]) for k in (0, 2))
    return min(ends[1], Fraction(1)) > max(ends[0], Fraction(0))


def pairs(segments: Sequence[Segment], net: Sequence[int], test) -> list[tuple[int, int]]:  # type: ignore[no-untyped-def]
    """All pairs of different nets for which ``test`` holds."""
    return [
        (i, j)
        for i in range(len(segments))
        for j in range(i + 1, len(segments))
        if net[i] != net[j] and test(segments[i], segments[j])
    ]


def passes(segment: Segment, quad: Sequence[Point]) -> bool:
    """Whether a piece of the segment lies inside the quad, by clipping it side by side."""
    area = sum(
        x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(quad, [*quad[1:], quad[0]], strict=True)
    )
    if area == 0:
        return False
    quad = list(quad) if area > 0 else list(quad)[::-1]
    start, stop = Fraction(0), Fraction(1)
    ax, ay, bx, by = segment
    for (px, py), (qx, qy) in zip(quad, [*quad[1:], quad[0]], strict=True):
        at_a, at_b = _turn(px, py, qx, qy, ax, ay), _turn(px, py, qx, qy, bx, by)
        if at_a <= 0 and at_b <= 0:
            return False
        if at_a < 0 or at_b < 0:
            where = Fraction(at_a, at_a - at_b)
            start, stop = (max(start, where), stop) if at_a < 0 else (start, min(stop, where))
    return start < stop or (start == stop and segment[:2] == segment[2:])


def over_pads(
    board: Board, found: Sequence[tuple[int, int, int]], corners: Sequence[Sequence[Point]]
) -> list[tuple[int, int]]:
    """(connection, pin) by the definition of an over-pad."""
    hits = set()
    back = 1 << (len(board.layers) - 1)

    def sides(pad: int) -> set[str]:
        entry = board.pads[pad]
        if entry.through:
            return {"front", "back"}
        on = {"front"} if entry.layers & 1 else set()
        return on | ({"back"} if entry.layers & back else set())

    for index, (net, a, b) in enumerate(found):
        ends = [(board.pads[p].x, board.pads[p].y) for p in (a, b)]
        for pad, entry in enumerate(board.pads):
            if entry.pin < 0 or board.pins[entry.pin].net == net:
                continue
            if not entry.through and not sides(pad) & (sides(a) | sides(b)):
                continue
            own = [(board.pads[p].x, board.pads[p].y) for p in board.pins[entry.pin].pads]
            if not set(own) & set(ends) and passes((*ends[0], *ends[1]), corners[pad]):
                hits.add((index, entry.pin))
    return sorted(hits)


def length_mm(segments: Sequence[Segment]) -> float:
    """Total length in 60 decimal digits, rounded to nanometres at the end."""
    with localcontext() as context:
        context.prec = 60
        total = sum(
            (Decimal((c - a) ** 2 + (d - b) ** 2).sqrt() for a, b, c, d in segments), Decimal(0)
        )
        return float(round(total / 1_000_000, 6))
