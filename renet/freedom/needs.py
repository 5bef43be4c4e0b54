"""[[needs]]: nets stand on pins that offer what they need.

Scope: the pins of one part that carry the nets, or may.  Legal: no new pin that
offers none of the functions.  Why: the pin.  No moves are tied: every pin is
right or wrong by itself.
"""

from __future__ import annotations

from collections.abc import Iterable

from renet.freedom.condition import Condition, Tie, Violation
from renet.freedom.offers import Functions, matching
from renet.freedom.select import Names
from renet.model import IntArray
from renet.rules import Needs


class NeedsFunction(Condition):
    """One [[needs]] record on one part."""

    def __init__(
        self, names: Names, record: Needs, functions: Functions, pins: Iterable[int]
    ) -> None:
        super().__init__(names, f"[[needs]] line {record.line}", record.line, pins)
        self._record = record
        self.nets = frozenset(names.nets(record.nets, record.line))
        self.offering = frozenset(
            pin for pin in self.pins.tolist() if matching(functions.of_pin(pin), record.functions)
        )

    def broken(self, nets: IntArray) -> frozenset[Violation]:
        """Each pin that carries one of the nets and offers none of the functions."""
        return frozenset(
            frozenset({(pin, net)})
            for pin, net in self.facts(nets, self.nets)
            if pin not in self.offering
        )

    def why(self, violation: Violation) -> str:
        """The pin."""
        return f"{' or '.join(self._record.functions)} is not offered: {self.told(violation)}"

    def ties(self, before: IntArray, after: IntArray) -> list[Tie]:
        """None."""
        return []
