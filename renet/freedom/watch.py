"""What every builder of conditions asks: which parts, which of their pins, where they are."""

from __future__ import annotations

from collections.abc import Iterable

from renet.freedom.select import Names
from renet.freedom.spots import Spots


class Watch:
    """One board with its ``free`` pins: those that may move.

    A record without a part holds on every part by itself; on a part without a
    free pin nothing can change, so such parts are passed over.
    """

    def __init__(self, names: Names, free: frozenset[int]) -> None:
        self.names = names
        self.free = free
        board = names.board
        self._free_refs = sorted({board.parts[board.pins[pin].part].ref for pin in free})
        self._spots: dict[str, Spots] = {}

    def refs(self, ref: str, line: int) -> list[str]:
        """The parts that a record with this ``part`` holds on."""
        if not ref:
            return self._free_refs
        self.names.parts(ref, line)  # RulesError where there is none
        return [ref]

    def spots(self, ref: str) -> Spots:
        """Where the pins of a part are."""
        if ref not in self._spots:
            self._spots[ref] = Spots(self.names.board, self.names.parts(ref, 0))
        return self._spots[ref]

    def pins(self, ref: str, nets: Iterable[int]) -> list[int]:
        """Pins of a part that carry one of the nets, or may one day."""
        wanted, pins = frozenset(nets), self.names.board.pins
        return [p for p in self.names.pins_of(ref) if p in self.free or pins[p].net in wanted]
