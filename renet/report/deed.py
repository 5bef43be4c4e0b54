"""What was done to a file, as the hand-over files need to know it."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from typing import NamedTuple

from renet import rules as r
from renet.between import Seat, seats
from renet.changes import ChangeList, Figures
from renet.columns import natural
from renet.deliver import in_netlist_names
from renet.errors import blame
from renet.freedom import resolve
from renet.meet import meet
from renet.model import Board, Netlist
from renet.permuted import Declared, permuted
from renet.pipeline import NO_TERMS, Named, Terms, design, netlist_file
from renet.weighing import measured

Key = tuple[str, str]


class PartFact(NamedTuple):
    """What a part is, in words of its file."""

    value: str
    footprint: str


class Permit(NamedTuple):
    """What allowed a pin to move: ``kind`` is pin or unit; ``rule`` names the section and line."""

    kind: str
    rule: str


class Deed(NamedTuple):
    """A change list applied to one file.  ``figures`` are (before, after) where it is a board."""

    changes: ChangeList
    source: tuple[str, str]
    result: tuple[str, str]
    pins: dict[Key, Seat]
    parts: dict[str, PartFact]
    permits: dict[Key, Permit]
    figures: tuple[Figures, Figures] | None
    date: str
    version: str

    def after(self) -> dict[Key, Seat]:
        """Every pin with its new net."""
        moved = {(move.part, move.pin): move.is_ for move in self.changes.moves}
        return {key: seat._replace(net=moved.get(key, seat.net)) for key, seat in self.pins.items()}

    def pins_of(self, parts: set[str]) -> Iterator[Key]:
        """Pins of these parts, in natural order."""
        found = (key for key in self.pins if key[0] in parts)
        return iter(sorted(found, key=lambda key: (natural(key[0]), natural(key[1]))))

    @property
    def moved_parts(self) -> set[str]:
        """Parts that have a moved pin."""
        return {move.part for move in self.changes.moves}


class Files(NamedTuple):
    """The files of a deed: what it was done to, what came out, and what was asked, if anything."""

    source: Named
    result: Named
    terms: Terms = NO_TERMS


def deed_of(changes: ChangeList, found: Files, date: str, version: str) -> Deed:
    """The deed of applying ``changes``; ``date`` and ``version`` are only passed on."""
    before = design(found.source)
    netlist = found.terms.netlist
    declared: Declared = ()
    if isinstance(before, Board) and netlist is not None:
        with blame(netlist.name):
            met = meet(before, netlist_file(netlist))
        before, declared = met.board, met.declared
    rules = found.terms.parsed()
    if isinstance(before, Netlist):
        changes = in_netlist_names(before, changes)
    return Deed(
        changes=changes,
        source=_stamp(found.source),
        result=_stamp(found.result),
        pins=seats(before),
        parts=_parts(before),
        permits=_permits(before, rules, declared) if rules is not None else {},
        figures=measured(before, changes) if isinstance(before, Board) else None,
        date=date,
        version=version,
    )


def _stamp(named: Named) -> tuple[str, str]:
    return named.name, hashlib.sha256(named.data).hexdigest()


def _parts(before: Board | Netlist) -> dict[str, PartFact]:
    return {part.ref: PartFact(part.value, part.footprint) for part in before.parts}


def _permits(before: Board | Netlist, rules: r.Rules, declared: Declared) -> dict[Key, Permit]:
    """The group of every free pin; nothing for a netlist, on which rules are not resolved."""
    if not isinstance(before, Board):
        return {}
    found = {}
    for group in resolve(before, permuted(rules, declared, before), {}).groups:
        kind = "unit" if len(group.sites[0]) > 1 else "pin"
        permit = Permit(kind, group.rule)
        found.update({before.pin_key(pin): permit for pin in group.pins})
    return found
