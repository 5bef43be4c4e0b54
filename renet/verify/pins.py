"""The pins of both files side by side: which pads they have and what those carry."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from functools import cached_property

import numpy as np

from renet.model import NONE, Board, IntArray
from renet.verify.column import Column, numbered
from renet.verify.facts import Facts
from renet.verify.seats import Made, Point, SeatColumns, SeatRows
from renet.verify.sheet import Sheet
from renet.verify.verdict import PINS, Finding

PinKey = tuple[int, str]


class PinTable:
    """Pins are numbered in the order in which their first pads come; pads in file order.

    Unnumbered and unplated pads belong to no pin.  Both files have the same
    parts and pads: ask :func:`comparable` first.

    ``pin_of`` has the pin of each pad, -1 for none; ``first`` the first pad of each pin, and
    ``more`` all pads of those that have several.
    """

    def __init__(self, board: Board, facts: Facts, before: Sheet, after: Sheet) -> None:
        self.board, self.facts, self.before, self.after = board, facts, before, after
        good = self.facts.plated & before.pad_numbers.where(bool)
        rows = good.nonzero()[0]
        known: dict[int, int] = {}
        pins = [known.setdefault(key, len(known)) for key in before.pad_keys[rows].tolist()]
        self.pin_of: IntArray = np.full(len(good), NONE, dtype=np.int64)
        self.pin_of[rows] = pins
        self.first: IntArray = np.empty(len(known), dtype=np.int64)
        self.first[self.pin_of[rows[::-1]]] = rows[::-1]
        several = np.bincount(self.pin_of[rows], minlength=len(known)) > 1
        self.more: dict[int, list[int]] = {pin: [] for pin in several.nonzero()[0].tolist()}
        for pad in rows[several[self.pin_of[rows]]].tolist():
            self.more[int(self.pin_of[pad])].append(pad)
        after.pad_keys = before.pad_keys  # the same parts and numbers, which is all they say
        self.refs = [before.refs[item] for item in before.parts.tolist()]

    def __len__(self) -> int:
        return len(self.first)

    def pads_of(self, pin: int) -> list[int]:
        """The pads of a pin."""
        return self.more.get(pin) or [int(self.first[pin])]

    def key(self, pin: int) -> PinKey:
        """(part, number)."""
        pad = int(self.first[pin])
        return int(self.before.pad_parts[pad]), self.before.pad_numbers.one(pad)

    def label(self, pin: int) -> str:
        """``PART:PIN``."""
        part, number = self.key(pin)
        return f"{self.refs[part]}:{number}"

    def pad_label(self, pad: int) -> str:
        """The pin of a pad, or its part where it belongs to no pin."""
        if self.pin_of[pad] != NONE:
            return self.label(int(self.pin_of[pad]))
        return f"a pad of {self.refs[self.before.pad_parts[pad]]}"

    @cached_property
    def changed(self) -> IntArray:
        """The pads whose net differs, private names left out of account, in file order."""
        mine, theirs = numbered(self.before.pad_real_nets, self.after.pad_real_nets)
        pads: IntArray = (mine != theirs).nonzero()[0]
        return pads

    @cached_property
    def other_nets(self) -> list[tuple[int, str, str]]:
        """The pads that carry another net in AFTER, and both nets, private names included."""
        had, has = self.before.pad_nets, self.after.pad_nets
        mine, theirs = numbered(had, has)
        pads = (mine != theirs).nonzero()[0]
        return list(zip(pads.tolist(), had.some(pads), has.some(pads), strict=True))

    def seats(self) -> SeatRows:
        """All pins with the nets they had and have, in the order of their numbers.

        Where the pads of a pin disagree, the first that changed speaks for all (check
        ``pins`` tells of those that disagree in AFTER only).
        """
        before, facts, first = self.before, self.facts, self.first
        times = Counter(self.refs)
        alone = [bool(ref) and times[ref] == 1 for ref in self.refs]
        had, has = before.pad_real_nets, self.after.pad_real_nets
        part, numbers = before.pad_parts[first].tolist(), before.pad_numbers.some(first)
        pins = self.board.pins
        if not np.array_equal(facts.pin, self.pin_of):  # the board numbers its pins otherwise
            said = {pin[:2]: pin for pin in pins}
            pins = tuple(said[key] for key in zip(part, numbers, strict=True))
        torn, speaks = [False] * len(first), first.copy()
        changed = self.changed[self.pin_of[self.changed] != NONE][::-1]
        speaks[self.pin_of[changed]] = changed  # of one pin's the first comes last
        for pin, pads in self.more.items():
            torn[pin] = len(set(had.some(pads))) > 1
        columns = SeatColumns(
            part=part,
            ref=[self.refs[one] for one in part],
            number=numbers,
            name=[pin.name for pin in pins],
            type=[pin.type for pin in pins],
            at=self._places(),
            alone=[alone[one] for one in part],
            torn=torn,
            was=had.some(speaks),
            is_=has.some(speaks),
            disputed=[False] * len(first),
        )
        return SeatRows(columns)

    def _places(self) -> Sequence[tuple[Point, ...]]:
        """The centres of the pads of each pin."""
        pads = self.board.pads

        def places(pin: int) -> tuple[Point, ...]:
            return tuple([(pads[pad].x, pads[pad].y) for pad in self.pads_of(pin)])

        return Made(len(self), places)


def comparable(facts: Facts, nets: tuple[str, ...], before: Sheet, after: Sheet) -> list[Finding]:
    """Whether both files have the same parts and pads, and the board reader sees the same.

    ``nets`` are the names of the nets of the board.
    """
    findings = []
    names: Column[str | None] = Column(facts.net, [*nets, None])  # the last is that of no net, -1
    if names.rows != before.pad_real_nets.rows:
        what = "the board reader and verify read other pads or nets in BEFORE"
        findings.append(Finding(PINS, "reader", "file", what))
    mine, theirs = before.pad_numbers.rows, after.pad_numbers.rows
    if mine != theirs or not np.array_equal(before.pad_parts, after.pad_parts):
        what = f"AFTER has other pads than BEFORE ({len(theirs)}, not {len(mine)})"
        findings.append(Finding(PINS, "same pads", "file", f"{what}; no pin was compared"))
    return findings
