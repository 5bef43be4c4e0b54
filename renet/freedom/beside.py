"""[[beside]]: nets that stand next to a ground pin.

Scope: the pins of one part that carry the nets or a ground net, or may.  Legal:
no new pin without a ground neighbour.  Why: the pin.
"""

from __future__ import annotations

from collections.abc import Iterable

from renet.freedom.condition import Condition, Tie, Violation
from renet.freedom.select import Names
from renet.freedom.spots import Spots
from renet.model import IntArray
from renet.rules import Beside

DEFAULT_GROUND = Beside._field_defaults["ground"]


class BesideGround(Condition):
    """One [[beside]] record on one part."""

    def __init__(self, names: Names, record: Beside, spots: Spots, pins: Iterable[int]) -> None:
        super().__init__(names, f"[[beside]] line {record.line}", record.line, pins)
        may_fail = record.ground == DEFAULT_GROUND
        self.nets = frozenset(names.nets(record.nets, record.line))
        self.ground = frozenset(names.nets(record.ground, record.line, may_fail))
        self._near = {pin: names.in_order(near) for pin, near in spots.neighbours.items()}

    def broken(self, nets: IntArray) -> frozenset[Violation]:
        """Each pin that carries one of the nets without a ground pin beside it."""
        return frozenset(
            frozenset({(pin, net)})
            for pin, net in self.facts(nets, self.nets)
            if not self._grounds(pin, nets)
        )

    def why(self, violation: Violation) -> str:
        """The pin."""
        return f"no ground pin beside {self.told(violation)}"

    def ties(self, before: IntArray, after: IntArray) -> list[Tie]:
        """A pin and one ground neighbour it relies on, in each of its two states.

        Where a neighbour is ground in both states, nothing has to be tied.
        """
        found: list[Tie] = []
        for pin in self.pins.tolist():
            first, second = self._grounds(pin, before), self._grounds(pin, after)
            if set(first) & set(second):
                continue
            needs_first = int(before[pin]) in self.nets and first
            needs_second = int(after[pin]) in self.nets and second
            links = first[:1] * bool(needs_first) + second[:1] * bool(needs_second)
            if before[pin] != after[pin]:
                links = [pin, *links]
            found += [(links[0], other) for other in links[1:]]
        return found

    def _grounds(self, pin: int, nets: IntArray) -> list[int]:
        return [near for near in self._near[pin] if int(nets[near]) in self.ground]
