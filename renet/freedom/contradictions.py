"""Rules that speak against one another, found before anybody searches.

The input is always a legal result, so no contradiction can make a search fail;
what can be made plain is which two rules can never both hold, and which broken
rule can never be put right.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import combinations

from renet.errors import RulesError
from renet.freedom.apart import KeptApart
from renet.freedom.claims import Claims
from renet.freedom.condition import Condition, Finding, Violation
from renet.freedom.groups import Group
from renet.freedom.needs import NeedsFunction
from renet.freedom.order import BusOrder
from renet.freedom.pair import PairTogether
from renet.model import IntArray


def check_contradictions(conditions: Sequence[Condition], nets: IntArray) -> None:
    """RulesError for two rules that cannot both hold on a part."""
    pairs = [one for one in conditions if isinstance(one, PairTogether)]
    aparts = [one for one in conditions if isinstance(one, KeptApart)]
    for pair in pairs:
        for apart in aparts:
            if _same_part(pair, apart) and pair.seats(nets) is not None:
                _check_pair(pair, apart)
    orders = [one for one in conditions if isinstance(one, BusOrder)]
    for first, second in combinations(orders, 2):
        if first.part == second.part:
            _check_orders(first, second)


def findings(
    conditions: Iterable[Condition], claims: Claims, groups: Iterable[Group]
) -> list[Finding]:
    """What the input breaks, and why it cannot be put right where it cannot."""
    home = {pin: group for group in groups for pin in group.pins}
    found = []
    for condition in conditions:
        for violation in condition.broken_by_input():
            text = f"{condition.rule}: {condition.why(violation)}"
            found.append(Finding(condition.line, text + _stuck(condition, violation, claims, home)))
    return found


def _stuck(
    condition: Condition, violation: Violation, claims: Claims, home: Mapping[int, Group]
) -> str:
    pins = claims.names.in_order(pin for pin, _ in violation)
    free = [pin for pin in pins if pin in home]
    if not free and pins:
        why = claims.kept.get(pins[0], "no pool and no unit names it")
        return f"; it stays so, because {claims.names.label(pins[0])} is kept: {why}"
    if isinstance(condition, NeedsFunction) and not set(home[free[0]].pins) & condition.offering:
        return f"; it stays so, because no free pin of {home[free[0]].rule} offers it"
    return ""


def _same_part(a: Condition, b: Condition) -> bool:
    pins = a.names.board.pins
    parts = [{pins[pin].part for pin in one.pins.tolist()} for one in (a, b)]
    return bool(parts[0] & parts[1])


def _check_pair(pair: PairTogether, apart: KeptApart) -> None:
    places = pair.places()
    if apart.clash(pair.positive, pair.negative) and all(apart.near(*seats) for seats in places):
        part = pair.names.board.parts[pair.names.board.pins[int(pair.pins[0])].part].ref
        raise RulesError(
            f"{pair.rule} and {apart.rule} contradict each other on {part}: every place for the "
            "pair is too near",
            "take the pair's nets out of one of them",
            line=apart.line,
        )


def _check_orders(first: BusOrder, second: BusOrder) -> None:
    common = [net for net in first.bus if net in second.bus]
    other = [net for net in second.bus if net in common]
    asked = {first.direction, second.direction} - {"either"}
    same, turned = other == common, other == common[::-1]
    directed = len({first.direction, second.direction}) == 1 and len(asked) == 1
    fits = same if directed else (turned if len(asked) == 2 else same or turned)
    if not fits:
        names = ", ".join(first.names.net_label(net) for net in common)
        raise RulesError(
            f"{first.rule} and {second.rule} ask for different orders of {names}",
            "take the nets out of one of them",
            line=second.line,
        )
