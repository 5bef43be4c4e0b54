"""Check ``moves``: exactly the moves of the change list were made."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from renet.changes import ChangeList, Move
from renet.verify.seats import Seat, Seats
from renet.verify.verdict import MOVES, Counts, Finding, net_words


def check_moves(seats: Seats, changes: ChangeList, counts: Counts) -> list[Finding]:
    """Every ``was`` holds in BEFORE, every ``is`` in AFTER, and no further pin moved."""
    listed = {(move.part, move.pin) for move in changes.moves}
    findings: list[Finding] = []
    was, is_ = seats.columns.was, seats.columns.is_
    for move in changes.moves:
        counts.moves_checked += 1
        found = seats.numbered(move.part, move.pin)
        if [(was[i], is_[i]) for i in found] != [(move.was, move.is_)]:
            findings += _one(move, [seats.all[i] for i in found])
    for seat in seats.moved():
        if (seat.ref, seat.number) not in listed:
            what = f"it went from {net_words(seat.was)} to {net_words(seat.is_)}, "
            what += "which the change list does not say"
            findings.append(Finding(MOVES, "no further pin", seat.label, what))
    return findings


def _one(move: Move, found: Sequence[Seat]) -> Iterator[Finding]:
    label = f"{move.part}:{move.pin}"
    if len(found) != 1:
        what = "the change list moves it, but BEFORE has " + ("no" if not found else "several")
        yield Finding(MOVES, "was", label, f"{what} such pin")
        return
    seat = found[0]
    if seat.was != move.was:
        what = f"BEFORE has it on {net_words(seat.was)}, the change list says {net_words(move.was)}"
        yield Finding(MOVES, "was", label, what)
    if seat.is_ != move.is_:
        what = f"AFTER has it on {net_words(seat.is_)}, the change list says {net_words(move.is_)}"
        yield Finding(MOVES, "is", label, what)
