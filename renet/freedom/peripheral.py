"""[[peripheral]]: nets that all go to one instance, or stay.

Scope: the pins of one part that carry the nets, or may.  Legal: some instance
has every signal on its net.  Why: where the nets stand.  That no two
peripherals take the same function is the business of ``choice``.
"""

from __future__ import annotations

from collections.abc import Iterable

from renet.errors import RulesError
from renet.freedom.condition import Condition, Tie, Violation, chained, moved_facts
from renet.freedom.offers import Functions
from renet.freedom.select import Names
from renet.model import IntArray
from renet.rules import Peripheral


class OneInstance(Condition):
    """One [[peripheral]] record on one part."""

    def __init__(
        self, names: Names, record: Peripheral, functions: Functions, pins: Iterable[int]
    ) -> None:
        super().__init__(names, f"[[peripheral]] line {record.line}", record.line, pins)
        self._record = record
        self._bus = [names.net(word, record.line) for word in record.nets]
        self.nets = frozenset(self._bus)
        self.wants = wanted_functions(record)
        self._offered = {pin: functions.of_pin(pin) & self.wants for pin in self.pins.tolist()}

    def options(self, nets: IntArray) -> list[frozenset[str]]:
        """The functions it would take, for each instance that has every signal on its net."""
        offered: dict[int, set[str]] = {net: set() for net in self._bus}
        for pin, net in self.facts(nets, self.nets):
            offered[net] |= self._offered[pin]
        found = []
        for instance in self._record.instances:
            taken = [f"{instance}_{signal}" for signal in self._record.signals]
            if all(name in offered[net] for name, net in zip(taken, self._bus, strict=True)):
                found.append(frozenset(taken))
        return found

    def broken(self, nets: IntArray) -> frozenset[Violation]:
        """All facts at once where no instance fits."""
        if self.options(nets):
            return frozenset()
        return frozenset({frozenset(self.facts(nets, self.nets))}) - {frozenset()}

    def why(self, violation: Violation) -> str:
        """Where the nets stand."""
        instances = ", ".join(self._record.instances)
        signals = ", ".join(self._record.signals)
        return f"none of {instances} has {signals} on these pins: {self.told(violation)}"

    def ties(self, before: IntArray, after: IntArray) -> list[Tie]:
        """The peripheral moves as a whole."""
        return chained(moved_facts(self, before, after, self.nets))


def wanted_functions(record: Peripheral) -> frozenset[str]:
    """Every function that the peripheral could take."""
    return frozenset(
        f"{instance}_{signal}" for instance in record.instances for signal in record.signals
    )


def check_peripheral(record: Peripheral) -> None:
    """RulesError for a record that contradicts itself."""
    rule = f"[[peripheral]] line {record.line}"
    if len(record.nets) != len(record.signals):
        raise RulesError(
            f"{rule} has {len(record.nets)} nets but {len(record.signals)} signals",
            "give one signal for each net, in the same order",
            line=record.line,
        )
    for what, words in (("net", record.nets), ("signal", record.signals)):
        if len(set(words)) != len(words):
            raise RulesError(f"{rule} names a {what} twice", "name it once", line=record.line)
