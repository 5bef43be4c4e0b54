"""Check ``partition``: nets only trade places; none is lost, grown, shrunk or smuggled."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from renet.verify.scope import Scope
from renet.verify.seats import Seat, Seats
from renet.verify.verdict import PARTITION, Counts, Finding, net_words


def check_partition(seats: Seats, scope: Scope, counts: Counts) -> list[Finding]:
    """Every net keeps its number of pins, on the board and in each pool and unit of ``scope``."""
    was, is_ = seats.columns.was, seats.columns.is_
    counts.nets_compared += len({*was, *is_})
    moved = seats.moved()  # all others are on both sides of the sum
    before, after = _tally(moved, False), _tally(moved, True)
    findings = [
        _finding("number of pins", net, seats.all, "the board")
        for net in _names(before.keys() | after.keys())
        if net is not None and before[net] != after[net]
    ]
    told = {finding.where for finding in findings}
    members: dict[int, list[int]] = {}
    for seat, home in scope.group.items():
        members.setdefault(home, []).append(seat)
    for index, group in enumerate(scope.groups):
        pins = members.get(index, [])
        had, has = Counter([was[i] for i in pins]), Counter([is_[i] for i in pins])
        findings += [
            _finding("pool by pool", net, [seats.all[i] for i in pins], group.name)
            for net in _names(had.keys() | has.keys())
            if had[net] != has[net] and net_words(net) not in told
        ]
    return findings


def _tally(pins: Iterable[Seat], after: bool) -> Counter[str | None]:
    return Counter([pin.is_ if after else pin.was for pin in pins])


def _names(nets: Iterable[str | None]) -> list[str | None]:
    return sorted(nets, key=lambda net: net or "")


def _finding(rule: str, net: str | None, pins: Sequence[Seat], where: str) -> Finding:
    had, has = _tally(pins, False)[net], _tally(pins, True)[net]
    gone = [pin.label for pin in pins if pin.was == net and pin.is_ != net]
    come = [pin.label for pin in pins if pin.is_ == net and pin.was != net]
    what = (
        f"{_pins(had)} of {where} had it and {_pins(has)} now: "
        f"it left {_list(gone)} and came to {_list(come)}"
    )
    return Finding(PARTITION, rule, net_words(net), what)


def _pins(count: int) -> str:
    return f"{count} pin" if count == 1 else f"{count} pins"


def _list(labels: list[str]) -> str:
    if not labels:
        return "no pin"
    more = f" and {len(labels) - 6} more" if len(labels) > 6 else ""
    return ", ".join(labels[:6]) + more
