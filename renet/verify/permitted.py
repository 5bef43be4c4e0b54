"""Check ``rules``: every pin that moved was free, and no side condition was broken."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from renet.rules import Rules, Unit
from renet.verify.conditions import violations
from renet.verify.scope import Group, Scope
from renet.verify.seats import Seats
from renet.verify.verdict import RULES, Counts, Finding, net_words

Names = tuple[str, ...]


def check_rules(seats: Seats, rules: Rules, scope: Scope, counts: Counts) -> list[Finding]:
    """Scope, domains, units, then the conditions on where nets stand."""
    findings: list[Finding] = []
    for index in seats.moving:
        seat = seats.all[index]
        counts.rules_checked += 1
        if not scope.free(index):
            what = (
                f"its net went from {net_words(seat.was)} to {net_words(seat.is_)}, "
                f"but the pin is kept: {scope.why_not(index)}"
            )
            findings.append(Finding(RULES, "scope", seat.label, what))
    findings += _domain_findings(seats, scope)
    for number, unit in enumerate(rules.units):
        counts.rules_checked += 1
        group = scope.groups[scope.first_unit + number]
        tuples = scope.tuples[number]
        view = _UnitView(unit, seats, scope, group, _inner_sets(unit, len(tuples[0])))
        findings += _unit_findings(view, tuples)
    old = violations(seats, rules, False)
    new = violations(seats, rules, True)
    counts.rules_checked += len(old.keys() | new.keys())
    for facts in sorted(new.keys() - old.keys(), key=sorted):
        where = ", ".join(seats.all[seat].label for seat, _ in sorted(facts))
        findings.append(Finding(RULES, new[facts].rule, where, new[facts].what))
    return findings


def _domain_findings(seats: Seats, scope: Scope) -> Iterator[Finding]:
    """Inside a pool every domain keeps its own nets; in a unit ``_signature`` sees to it."""
    by_group: dict[int, dict[str, list[int]]] = {}
    for seat, home in scope.group.items():
        by_group.setdefault(home, {}).setdefault(scope.domain.get(seat, ""), []).append(seat)
    for number, group in enumerate(scope.groups[: scope.first_unit]):
        homes = by_group.get(number, {})
        if len(homes) < 2:
            continue
        for domain, pins in sorted(homes.items()):
            had = Counter(seats.all[i].was for i in pins)
            has = Counter(seats.all[i].is_ for i in pins)
            for net in sorted((has - had), key=lambda n: n or ""):
                came = [seats.all[i] for i in pins if seats.all[i].is_ == net]
                where = ", ".join(seat.label for seat in came if seat.moved)
                words = f"domain {domain}" if domain else "the pins of no domain"
                what = f"{net_words(net)} came into {words} of {group.name} from another domain"
                yield Finding(RULES, "domain", where, what)


class _UnitView(NamedTuple):
    """A unit on this board; ``sets[i]`` is the first place that may trade with place i."""

    unit: Unit
    seats: Seats
    scope: Scope
    group: Group
    sets: list[int]

    def places(self, row: Sequence[int]) -> Names:
        """The domain of each place of a tuple."""
        return tuple(self.scope.domain.get(seat, "") for seat in row)

    def form(self, row: Sequence[int], after: bool) -> Names:
        """The tuple's nets in a form that is the same for all turns and trades allowed.

        Every net is written with a sign in front, so that "no net" is no name.
        """
        places, seats = self.places(row), self.seats.all
        nets = [_sign(seats[i].is_ if after else seats[i].was) for i in row]
        ways = [nets]
        if self.unit.reversible and places == places[::-1]:
            ways.append(nets[::-1])
        return min(_settled(way, places, self.sets) for way in ways)


def _unit_findings(view: _UnitView, tuples: Sequence[tuple[int, ...]]) -> Iterator[Finding]:
    """Whole tuples trade; one with a kept pin stays, inner places aside."""
    had: dict[Names, Counter[Names]] = {}
    has: dict[Names, Counter[Names]] = {}
    for row in tuples:
        if any(seat in view.scope.kept for seat in row):
            yield from _kept_tuple(view, row)
            continue
        places = view.places(row)
        had.setdefault(places, Counter())[view.form(row, False)] += 1
        has.setdefault(places, Counter())[view.form(row, True)] += 1
    for places, forms in has.items():
        for form in sorted((forms - had[places]).keys()):
            rows = [row for row in tuples if view.form(row, True) == form]
            where = ", ".join(view.seats.all[row[0]].label for row in rows)
            nets = ", ".join(word[1:] or "no net" for word in form)
            what = f"the tuple that starts here has the nets ({nets}), which no tuple had before"
            what = f"{what}; {view.group.name} trades whole tuples only"
            yield Finding(RULES, "unit", where, what)


def _kept_tuple(view: _UnitView, row: tuple[int, ...]) -> Iterator[Finding]:
    """Free places of one inner set and one domain may trade; all else stays."""
    seats, places = view.seats.all, view.places(row)
    pools: dict[tuple[int, str], list[int]] = {}
    for place, seat in enumerate(row):
        if seat not in view.scope.kept:
            pools.setdefault((view.sets[place], places[place]), []).append(seat)
    for pins in pools.values():
        if Counter(seats[i].was for i in pins) != Counter(seats[i].is_ for i in pins):
            where = ", ".join(seats[i].label for i in pins if seats[i].moved)
            what = f"its tuple in {view.group.name} has a kept pin, so the tuple may not trade"
            yield Finding(RULES, "unit", where, what)


def _inner_sets(unit: Unit, length: int) -> list[int]:
    """For each position the lowest position it may trade with; sets that meet are one."""
    sets = [tuple(place - 1 for place in row) for row in unit.inner]
    if unit.reversible:
        sets += [tuple(length - 1 - place for place in row) for row in sets]
    home = list(range(length))
    for _ in range(length):
        for row in sets:
            low = min(home[place] for place in row if 0 <= place < length)
            for place in row:
                home[place] = low
    return home


def _sign(net: str | None) -> str:
    return "-" if net is None else "+" + net


def _settled(nets: list[str], places: Names, sets: list[int]) -> Names:
    """Nets sorted inside each inner set of one domain."""
    result = list(nets)
    for home, domain in {(sets[i], places[i]) for i in range(len(nets))}:
        spots = [i for i in range(len(nets)) if (sets[i], places[i]) == (home, domain)]
        for spot, net in zip(spots, sorted(nets[i] for i in spots), strict=True):
            result[spot] = net
    return tuple(result)
