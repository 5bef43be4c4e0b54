"""What the rules permit, read straight from ``renet.rules`` and tried by brute force.

Nothing of ``renet.freedom`` is used.  Everything is as slow as it is plain:
units by all orders of all tuples, choices by all combinations.  Made for boards
of a few pins.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from fnmatch import fnmatchcase
from typing import NamedTuple

from renet.geometry import nm
from renet.model import Board
from renet.rules import Apart, Beside, Order, Pair, Rules, Unit

# The names that the strategies use for pins and nets which no range and no glob may free.
RESERVED = frozenset({"VDD", "GND_2", "VREF+", "OSC_IN", "~{RESET}", "BOOT0", "PA13/SWDIO", "NC"})
SUPPLY_NETS = frozenset({"GND", "+3V3"})
SUPPLY = frozenset({"power_in", "power_out", "no_connect"})

Nets = Sequence[int]
Facts = frozenset[tuple[int, int]]
Violation = tuple[str, Facts]


class Given(NamedTuple):
    """A board, its rules, and what is known besides."""

    board: Board
    rules: Rules
    held: Mapping[int, str]
    left_out: frozenset[int]

    @property
    def before(self) -> list[int]:
        """The nets of the input."""
        return [pin.net for pin in self.board.pins]

    def ref(self, pin: int) -> str:
        """The reference of the pin's part."""
        return self.board.parts[self.board.pins[pin].part].ref

    def on(self, ref: str) -> list[int]:
        """The pins of a part in pin order (plain numbers in these tests)."""
        pins = [pin for pin in range(len(self.board.pins)) if self.ref(pin) == ref]
        return sorted(pins, key=lambda pin: int(self.board.pins[pin].number))

    def word(self, ref: str, word: str) -> dict[int, bool]:
        """Pins of a part by one word, and whether by number."""
        pins = self.board.pins
        here = self.on(ref)
        exact = {pin: True for pin in here if pins[pin].number == word}
        if exact:
            return exact
        low, dash, high = word.partition("-")
        if dash and low.isdigit() and high.isdigit():
            return {p: False for p in here if int(low) <= int(pins[p].number) <= int(high)}
        return {
            pin: False
            for pin in here
            if pins[pin].name == word or fnmatchcase(pins[pin].name, word)
        }

    def words(self, ref: str, words: Sequence[str]) -> dict[int, bool]:
        """Pins of a part by several words; by number if one of them is."""
        found: dict[int, bool] = {}
        for word in words:
            for pin, number in self.word(ref, word).items():
                found[pin] = found.get(pin, False) or number
        return found

    def far(self, words: Sequence[str]) -> dict[int, bool]:
        """Pins by PART:PIN."""
        found: dict[int, bool] = {}
        for word in words:
            ref, _, rest = word.partition(":")
            for part in self.board.parts:
                if part.ref == ref or fnmatchcase(part.ref, ref):
                    found.update(self.word(part.ref, rest))
        return found

    def nets(self, words: Sequence[str]) -> set[int]:
        """Nets by name or glob."""
        return {
            net
            for net, name in enumerate(self.board.nets)
            if any(name == word or fnmatchcase(name, word) for word in words)
        }

    def domain(self, pin: int) -> str:
        """The domain of a pin, "" for none."""
        return next((d.name for d in self.rules.domains if pin in self.far(d.pins)), "")

    def spots(self, pin: int) -> list[tuple[int, int]]:
        """Centres of the pin's plated pads."""
        pads = [self.board.pads[pad] for pad in self.board.pins[pin].pads]
        return [(pad.x, pad.y) for pad in pads if pad.plated]

    def distance2(self, a: int, b: int) -> float:
        """Squared distance of two pins."""
        return min(
            (
                (ax - bx) ** 2 + (ay - by) ** 2
                for ax, ay in self.spots(a)
                for bx, by in self.spots(b)
            ),
            default=float("inf"),
        )

    def neighbours(self, a: int, b: int) -> bool:
        """At most 1.25 pitches apart."""
        here = self.on(self.ref(a))
        every = [self.distance2(p, q) for p, q in itertools.combinations(here, 2)]
        pitch = min((square for square in every if square > 0), default=0)
        return a != b and 16 * self.distance2(a, b) <= 25 * pitch


def kept_by_rules(given: Given) -> set[int]:
    """Pins that [[keep]], the keep of a pool or [[mate]] holds."""
    kept: set[int] = set()
    for keep in given.rules.keeps:
        kept |= set(given.far(keep.pins))
        kept |= {p for p, net in enumerate(given.before) if net in given.nets(keep.nets)}
    for pool in given.rules.pools:
        kept |= set(given.words(pool.part, pool.keep))
    mated = {side.split(":")[1] for mate in given.rules.mates for side in (mate.a, mate.b)}
    return kept | {pin for pin in range(len(given.board.pins)) if given.ref(pin) in mated}


def free_pins(given: Given) -> set[int]:
    """Named pins that nothing keeps."""
    named: dict[int, bool] = {}
    for pool in given.rules.pools:
        named.update(given.words(pool.part, pool.pins))
    for unit in given.rules.units:
        for words in unit.tuples:
            named.update(given.far(words))
    kept = kept_by_rules(given) | set(given.held)
    free = set()
    for pin, number in named.items():
        entry = given.board.pins[pin]
        guarded = entry.type in SUPPLY or (
            not number
            and (
                entry.name in RESERVED
                or entry.net in given.left_out
                or given.board.net_name(entry.net) in SUPPLY_NETS
            )
        )
        if pin not in kept and not entry.fault and not guarded:
            free.add(pin)
    return free


def legal(given: Given, after: Nets) -> bool:
    """Whether the rules permit these nets."""
    before, free = given.before, free_pins(given)
    if any(before[pin] != after[pin] and pin not in free for pin in range(len(before))):
        return False
    for pool in given.rules.pools:
        pins = [p for p in given.words(pool.part, pool.pins) if p in free]
        for domain in {given.domain(pin) for pin in pins}:
            part = [pin for pin in pins if given.domain(pin) == domain]
            if Counter(before[p] for p in part) != Counter(after[p] for p in part):
                return False
    if not all(_unit_legal(given, unit, free, after) for unit in given.rules.units):
        return False
    return set(violations(given, after)) <= set(violations(given, before))


def _unit_legal(given: Given, unit: Unit, free: set[int], after: Nets) -> bool:
    before = given.before
    sites = [tuple(next(iter(given.far([word]))) for word in words) for words in unit.tuples]
    whole = [site for site in sites if set(site) <= free]
    for site in sites:
        if site not in whole:
            here = tuple(after[pin] for pin in site)
            there = tuple(before[pin] for pin in site)
            if here not in set(_inside(given, unit, site, there, free)):
                return False
    for order in itertools.permutations(whole):
        pairs = list(zip(whole, order, strict=True))
        if all(_may_trade(given, unit, source, goal, free, after) for source, goal in pairs):
            return True
    return False


def _may_trade(
    given: Given,
    unit: Unit,
    source: tuple[int, ...],
    goal: tuple[int, ...],
    free: set[int],
    after: Nets,
) -> bool:
    """Whether the input's nets of ``source`` may stand on ``goal`` as they do in ``after``."""
    domains = [given.domain(pin) for pin in source]
    if domains != [given.domain(pin) for pin in goal]:
        return False
    nets = tuple(given.before[pin] for pin in source)
    ways = [nets]
    if unit.reversible and domains == domains[::-1]:
        ways.append(nets[::-1])
    wanted = tuple(after[pin] for pin in goal)
    return any(wanted in set(_inside(given, unit, goal, way, free)) for way in ways)


def _inside(
    given: Given, unit: Unit, site: tuple[int, ...], nets: tuple[int, ...], free: set[int]
) -> Iterator[tuple[int, ...]]:
    """All results of trading inside a tuple."""
    for order in itertools.permutations(range(len(site))):
        if all(
            goal == source
            or (
                site[goal] in free
                and site[source] in free
                and given.domain(site[goal]) == given.domain(site[source])
                and any({goal + 1, source + 1} <= set(group) for group in unit.inner)
            )
            for goal, source in enumerate(order)
        ):
            yield tuple(nets[source] for source in order)


def violations(given: Given, nets: Nets) -> Iterator[Violation]:
    """All violations of these nets, each with the rule it is of."""
    for order in given.rules.orders:
        yield from _order(given, order, nets)
    for pair in given.rules.pairs:
        yield from _pair(given, pair, nets)
    for apart in given.rules.aparts:
        yield from _apart(given, apart, nets)
    for beside in given.rules.besides:
        yield from _beside(given, beside, nets)
    for ref in (part.ref for part in given.board.parts):
        yield from _functions(given, ref, nets)


def _facts(pins: Sequence[int], nets: Nets, wanted: set[int]) -> Facts:
    return frozenset((pin, nets[pin]) for pin in pins if nets[pin] in wanted)


def _refs(given: Given, ref: str) -> list[str]:
    return [ref] if ref else [part.ref for part in given.board.parts]


def _order(given: Given, rule: Order, nets: Nets) -> Iterator[Violation]:
    bus = [given.board.nets.index(word) for word in rule.nets]
    here = given.on(rule.part)
    places = [[rank for rank, pin in enumerate(here) if nets[pin] == net] for net in bus]
    if all(len(place) == 1 for place in places):
        flat = [place[0] for place in places]
        up, down = flat == sorted(flat), flat == sorted(flat, reverse=True)
        if (up and rule.direction != "descending") or (down and rule.direction != "ascending"):
            return
    yield f"order {rule.line}", _facts(here, nets, set(bus))


def _pair(given: Given, rule: Pair, nets: Nets) -> Iterator[Violation]:
    positive, negative = (given.board.nets.index(word) for word in rule.nets)
    for ref in _refs(given, rule.part):
        here = given.on(ref)
        p = [pin for pin in here if nets[pin] == positive]
        n = [pin for pin in here if nets[pin] == negative]
        if len(p) != 1 or len(n) != 1:
            continue
        sites = [tuple(next(iter(given.word(ref, w))) for w in words) for words in rule.sites]
        if sites:
            fits = (p[0], n[0]) in sites or (rule.invertible and (n[0], p[0]) in sites)
        else:
            fits = given.neighbours(p[0], n[0])
            old = [[q for q in here if given.before[q] == net] for net in (positive, negative)]
            if fits and not rule.invertible and len(old[0]) == len(old[1]) == 1:
                now = here.index(p[0]) < here.index(n[0])
                fits = now == (here.index(old[0][0]) < here.index(old[1][0]))
        if not fits:
            yield f"pair {rule.line}", frozenset({(p[0], positive), (n[0], negative)})


def _apart(given: Given, rule: Apart, nets: Nets) -> Iterator[Violation]:
    mine = given.nets(rule.nets)
    theirs = given.nets(rule.others) if rule.others else mine
    for ref in _refs(given, rule.part):
        for a, b in itertools.permutations(given.on(ref), 2):
            if nets[a] not in mine or nets[b] not in theirs or nets[a] == nets[b]:
                continue
            least = nm(rule.distance_mm)
            near = given.distance2(a, b) < least**2 if least else given.neighbours(a, b)
            if near:
                yield f"apart {rule.line}", frozenset({(a, nets[a]), (b, nets[b])})


def _beside(given: Given, rule: Beside, nets: Nets) -> Iterator[Violation]:
    wanted, ground = given.nets(rule.nets), given.nets(rule.ground)
    for ref in _refs(given, rule.part):
        here = given.on(ref)
        for pin in here:
            if nets[pin] in wanted and not any(
                nets[other] in ground and given.neighbours(pin, other) for other in here
            ):
                yield f"beside {rule.line}", frozenset({(pin, nets[pin])})


def _offers(given: Given, pin: int) -> set[str]:
    name = given.board.pins[pin].name
    found = {name, *name.replace("(", "/").replace(")", "/").replace(" ", "/").split("/")} - {""}
    records = [r for r in given.rules.offers if pin in given.words(r.part, r.pins)]
    if any(record.only for record in records):
        found = set()
    return found.union(*(record.functions for record in records))


def _functions(given: Given, ref: str, nets: Nets) -> Iterator[Violation]:
    """Needs and peripherals of one part, each for itself and all together."""
    here = given.on(ref)
    every = {function for pin in here for function in _offers(given, pin)}
    choosers: list[tuple[set[str], Facts, list[set[str]]]] = []
    busy: set[int] = set()
    for rule in given.rules.peripherals:
        wants = {f"{i}_{s}" for i in rule.instances for s in rule.signals}
        if rule.part != ref and (rule.part or not wants & every):
            continue
        bus = [given.board.nets.index(word) for word in rule.nets]
        busy |= set(bus)
        options = [
            {f"{instance}_{signal}" for signal in rule.signals}
            for instance in rule.instances
            if all(
                any(
                    nets[pin] == net and f"{instance}_{signal}" in _offers(given, pin)
                    for pin in here
                )
                for net, signal in zip(bus, rule.signals, strict=True)
            )
        ]
        facts = _facts(here, nets, set(bus))
        if not options and facts:
            yield f"peripheral {rule.line}", facts
        choosers.append((wants, facts, options))
    for need in given.rules.needs:
        wants = {f for f in every if any(fnmatchcase(f, word) for word in need.functions)}
        if need.part != ref and (need.part or not wants):
            continue
        for net in sorted(given.nets(need.nets)):
            pins = [pin for pin in here if nets[pin] == net]
            for pin in pins:
                if not _offers(given, pin) & wants:
                    yield f"needs {need.line}", frozenset({(pin, net)})
            if not need.shared and net not in busy:
                mine = {f for pin in pins for f in _offers(given, pin) & wants}
                choosers.append((wants, _facts(here, nets, {net}), [{f} for f in sorted(mine)]))
    yield from _together(choosers)


def _clash(some: set[str], others: set[str]) -> bool:
    """Whether two want the same function, or functions of one instance that has mappings."""
    return any(
        a == b or ("@" in a and "@" in b and a.split("@")[0] == b.split("@")[0])
        for a in some
        for b in others
    )


def _together(choosers: list[tuple[set[str], Facts, list[set[str]]]]) -> Iterator[Violation]:
    sets = [[chooser] for chooser in choosers]
    for _ in choosers:  # merge until nothing changes
        for a, b in itertools.combinations(range(len(sets)), 2):
            if any(_clash(x[0], y[0]) for x in sets[a] for y in sets[b]):
                sets[a] = sets[a] + sets.pop(b)
                break
    for members in sets:
        options = [options for _, _, options in members if options]
        if not any(
            not any(_clash(a, b) for a, b in itertools.combinations(choice, 2))
            for choice in itertools.product(*options)
        ):
            yield "used once", frozenset(fact for _, facts, _ in members for fact in facts)
