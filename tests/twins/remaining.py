"""What holds a crossing, by trying every exchange under every set of rules there is.

Uses the rules' twin for what is permitted and the tangle's twin for what is
counted; nothing of ``renet.freedom`` or ``renet.engine``.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, product
from typing import NamedTuple

from renet.rules import Rules
from twins.legality import Given, free_pins, legal
from twins.tangle import cross, spanning_edges

Nets = tuple[int, ...]
Pair = tuple[int, int]
FIELDS = ("keeps", "mates", "orders", "pairs", "aparts", "besides", "needs", "peripherals")


class Told(NamedTuple):
    """A kind of ``renet.remaining`` in words, its cost in crossings, rules that may be named.

    "kept" where no permitted exchange moves either net; that may be so, too,
    where pins are free and another rule bars each of their exchanges.
    """

    kind: str
    cost: int = 0
    rules: frozenset[str] = frozenset()


def lifted(rules: Rules) -> Iterator[tuple[str, Rules]]:
    """Every record that forbids something, by name, and the rules without it."""
    for field in FIELDS:
        for record in getattr(rules, field):
            rest = tuple(other for other in getattr(rules, field) if other is not record)
            section = field if field == "needs" else field.removesuffix("s")
            yield f"[[{section}]] line {record.line}", rules._replace(**{field: rest})
    for pool in rules.pools:
        if pool.keep:
            pools = tuple(p._replace(keep=()) if p is pool else p for p in rules.pools)
            yield f"the keep list of [[pool]] line {pool.line}", rules._replace(pools=pools)
    if rules.domains:
        yield "[[domain]]", rules._replace(domains=())


def everything_lifted(given: Given) -> Given:
    rules = given.rules._replace(**dict.fromkeys((*FIELDS, "domains"), ()))
    pools = tuple(pool._replace(keep=()) for pool in rules.pools)
    return given._replace(rules=rules._replace(pools=pools))


def exchanges(given: Given, nets: Nets) -> set[Nets]:
    """All boards that one exchange makes of this one if no record forbids it."""
    loose = everything_lifted(given)
    free = free_pins(loose)
    found = set()
    for pool in loose.rules.pools:
        pins = [pin for pin in loose.words(pool.part, pool.pins) if pin in free]
        found |= {
            _laid(nets, ((a,), (b,)), ((nets[b],), (nets[a],))) for a, b in combinations(pins, 2)
        }
    for unit in loose.rules.units:
        sites = [tuple(next(iter(loose.far([w]))) for w in words) for words in unit.tuples]
        whole = [site for site in sites if set(site) <= free]
        for one, two in [*combinations(whole, 2), *((site, site) for site in whole)]:
            goods = tuple(tuple(nets[pin] for pin in site) for site in (two, one))
            turned = bool(unit.reversible or unit.inner)
            for ways in product((1, -1) if turned else (1,), repeat=2):
                lies = tuple(good[::way] for good, way in zip(goods, ways, strict=True))
                found.add(_laid(nets, (one, two), lies))
    return found - {nets}


def _laid(nets: Nets, sites: tuple[Nets, ...], goods: tuple[Nets, ...]) -> Nets:
    made = list(nets)
    for site, good in zip(sites, goods, strict=True):
        for pin, net in zip(site, good, strict=True):
            made[pin] = net
    return tuple(made)


class Counter:
    """Crossings of two nets, and of the whole board, on boards with any nets."""

    def __init__(self, given: Given) -> None:
        self._given = given
        self._trees: dict[Nets, list[tuple[int, int, int, int]]] = {}

    def pair(self, nets: Nets, pair: Pair) -> int:
        one, two = (self._tree(nets, net) for net in pair)
        return sum(cross(a, b) for a in one for b in two)

    def all(self, nets: Nets) -> int:
        counted = sorted(set(nets) - {-1} - self._given.left_out)
        return sum(self.pair(nets, pair) for pair in combinations(counted, 2))

    def _tree(self, nets: Nets, net: int) -> list[tuple[int, int, int, int]]:
        board = self._given.board
        pads = tuple(p for i, pin in enumerate(board.pins) if nets[i] == net for p in pin.pads)
        if pads not in self._trees:
            ends = spanning_edges(board, pads, range(len(board.pads)))
            spots = [(board.pads[a], board.pads[b]) for a, b in ends]
            self._trees[pads] = [(a.x, a.y, b.x, b.y) for a, b in spots]
        return self._trees[pads]


def told(given: Given, nets: Nets, pair: Pair, most: int | None = None) -> Told:
    """What holds two nets that cross, by the definitions of ``renet.remaining``."""
    count = Counter(given)
    here, total = count.pair(nets, pair), count.all(nets)
    parting = [made for made in exchanges(given, nets) if count.pair(made, pair) < here]
    cost = {made: count.all(made) - total for made in parting}
    permitted = [made for made in parting if legal(given, made)]
    paying = [made for made in permitted if cost[made] < 0]
    for made in paying:
        if most is None or sum(a != b for a, b in zip(made, given.before, strict=True)) <= most:
            return Told("open")
    if paying:
        return Told("limit")
    ruled = {
        (cost[made], rule)
        for rule, rules in lifted(given.rules)
        for made in parting
        if cost[made] < 0 and legal(given._replace(rules=rules), made)
    }
    if ruled:
        least = min(ruled)[0]
        return Told("rule", least, frozenset(rule for c, rule in ruled if c == least))
    if permitted:
        return Told("elsewhere", min(cost[made] for made in permitted))
    moves = any(
        legal(given, made)
        and any({a, b} & set(pair) for a, b in zip(made, nets, strict=True) if a != b)
        for made in exchanges(given, nets)
    )
    return Told("stuck" if moves else "kept")
