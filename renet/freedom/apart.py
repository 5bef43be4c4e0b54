"""[[apart]]: nets that keep a distance, or at least do not stand on neighbouring pins.

Scope: the pins of one part that carry the nets, or may.  Legal: no new pair of
pins that are too near.  Why: the two pins.
"""

from __future__ import annotations

from collections.abc import Iterable

from renet.freedom.condition import Condition, Tie, Violation
from renet.freedom.select import Names
from renet.freedom.spots import Spots
from renet.geometry import nm
from renet.model import IntArray
from renet.rules import Apart

_FARTHEST = 1 << 62  # squared; beyond any board


class KeptApart(Condition):
    """One [[apart]] record on one part."""

    def __init__(self, names: Names, record: Apart, spots: Spots, pins: Iterable[int]) -> None:
        super().__init__(names, f"[[apart]] line {record.line}", record.line, pins)
        self._record = record
        self.nets = frozenset(names.nets(record.nets, record.line))
        self.others = frozenset(names.nets(record.others, record.line)) or self.nets
        reach = nm(record.distance_mm)
        self._near = (
            spots.within(min(reach * reach, _FARTHEST), strictly=True)
            if reach
            else spots.neighbours
        )

    def clash(self, a: int, b: int) -> bool:
        """Whether the rule speaks of these two nets."""
        return a != b and (
            (a in self.nets and b in self.others) or (b in self.nets and a in self.others)
        )

    def near(self, a: int, b: int) -> bool:
        """Whether two pins are too near for such nets."""
        return b in self._near[a]

    def broken(self, nets: IntArray) -> frozenset[Violation]:
        """Each two pins that are too near for the nets on them."""
        facts = dict(self.facts(nets, self.nets | self.others))
        return frozenset(
            frozenset({(a, net), (b, facts[b])})
            for a, net in facts.items()
            for b in self._near[a] & facts.keys()
            if self.clash(net, facts[b])
        )

    def why(self, violation: Violation) -> str:
        """The two pins."""
        least = self._record.distance_mm
        how = f"nearer than {least} mm" if least else "on neighbouring pins"
        return f"{how}: {self.told(violation)}"

    def ties(self, before: IntArray, after: IntArray) -> list[Tie]:
        """A pin and a pin that would clash if only one of the two had its new net."""
        moved = [pin for pin in self.pins.tolist() if before[pin] != after[pin]]
        here = set(moved)
        return [
            (a, b)
            for a in moved
            for b in self.names.in_order(self._near[a] & here)
            if self.clash(int(after[a]), int(before[b]))
        ]
