"""The pins of both files side by side: which pads they have and what those carry."""

from __future__ import annotations

from collections import Counter
from functools import cached_property
from itertools import repeat
from operator import attrgetter

from renet.model import Board
from renet.verify.seats import Seat
from renet.verify.sheet import Sheet
from renet.verify.verdict import PINS, Finding

PinKey = tuple[int, str]
_PLACE = attrgetter("x", "y")


class PinTable:
    """``pads`` maps (part, number) to pads; parts and pads are numbered in file order.

    Unnumbered and unplated pads belong to no pin.  Both files have the same
    parts and pads: ask :func:`comparable` first.
    """

    def __init__(self, board: Board, before: Sheet, after: Sheet) -> None:
        self.board, self.before, self.after = board, before, after
        self.pads: dict[PinKey, list[int]] = {}
        keys = zip(before.pad_parts, before.pad_numbers, strict=True)
        for index, (key, fact) in enumerate(zip(keys, board.pads, strict=True)):
            if key[1] and fact.plated:
                self.pads.setdefault(key, []).append(index)
        self.refs = [before.refs[item] for item in before.parts]
        self.key_of = {pad: key for key, pads in self.pads.items() for pad in pads}

    def label(self, key: PinKey) -> str:
        """``PART:PIN``."""
        return f"{self.refs[key[0]]}:{key[1]}"

    def pad_label(self, pad: int) -> str:
        """The pin of a pad, or its part where it belongs to no pin."""
        if pad in self.key_of:
            return self.label(self.key_of[pad])
        return f"a pad of {self.refs[self.before.pad_parts[pad]]}"

    def _changed(self) -> dict[PinKey, int]:
        """The first pad that changed of each pin that has one."""
        nets = zip(self.before.pad_real_nets, self.after.pad_real_nets, strict=True)
        changed = [pad for pad, (had, has) in enumerate(nets) if had != has]
        return {self.key_of[pad]: pad for pad in reversed(changed) if pad in self.key_of}

    @cached_property
    def other_nets(self) -> list[tuple[int, str, str]]:
        """The pads that carry another net in AFTER, and both nets, private names included."""
        nets = zip(self.before.pad_nets, self.after.pad_nets, strict=True)
        return [(pad, was, is_) for pad, (was, is_) in enumerate(nets) if was != is_]

    def seats(self) -> list[Seat]:
        """All pins with the nets they had and have, in the order of ``pads``.

        Where the pads of a pin disagree, the first that changed speaks for all (check
        ``pins`` tells of those that disagree in AFTER only).
        """
        facts = {pin[:2]: pin for pin in self.board.pins}
        at = list(map(_PLACE, self.board.pads))
        times = Counter(self.refs)
        alone = [bool(ref) and times[ref] == 1 for ref in self.refs]
        had, has, changed = self.before.pad_real_nets, self.after.pad_real_nets, self._changed()
        pins = [facts[key] for key in self.pads]
        speaks = [changed.get(key, pads[0]) for key, pads in self.pads.items()]
        columns = zip(
            [part for part, _ in self.pads],
            [self.refs[part] for part, _ in self.pads],
            [number for _, number in self.pads],
            [pin.name for pin in pins],
            [pin.type for pin in pins],
            [
                (at[pads[0]],) if len(pads) == 1 else tuple([at[pad] for pad in pads])
                for pads in self.pads.values()
            ],
            [alone[part] for part, _ in self.pads],
            [len(pads) > 1 and len({had[pad] for pad in pads}) > 1 for pads in self.pads.values()],
            [had[pad] for pad in speaks],
            [has[pad] for pad in speaks],
            repeat(False),
        )
        return list(map(tuple.__new__, repeat(Seat), columns))


def comparable(board: Board, before: Sheet, after: Sheet) -> list[Finding]:
    """Whether both files have the same parts and pads, and the board reader sees the same."""
    findings = []
    names = (*board.nets, None)  # the last one is that of no net, -1
    if [names[pad.net] for pad in board.pads] != before.pad_real_nets:
        what = "the board reader and verify read other pads or nets in BEFORE"
        findings.append(Finding(PINS, "reader", "file", what))
    mine, theirs = before.pad_numbers, after.pad_numbers
    if mine != theirs or before.pad_parts != after.pad_parts:
        what = f"AFTER has other pads than BEFORE ({len(theirs)}, not {len(mine)})"
        findings.append(Finding(PINS, "same pads", "file", f"{what}; no pin was compared"))
    return findings
