"""Conditions on where nets stand, each told as violations: sets of (seat, net) facts.

``violations`` looks at one state of the board; whoever compares two states asks
whether the second has a set that the first has not.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from renet.geometry import nm
from renet.rules import Apart, Beside, Order, Pair, Rules
from renet.verify.functions import function_violations
from renet.verify.seats import Seats, natural
from renet.verify.standing import Facts, Standing, Violation


def violations(seats: Seats, rules: Rules, after: bool) -> dict[Facts, Violation]:
    """All violations before or after, by their facts (of equal facts one is told)."""
    now = Standing(seats, after)
    found: dict[Facts, Violation] = {}
    for one in _all(now, rules):
        found.setdefault(one.facts, one)
    return found


def _all(now: Standing, rules: Rules) -> Iterator[Violation]:
    for order in rules.orders:
        yield from _order(now, order)
    for pair in rules.pairs:
        yield from _pair(now, pair)
    for apart in rules.aparts:
        yield from _apart(now, apart)
    for beside in rules.besides:
        yield from _beside(now, beside)
    yield from function_violations(now, rules)


def _order(now: Standing, rule: Order) -> Iterator[Violation]:
    """Ascending or descending in pin order, one pin for each net."""
    now.seats.nets_of(rule.nets, rule.line)
    here = now.seats.part(rule.part, rule.line)
    pins = [[i for i in here if now.net(i) == net] for net in rule.nets]
    facts = frozenset((i, net) for row, net in zip(pins, rule.nets, strict=True) for i in row)
    if all(len(row) == 1 for row in pins):
        keys = [natural(now.seats.all[row[0]].number) for row in pins]
        steps = list(pairwise(keys))
        up, down = all(a < b for a, b in steps), all(a > b for a, b in steps)
        if (up and rule.direction != "descending") or (down and rule.direction != "ascending"):
            return
    wanted = "ascend or descend" if rule.direction == "either" else f"be {rule.direction}"
    what = f"the nets {', '.join(rule.nets)} do not {wanted} along {rule.part}"
    yield Violation(f"order (line {rule.line})", facts, what)


def _pair(now: Standing, rule: Pair) -> Iterator[Violation]:
    now.seats.nets_of(rule.nets, rule.line)
    positive, negative = rule.nets
    for ref, here in now.parts(rule.part, rule.line):
        p, n = ([i for i in here if now.net(i) == net] for net in (positive, negative))
        if len(p) != 1 or len(n) != 1:
            continue
        fits = (
            _on_site(now, rule, ref, p[0], n[0]) if rule.sites else _as_pair(now, rule, p[0], n[0])
        )
        if not fits:
            facts = frozenset({(p[0], str(positive)), (n[0], str(negative))})
            what = f"{positive} and {negative} do not stand on {ref} as a pair"
            yield Violation(f"pair (line {rule.line})", facts, what)


def _on_site(now: Standing, rule: Pair, ref: str, p: int, n: int) -> bool:
    for site in rule.sites:
        first, second = (now.seats.of_words(ref, [word], rule.line) for word in site)
        if p in first and n in second:
            return True
        if rule.invertible and n in first and p in second:
            return True
    return False


def _as_pair(now: Standing, rule: Pair, p: int, n: int) -> bool:
    """Neighbours, and P before N where the input has it so."""
    if not now.neighbours(p, n):
        return False
    part = now.seats.all[p].part
    had = [
        [i for i, seat in enumerate(now.seats.all) if seat.part == part and seat.was == net]
        for net in rule.nets
    ]
    if rule.invertible or len(had[0]) != 1 or len(had[1]) != 1:
        return True
    return (_key(now, p) < _key(now, n)) == (_key(now, had[0][0]) < _key(now, had[1][0]))


def _key(now: Standing, seat: int) -> tuple[tuple[int, int, str], ...]:
    return natural(now.seats.all[seat].number)


def _apart(now: Standing, rule: Apart) -> Iterator[Violation]:
    nets = now.seats.nets_of(rule.nets, rule.line)
    others = now.seats.nets_of(rule.others, rule.line) if rule.others else nets
    least = nm(rule.distance_mm)
    for _, here in now.parts(rule.part, rule.line):
        mine, theirs = now.carrying(here, nets), now.carrying(here, others)
        for a, b in ((a, b) for a in mine for b in theirs if now.net(a) != now.net(b)):
            near = now.distance2(a, b)
            if near is None:
                continue
            if near < least * least if least else now.neighbours(a, b):
                facts = frozenset({now.fact(a), now.fact(b)})
                limit = f"{rule.distance_mm} mm" if least else "one pin"
                what = f"{now.net(a)} and {now.net(b)} stand closer than {limit} apart"
                yield Violation(f"apart (line {rule.line})", facts, what)


def _beside(now: Standing, rule: Beside) -> Iterator[Violation]:
    nets = now.seats.nets_of(rule.nets, rule.line)
    given = rule.ground != Beside._field_defaults["ground"]
    ground = now.seats.nets_of(rule.ground, rule.line, may_fail=not given)
    for _, here in now.parts(rule.part, rule.line):
        returns = now.carrying(here, ground)
        for seat in now.carrying(here, nets):
            if not any(now.neighbours(seat, other) for other in returns):
                what = f"{now.net(seat)} has no ground pin beside it"
                yield Violation(f"beside (line {rule.line})", frozenset({now.fact(seat)}), what)
