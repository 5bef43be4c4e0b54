"""[[order]]: a bus whose nets ascend or descend along a part.

Scope: the part's pins that carry one of the nets, or may.  Legal: one pin each,
in pin order up or down.  Why: the order in which they stand instead.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from renet.errors import RulesError
from renet.freedom.condition import Condition, Tie, Violation, chained, moved_facts
from renet.freedom.select import Names
from renet.model import IntArray
from renet.nearest import quoted
from renet.rules import Order, line_of


class BusOrder(Condition):
    """One [[order]] record."""

    def __init__(self, names: Names, record: Order, pins: Iterable[int]) -> None:
        rule = f"[[order]] line {record.line}"
        self.bus = [names.net(word, record.line) for word in record.nets]
        super().__init__(names, rule, record.line, pins)
        self._record = record
        self.part, self.direction = record.part, record.direction
        self._wanted = frozenset(self.bus)
        self._check()

    def broken(self, nets: IntArray) -> frozenset[Violation]:
        """All facts at once, or nothing."""
        facts = self.facts(nets, self._wanted)
        place = {net: rank for rank, (_, net) in enumerate(facts)}  # facts are in pin order
        if len(facts) == len(self.bus) == len(place) and self._runs([place[n] for n in self.bus]):
            return frozenset()
        return frozenset({frozenset(facts)})

    def _runs(self, places: list[int]) -> bool:
        up = all(a < b for a, b in pairwise(places))
        down = all(a > b for a, b in pairwise(places))
        asked = self._record.direction
        return (up and asked != "descending") or (down and asked != "ascending")

    def why(self, violation: Violation) -> str:
        """The bus as it stands."""
        asked = self._record.direction
        wanted = "up or down" if asked == "either" else asked
        return f"not in order, {wanted}, along {self._record.part}: {self.told(violation)}"

    def ties(self, before: IntArray, after: IntArray) -> list[Tie]:
        """The bus moves as a whole."""
        return chained(moved_facts(self, before, after, self._wanted))

    def _check(self) -> None:
        """RulesError for a bus that the part cannot carry in any order."""
        record, board = self._record, self.names.board
        for word, net in zip(record.nets, self.bus, strict=True):
            line = line_of(word, record.line)
            if self.bus.count(net) > 1:
                raise RulesError(
                    f"{self.rule} names net {quoted(word)} twice", "name it once", line=line
                )
            count = sum(board.pins[pin].net == net for pin in self.pins.tolist())
            if count != 1:
                raise RulesError(
                    f"net {quoted(word)} has {count or 'no'} pin{'s' * (count > 1)} on "
                    f"{record.part}, but {self.rule} needs one",
                    "take it out of the order or correct the part",
                    line=line,
                )
