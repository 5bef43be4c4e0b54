"""The engine's aims counted the slow, plain way, and the best of all boards by trying each."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import permutations

from renet.engine.problem import Problem

Point = tuple[int, int]
Edge = tuple[int, int, int]  # net, pad, pad


def orientation(a: Point, b: Point, c: Point) -> int:
    value = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
    return (value > 0) - (value < 0)


def at(problem: Problem, pad: int) -> Point:
    return int(problem.cols.x[pad]), int(problem.cols.y[pad])


def edges(problem: Problem, nets: list[int]) -> list[Edge]:
    """Kruskal over all pairs of each net's pads, in the order of the design."""
    found: list[Edge] = []
    rank = problem.cols.rank.tolist()
    for net in sorted(set(nets) - {-1}):
        if not problem.active[net]:
            continue
        pads = [p for pin, own in enumerate(problem.pin_pads) if nets[pin] == net for p in own]
        root = {int(problem.labels[p]): int(problem.labels[p]) for p in pads}

        def find(label: int, root: dict[int, int] = root) -> int:
            while root[label] != label:
                label = root[label]
            return label

        pairs = sorted(
            (squared(problem, a, b), *sorted((rank[a], rank[b])), a, b)
            for i, a in enumerate(pads)
            for b in pads[:i]
        )
        for _, _, _, a, b in pairs:
            one, two = find(int(problem.labels[a])), find(int(problem.labels[b]))
            if one != two:
                root[one] = two
                found.append((net, a, b))
    return found


def squared(problem: Problem, a: int, b: int) -> int:
    (ax, ay), (bx, by) = at(problem, a), at(problem, b)
    return (ax - bx) ** 2 + (ay - by) ** 2


def cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    return (
        orientation(a, b, c) * orientation(a, b, d) < 0
        and orientation(c, d, a) * orientation(c, d, b) < 0
    )


def overlap(a: Point, b: Point, c: Point, d: Point) -> bool:
    if a == b or c == d or orientation(a, b, c) or orientation(a, b, d):
        return False
    one, two = sorted((a, b)), sorted((c, d))
    return max(one[0], two[0]) < min(one[1], two[1])


def runs_over(problem: Problem, edge: Edge, nets: list[int], pin: int) -> bool:
    """The connection passes through a pad of a foreign pin that is at none of its ends."""
    net, a, b = edge
    ends = at(problem, a), at(problem, b)
    if nets[pin] == net or any(at(problem, pad) in ends for pad in problem.pin_pads[pin]):
        return False
    sides = int(problem.cols.sides[a]) | int(problem.cols.sides[b])
    return any(
        (bool(problem.cols.through[pad]) or sides & int(problem.cols.sides[pad]))
        and through_box(*ends, problem.cols.corners[pad].tolist())
        for pad in problem.pin_pads[pin]
    )


def through_box(a: Point, b: Point, corners: list[list[int]]) -> bool:
    """Whether a segment meets the open inside of an upright box: clip it, in fractions."""
    from fractions import Fraction

    x0, x1 = min(c[0] for c in corners), max(c[0] for c in corners)
    y0, y1 = min(c[1] for c in corners), max(c[1] for c in corners)
    low, high = Fraction(0), Fraction(1)
    for start, step, least, most in (
        (a[0], b[0] - a[0], x0, x1),
        (a[1], b[1] - a[1], y0, y1),
    ):
        if step == 0:
            if not least < start < most:
                return False
            continue
        one, two = sorted((Fraction(least - start, step), Fraction(most - start, step)))
        low, high = max(low, one), min(high, two)
    return low < high


def aims(problem: Problem, nets: list[int]) -> tuple[int, int, int, float]:
    """Weighted crossings, overlaps and over-pads, then length plus price."""
    found = edges(problem, nets)
    weight = problem.weight.tolist()
    crossed = overlapped = over = 0
    for i, (net, a, b) in enumerate(found):
        ends = at(problem, a), at(problem, b)
        for other, c, d in found[:i]:
            if other != net:
                others = at(problem, c), at(problem, d)
                heavier = max(weight[net], weight[other])
                crossed += heavier * cross(*ends, *others)
                overlapped += heavier * overlap(*ends, *others)
        over += weight[net] * sum(
            runs_over(problem, (net, a, b), nets, pin) for pin in range(len(nets))
        )
    length = math.fsum(math.sqrt(squared(problem, a, b)) for _, a, b in found)
    price = sum(
        int(cost)
        for group in problem.groups
        for site, cost in zip(group.sites.tolist(), group.price_nm.tolist(), strict=True)
        for pin in site
        if nets[pin] != int(problem.pin_net[pin])
    )
    return crossed, overlapped, over, length + price


def boards(problem: Problem) -> Iterator[list[int]]:
    """Every board of a problem whose groups are pools."""

    def rest(number: int, nets: list[int]) -> Iterator[list[int]]:
        if number == len(problem.groups):
            yield nets
            return
        sites = problem.groups[number].sites[:, 0].tolist()
        allowed = problem.groups[number].allowed
        for order in set(permutations(range(len(sites)))):
            made = list(nets)
            for site, item in enumerate(order):
                made[sites[site]] = int(problem.pin_net[sites[item]])
            if allowed is None or all(allowed[item, site] for site, item in enumerate(order)):
                yield from rest(number + 1, made)

    yield from rest(0, problem.pin_net.tolist())


def best(problem: Problem) -> tuple[int, int, int, float]:
    """The aims of the best of all boards."""
    return min(aims(problem, nets) for nets in boards(problem))


def moved(problem: Problem, nets: list[int]) -> int:
    """How many pins carry another net than in the input."""
    return sum(new != old for new, old in zip(nets, problem.pin_net.tolist(), strict=True))


def best_within(problem: Problem) -> list[tuple[int, int, int, float]]:
    """The aims of the best board with at most 0, 1, 2 ... moved pins, up to all free pins."""
    counted = [(moved(problem, nets), aims(problem, nets)) for nets in boards(problem)]
    limits = range(len(problem.free_pins) + 1)
    return [min(found for count, found in counted if count <= most) for most in limits]
