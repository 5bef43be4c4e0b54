"""Seats put together by hand for the check ``rules``, and what it finds on them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from renet.rules import (
    Rules,
)
from renet.verify import Counts, Finding
from renet.verify.permitted import check_rules
from renet.verify.scope import scope_of
from renet.verify.seats import Seat, Seats

MM = 1_000_000
Nets = Mapping[str, str | None]


def seat(label: str, was: str | None, is_: str | None, **facts: object) -> Seat:
    """A pin in a row of 1 mm pitch, its place told by its number."""
    ref, number = label.split(":")
    digits = int("".join(c for c in number if c.isdigit()) or 0)
    base: dict[str, object] = {
        "part": sum(ref.encode()),
        "ref": ref,
        "number": number,
        "name": "",
        "type": "bidirectional",
        "at": ((digits * MM, 0),),
        "alone": True,
        "torn": False,
    }
    return Seat(was=was, is_=is_, **{**base, **facts})  # type: ignore[arg-type]


def seats(nets: Nets, moves: Nets | None = None, **names: str) -> list[Seat]:
    """Seats with nets and some moves; ``names`` gives pin names by number, as ``p4=...``."""
    return [
        seat(label, net, (moves or {}).get(label, net), name=names.get(f"p{label[3:]}", ""))
        for label, net in nets.items()
    ]


def found(pins: Sequence[Seat], rules: Rules, left_out: Sequence[str] = ()) -> list[Finding]:
    board = Seats(pins)
    scope = scope_of(rules, board, frozenset(left_out))
    return check_rules(board, rules, scope, Counts())


def fired(
    pins: Sequence[Seat], rules: Rules, left_out: Sequence[str] = ()
) -> list[tuple[str, str]]:
    return [(f.rule, f.where) for f in found(pins, rules, left_out)]


ROW: Nets = {"U3:1": "/A", "U3:2": "/B", "U3:3": "/C", "U3:4": "/D", "U3:5": None, "U3:6": "GND"}
SWAP: Nets = {"U3:1": "/B", "U3:2": "/A"}
NAMES = {
    "p1": "IO_A1",
    "p2": "IO_A2",
    "p3": "IO_B1/NRST",
    "p4": "SWDIO",
    "p5": "IO_B2",
    "p6": "VSS",
}
