"""Rules + board -> what may change: the one place where all kinds of rules meet."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass

import numpy as np

from renet.freedom.claims import Claims, Outside
from renet.freedom.condition import Condition, Finding
from renet.freedom.conditions import conditions_of
from renet.freedom.contradictions import check_contradictions, findings
from renet.freedom.domain import domains_of
from renet.freedom.groups import Group, Site
from renet.freedom.keep import kept_by_rules
from renet.freedom.layers import directions
from renet.freedom.nets import check_signals, tangle_nets, weights
from renet.freedom.pool import claim_pool, pool_groups
from renet.freedom.select import Names
from renet.freedom.unit import claim_unit, likeness_findings, unit_groups
from renet.freedom.watch import Watch
from renet.model import Board, BoolArray, IntArray
from renet.rules import Rules


@dataclass(frozen=True, slots=True, eq=False)
class Freedom:
    """What may change on one board.

    ``movable`` per pin: it is in a group.  ``kept``: (pin, why) for every pin
    that a pool or unit names and that stays all the same, in the order of part
    reference and pin.  ``findings``: what the input breaks, by line.
    ``weight``: per net, in thousandths.
    """

    names: Names
    groups: tuple[Group, ...]
    movable: BoolArray
    kept: tuple[tuple[int, str], ...]
    findings: tuple[Finding, ...]
    conditions: tuple[Condition, ...]
    weight: IntArray


def resolve(
    board: Board, rules: Rules, held: Mapping[int, str], left_out: Collection[int] = ()
) -> Freedom:
    """Find out what the rules set free on this board; RulesError where they cannot mean it.

    ``held``: pins that must stay for reasons outside the rules; ``left_out``:
    nets that are no part of the tangle.
    """
    names = Names(board)
    directions(board, rules)
    tangle_nets(board, rules)
    check_signals(names, rules)
    claims = Claims(names, kept_by_rules(names, rules), Outside(held, frozenset(left_out)))
    sites = _claim(claims, rules)
    groups = _groups(claims, rules, sites)
    free = frozenset(pin for group in groups for pin in group.pins)
    conditions = conditions_of(Watch(names, free), rules)
    check_contradictions(conditions, names.input_nets)
    for condition in conditions:
        condition.settle(names.input_nets)
    movable = np.zeros(len(board.pins), dtype=bool)
    movable[sorted(free)] = True
    notes = findings(conditions, claims, groups)
    for unit, tuples in zip(rules.units, sites, strict=True):
        notes += likeness_findings(names, unit, tuples)
    return Freedom(
        names=names,
        groups=groups,
        movable=movable,
        kept=tuple((pin, claims.kept[pin]) for pin in names.in_order(claims.kept)),
        findings=tuple(sorted(notes)),
        conditions=tuple(conditions),
        weight=weights(names, rules),
    )


def _claim(claims: Claims, rules: Rules) -> list[tuple[Site, ...]]:
    """Claim the pins of all pools, then of all units; the units' tuples come back."""
    for owner, pool in enumerate(rules.pools):
        claim_pool(claims, pool, owner)
    first = len(rules.pools)
    sites = [claim_unit(claims, unit, first + index) for index, unit in enumerate(rules.units)]
    claims.settle()
    return sites


def _groups(claims: Claims, rules: Rules, sites: list[tuple[Site, ...]]) -> tuple[Group, ...]:
    """All groups in the order of their first pins, whatever the order of the rules."""
    domains = domains_of(claims.names, rules)
    found: list[Group] = []
    for owner, pool in enumerate(rules.pools):
        found += pool_groups(claims, pool, owner, domains)
    for unit, tuples in zip(rules.units, sites, strict=True):
        found += unit_groups(claims, unit, tuples, domains)
    return tuple(sorted(found, key=lambda group: claims.names.rank(group.pins[0])))
