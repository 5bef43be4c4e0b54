"""The second opinion on a written board: read both files, then ask every check."""

from __future__ import annotations

from collections.abc import Sequence

from renet.changes import ChangeList
from renet.errors import RenetError
from renet.read.board import read_open_board
from renet.read.spans import BoardSpans
from renet.rules import Rules
from renet.verify.alignment import Alignment
from renet.verify.compare import check_bytes
from renet.verify.facts import Facts
from renet.verify.listed import check_moves
from renet.verify.naming import check_pins
from renet.verify.partition import check_partition
from renet.verify.permitted import check_rules
from renet.verify.permutable import with_listed
from renet.verify.pins import PinTable, comparable
from renet.verify.poured import Planes
from renet.verify.recut import Recut
from renet.verify.rescan import parse_after
from renet.verify.scope import LeftOut, Scope, scope_of
from renet.verify.seats import Seat, Seats
from renet.verify.sheet import Sheet
from renet.verify.verdict import Expect, Finding, Verdict, unreadable


def verify_board(before: bytes, after: bytes, expect: Expect) -> Verdict:
    """Whether AFTER is BEFORE with nothing but the expected exchange of nets.

    Raises InputError when BEFORE cannot be read and RulesError when the rules
    cannot; an AFTER that cannot be read is a finding.
    """
    verdict = Verdict()
    board, spans = read_open_board(before)
    old = Sheet("before", before, spans.tree)
    try:
        tree, runs = parse_after(spans.tree, after)
    except RenetError as fault:
        verdict.findings.append(unreadable(fault))
        return verdict
    new = Sheet("after", after, tree)
    alignment = Alignment(old, new, runs)
    new.share(old, alignment.twins, alignment.in_step)
    verdict.findings += check_bytes(alignment, expect.mode != "keep", verdict.counts)
    facts = Facts(board)
    faults = comparable(facts, board.nets, old, new)
    verdict.findings += faults
    if not faults:
        _compare(verdict, PinTable(board, facts, old, new), alignment, spans, expect)
    return verdict


def _compare(
    verdict: Verdict, table: PinTable, alignment: Alignment, spans: BoardSpans, expect: Expect
) -> None:
    """All checks but ``bytes``."""
    counts = verdict.counts
    seats: Sequence[Seat] = table.seats()
    seats, rules = with_listed(seats, expect)
    expect = expect._replace(rules=rules)
    everyone = Seats(seats)
    scope = _scope(expect, everyone, table)
    moved = {pin: seats[pin] for pin in everyone.moving}
    recut = Recut(spans, alignment, table, moved, expect.mode)
    verdict.moved = tuple(seat.as_moved() for seat in moved.values())
    verdict.findings += check_pins(table, moved, counts)
    verdict.findings += check_partition(everyone, scope, counts)
    if expect.rules is not None or expect.changes is None:
        verdict.findings += check_rules(everyone, expect.rules or Rules(), scope, counts)
    verdict.findings += recut.check(counts)
    if expect.changes is not None:
        verdict.findings += check_moves(everyone, expect.changes, counts)
        verdict.findings += _left(recut, expect.changes)


def _scope(expect: Expect, seats: Seats, table: PinTable) -> Scope:
    if expect.rules is None:
        return Scope()
    planes = Planes(table.board, table.facts, seats.all)
    left_out = LeftOut(expect.rules, seats, planes.nets, expect.left_out)
    return scope_of(expect.rules, seats, left_out)


def _left(recut: Recut, changes: ChangeList) -> list[Finding]:
    """A change list that was cut down to some swaps does not say what leaves."""
    return list(recut.check_left(changes.left)) if changes.left else []
