"""What pins can do and what nets need: ``offers``, ``needs``, ``peripheral``.

Everything on one part chooses at once: each peripheral an instance, each net
with needs a function.  The choice is searched for by trying the instances in
every combination and matching the nets to what is left.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from fnmatch import fnmatchcase
from typing import NamedTuple

from renet.errors import RulesError
from renet.rules import Needs, Peripheral, Rules
from renet.verify.seats import Seats
from renet.verify.standing import Standing, Violation

Functions = frozenset[str]

_PIECES = re.compile(r"[/(),;|\s]+")


class Chooser(NamedTuple):
    """A peripheral or a net with needs, on one part.

    ``options`` are the sets of functions of which it takes one; ``wants`` all
    functions it could ever take on the part; ``facts`` its (seat, net).
    """

    rule: str
    facts: tuple[tuple[int, str], ...]
    options: tuple[Functions, ...]
    wants: Functions


def offered(seats: Seats, rules: Rules) -> list[set[str]]:
    """What each seat can do: its name, the pieces of its name, and what the rules offer."""
    found = [{seat.name, *_PIECES.split(seat.name)} - {""} for seat in seats.all]
    for record in (record for record in rules.offers if record.only):
        for seat in seats.of_words(record.part, record.pins, record.line):
            found[seat].clear()
    for record in rules.offers:
        if record.file:
            raise RulesError(
                f'the functions in "{record.file}" were not read in', "give them", line=record.line
            )
        for seat in seats.of_words(record.part, record.pins, record.line):
            found[seat].update(record.functions)
    return found


def function_violations(now: Standing, rules: Rules) -> Iterator[Violation]:
    """Pins that do not offer what their nets need, and sets with no common choice."""
    if not rules.needs and not rules.peripherals:
        return
    offers = offered(now.seats, rules)
    for ref, here in now.parts("", 0):
        choosers, single = _on_part(now, rules, offers, ref, here)
        yield from single
        for tied in _components([_whole_instances(one) for one in choosers]):
            if not _can_choose([one for one in tied if one.options]):
                facts = frozenset(fact for one in tied for fact in one.facts)
                nets = ", ".join(sorted({net for _, net in facts}))
                rule = ", ".join(sorted({one.rule for one in tied}))
                what = f"on {ref} the nets {nets} cannot each have a function of their own"
                yield Violation(rule, facts, what)


class _Place(NamedTuple):
    """A part: its reference, its seats, and all functions that they offer."""

    ref: str
    here: list[int]
    offers: list[set[str]]
    every: Functions


def _on_part(
    now: Standing, rules: Rules, offers: list[set[str]], ref: str, here: list[int]
) -> tuple[list[Chooser], list[Violation]]:
    place = _Place(ref, here, offers, frozenset().union(*(offers[i] for i in here)))
    choosers: list[Chooser] = []
    violations: list[Violation] = []
    in_peripheral: set[str] = set()
    for rule in rules.peripherals:
        now.seats.nets_of(rule.nets, rule.line)
        wants = frozenset(f"{one}_{signal}" for one in rule.instances for signal in rule.signals)
        if rule.part == ref if rule.part else wants & place.every:
            in_peripheral.update(rule.nets)
            one = _peripheral(now, rule, place, wants)
            choosers.append(one)
            if not one.options and one.facts:
                what = f"on {ref} no one of {', '.join(rule.instances)} serves all its nets"
                violations.append(Violation(one.rule, frozenset(one.facts), what))
    for need in rules.needs:
        wants = _matching(place.every, need.functions)
        if need.part == ref if need.part else wants:
            for net in sorted(now.seats.nets_of(need.nets, need.line)):
                one = _need(now, need, place, net)
                violations += _unmet(now, one, place)
                if not need.shared and net not in in_peripheral:
                    choosers.append(one)
    return choosers, violations


def _peripheral(now: Standing, rule: Peripheral, place: _Place, wants: Functions) -> Chooser:
    """A peripheral's choice among its instances; each takes the functions of all its signals."""
    carriers = [now.carrying(place.here, frozenset({net})) for net in rule.nets]
    sites = list(zip(carriers, rule.signals, strict=True))
    options = tuple(
        frozenset(f"{one}_{signal}" for signal in rule.signals)
        for one in rule.instances
        if all(any(f"{one}_{signal}" in place.offers[i] for i in row) for row, signal in sites)
    )
    facts = tuple((i, str(net)) for row, net in zip(carriers, rule.nets, strict=True) for i in row)
    return Chooser(f"peripheral (line {rule.line})", facts, options, wants)


def _need(now: Standing, need: Needs, place: _Place, net: str) -> Chooser:
    """A net's choice among the functions that its own pins offer."""
    wants = _matching(place.every, need.functions)
    row = now.carrying(place.here, frozenset({net}))
    mine = frozenset().union(*(place.offers[i] for i in row)) & wants
    options = tuple(frozenset({function}) for function in sorted(mine))
    return Chooser(f"needs (line {need.line})", tuple((i, net) for i in row), options, wants)


def _unmet(now: Standing, one: Chooser, place: _Place) -> Iterator[Violation]:
    """Pins of a net that offer nothing of what it needs."""
    for seat, net in one.facts:
        if not place.offers[seat] & one.wants:
            what = f"{now.seats.all[seat].label} offers none of what {net} needs"
            yield Violation(one.rule, frozenset({(seat, net)}), what)


def _whole_instances(one: Chooser) -> Chooser:
    """The same choices by what they use up: of UART1@0_TX all that begins with UART1@."""

    def whole(functions: Functions) -> Functions:
        return frozenset(re.sub("@.*", "@", function) for function in functions)

    return one._replace(options=tuple(map(whole, one.options)), wants=whole(one.wants))


def _matching(functions: Iterable[str], globs: Iterable[str]) -> Functions:
    words = list(globs)
    return frozenset(f for f in functions if any(f == w or fnmatchcase(f, w) for w in words))


def _components(choosers: list[Chooser]) -> list[list[Chooser]]:
    """Choosers tied together by functions they may want; a tie is never undone by a choice."""
    groups: list[tuple[set[str], list[Chooser]]] = []
    for one in choosers:
        touched = [group for group in groups if group[0] & one.wants]
        wants = set(one.wants).union(*(group[0] for group in touched))
        members = [member for group in touched for member in group[1]]
        groups = [group for group in groups if not group[0] & one.wants]
        groups.append((wants, [*members, one]))
    return [members for _, members in groups]


def _can_choose(choosers: list[Chooser]) -> bool:
    """Whether all can take an option with no function taken twice; no recursion.

    Choosers of several functions at once are tried in every combination (depth
    first, with a stack; what was tried is not tried again), the others are matched
    to what those leave.
    """
    wide = [one for one in choosers if any(len(option) > 1 for option in one.options)]
    narrow = [one for one in choosers if one not in wide]
    stack: list[tuple[int, Functions]] = [(0, frozenset())]
    tried: set[tuple[int, Functions]] = set()
    while stack:
        depth, taken = stack.pop()
        if (depth, taken) in tried:
            continue
        tried.add((depth, taken))
        if depth < len(wide):
            stack += [
                (depth + 1, taken | option)
                for option in reversed(wide[depth].options)
                if not option & taken
            ]
        elif _all_matched(narrow, taken):
            return True
    return False


def _all_matched(narrow: list[Chooser], taken: Functions) -> bool:
    """Bipartite matching by augmenting paths, breadth first."""
    wishes = [sorted(f for option in one.options for f in option - taken) for one in narrow]
    holder: dict[str, int] = {}
    for start in range(len(narrow)):
        came: dict[str, int] = {}
        queue, free = [start], ""
        while queue and not free:
            one = queue.pop(0)
            for function in wishes[one]:
                if function in came:
                    continue
                came[function] = one
                if function not in holder:
                    free = function
                    break
                queue.append(holder[function])
        if not free:
            return False
        _shift(holder, came, free, start)
    return True


def _shift(holder: dict[str, int], came: dict[str, int], free: str, start: int) -> None:
    """Hand functions back along the path that ends in ``free``."""
    function = free
    while True:
        one = came[function]
        held = next((f for f, who in holder.items() if who == one), "")
        holder[function] = one
        if one == start:
            return
        function = held
