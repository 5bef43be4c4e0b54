"""What a netlist of either kind is asked once its pins are seats: partition, rules, moves."""

from __future__ import annotations

from renet.rules import Rules
from renet.verify.listed import check_moves
from renet.verify.partition import check_partition
from renet.verify.permitted import check_rules
from renet.verify.scope import Scope, left_out_nets, scope_of
from renet.verify.seats import Seat, Seats
from renet.verify.verdict import Expect, Verdict


def judge(verdict: Verdict, seats: list[Seat], expect: Expect) -> None:
    """Add the moves and the findings; rules that measure distances are not asked here."""
    everyone, counts = Seats(seats), verdict.counts
    rules = _without_distances(expect.rules) if expect.rules else None
    left_out = left_out_nets(rules, everyone, frozenset()) if rules else frozenset()
    scope = scope_of(rules, everyone, left_out | expect.left_out) if rules else Scope()
    verdict.moved = tuple(seat.as_moved() for seat in everyone.moved())
    verdict.findings += check_partition(everyone, scope, counts)
    if rules is not None or expect.changes is None:
        verdict.findings += check_rules(everyone, rules or Rules(), scope, counts)
    if expect.changes is not None:
        verdict.findings += check_moves(everyone, expect.changes, counts)


def _without_distances(rules: Rules) -> Rules:
    pairs = tuple(pair for pair in rules.pairs if pair.sites)
    return rules._replace(pairs=pairs, aparts=(), besides=())
