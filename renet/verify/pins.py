"""The pins of both files side by side: which pads they have and what those carry."""

from __future__ import annotations

from collections import Counter

from renet.model import Board
from renet.verify.seats import Seat
from renet.verify.sheet import Sheet
from renet.verify.verdict import PINS, Finding

PinKey = tuple[int, str]


class PinTable:
    """``pads`` maps (part, number) to pads; parts and pads are numbered in file order.

    Unnumbered and unplated pads belong to no pin.  Both files have the same
    parts and pads: ask :func:`comparable` first.
    """

    def __init__(self, board: Board, before: Sheet, after: Sheet) -> None:
        self.board, self.before, self.after = board, before, after
        order = {item: index for index, item in enumerate(before.parts)}
        self.pads: dict[PinKey, list[int]] = {}
        for index, (pad, fact) in enumerate(zip(before.pads, board.pads, strict=True)):
            if pad.number and fact.plated:
                self.pads.setdefault((order[pad.item], pad.number), []).append(index)
        self.refs = [before.refs[item] for item in before.parts]
        self.key_of = {pad: key for key, pads in self.pads.items() for pad in pads}

    def label(self, key: PinKey) -> str:
        """``PART:PIN``."""
        return f"{self.refs[key[0]]}:{key[1]}"

    def pad_label(self, pad: int) -> str:
        """The pin of a pad, or its part where it belongs to no pin."""
        if pad in self.key_of:
            return self.label(self.key_of[pad])
        return f"a pad of {self.before.refs[self.before.pads[pad].item]}"

    def nets(self, after: bool, key: PinKey) -> list[str | None]:
        """The nets of a pin's pads in one of the files."""
        nets = (self.after if after else self.before).pad_real_nets
        return [nets[pad] for pad in self.pads[key]]

    def seats(self) -> list[Seat]:
        """All pins with the nets they had and have, in the order of ``pads``.

        Where the pads of a pin disagree, the first that changed speaks for all (check
        ``pins`` tells of those that disagree in AFTER only).
        """
        facts = {(pin.part, pin.number): pin for pin in self.board.pins}
        at = [(pad.x, pad.y) for pad in self.board.pads]
        times = Counter(self.refs)
        made = []
        for key, pads in self.pads.items():
            had, has = self.nets(False, key), self.nets(True, key)
            changed = [pair for pair in zip(had, has, strict=True) if pair[0] != pair[1]]
            was, is_ = changed[0] if changed else (had[0], has[0])
            ref = self.refs[key[0]]
            seat = Seat(
                part=key[0],
                ref=ref,
                number=key[1],
                name=facts[key].name,
                type=facts[key].type,
                at=tuple([at[pad] for pad in pads]),
                alone=bool(ref) and times[ref] == 1,
                torn=len(set(had)) > 1,
                was=was,
                is_=is_,
            )
            made.append(seat)
        return made


def comparable(board: Board, before: Sheet, after: Sheet) -> list[Finding]:
    """Whether both files have the same parts and pads, and the board reader sees the same."""
    findings = []
    if [board.net_name(pad.net) for pad in board.pads] != before.pad_real_nets:
        what = "the board reader and verify read other pads or nets in BEFORE"
        findings.append(Finding(PINS, "reader", "file", what))
    mine, theirs = _pad_list(before), _pad_list(after)
    if mine != theirs:
        what = f"AFTER has other pads than BEFORE ({len(theirs)}, not {len(mine)})"
        findings.append(Finding(PINS, "same pads", "file", f"{what}; no pin was compared"))
    return findings


def _pad_list(sheet: Sheet) -> list[tuple[int, str]]:
    order = {item: index for index, item in enumerate(sheet.parts)}
    return [(order[pad.item], pad.number) for pad in sheet.pads]
