"""[[pair]]: P and N of a differential pair side by side, or on a true pair site.

Scope: a part on which both have one pin.  Legal: see ``renet.rules.Pair``.
Why: where the two stand.
"""

from __future__ import annotations

from collections.abc import Iterable

from renet.errors import RulesError
from renet.freedom.condition import Condition, Tie, Violation, chained, moved_facts
from renet.freedom.select import Names
from renet.freedom.spots import Spots
from renet.model import IntArray
from renet.nearest import quoted
from renet.rules import Pair, line_of


class PairTogether(Condition):
    """One [[pair]] record on one part."""

    def __init__(self, names: Names, record: Pair, spots: Spots, pins: Iterable[int]) -> None:
        rule = f"[[pair]] line {record.line}"
        self.positive, self.negative = (names.net(word, record.line) for word in record.nets)
        super().__init__(names, rule, record.line, pins)
        self.sites = _sites(names, record)
        self.spots = spots
        self._record = record
        self._wanted = frozenset({self.positive, self.negative})
        self._input_order = 0
        self._input_order = self._order(names.input_nets)

    def seats(self, nets: IntArray) -> tuple[int, int] | None:
        """The pins of P and N, where each has one here."""
        facts = self.facts(nets, self._wanted)
        by_net = {net: pin for pin, net in facts}
        if len(facts) != 2 or len(by_net) != 2:
            return None
        return by_net[self.positive], by_net[self.negative]

    def broken(self, nets: IntArray) -> frozenset[Violation]:
        """Both facts, where the two do not stand as a pair."""
        seats = self.seats(nets)
        if seats is None or self.fits(*seats):
            return frozenset()
        return frozenset({frozenset(self.facts(nets, self._wanted))})

    def fits(self, positive: int, negative: int) -> bool:
        """Whether these two pins are a place for P and N."""
        if self.sites:
            return (positive, negative) in self.sites or (
                self._record.invertible and (negative, positive) in self.sites
            )
        if negative not in self.spots.neighbours[positive]:
            return False
        order = self.names.rank(negative) - self.names.rank(positive)
        return self._record.invertible or self._input_order * order >= 0

    def places(self) -> list[tuple[int, int]]:
        """All places for P and N on the part, whoever may stand there."""
        if self.sites:
            turned = [(n, p) for p, n in self.sites] if self._record.invertible else []
            return self.sites + turned
        return [
            (a, b) for a, near in self.spots.neighbours.items() for b in near if self.fits(a, b)
        ]

    def why(self, violation: Violation) -> str:
        """Where the two stand."""
        place = "on one of its pair sites" if self.sites else "side by side"
        turned = "" if self._record.invertible else " with this polarity"
        return f"not {place}{turned}: {self.told(violation)}"

    def ties(self, before: IntArray, after: IntArray) -> list[Tie]:
        """P and N move together."""
        return chained(moved_facts(self, before, after, self._wanted))

    def _order(self, nets: IntArray) -> int:
        """-1 or 1: P after or before N in pin order; 0 where not both stand here."""
        seats = self.seats(nets)
        return 0 if seats is None else (1 if _ranked(self.names, seats) else -1)


def check_pair(record: Pair) -> None:
    """RulesError for a record that contradicts itself."""
    rule = f"[[pair]] line {record.line}"
    if record.nets[0] == record.nets[1]:
        raise RulesError(
            f"{rule} names net {quoted(record.nets[0])} twice",
            "name P and N of the pair",
            line=line_of(record.nets[-1], record.line),
        )
    if record.sites and not record.part:
        do = 'add a line such as part = "U3"'
        raise RulesError(f"{rule} has sites but no part", do, line=record.line)


def _ranked(names: Names, seats: tuple[int, int]) -> bool:
    return names.rank(seats[0]) < names.rank(seats[1])


def _sites(names: Names, record: Pair) -> list[tuple[int, int]]:
    sites = []
    for words in record.sites:
        pins = [pin for word in words for pin in names.pins(record.part, (word,), record.line)]
        if len(set(pins)) != 2 or len(words) != 2:
            raise RulesError(
                f"the pair site {', '.join(words)} of {record.part} is not two pins",
                "name two pins by number, P first",
                line=line_of(words[0], record.line),
            )
        sites.append((pins[0], pins[1]))
    return sites
