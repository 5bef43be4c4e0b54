"""What all side conditions have in common.

A **violation** is a set of facts, a fact being (pin, net): "these nets stand on
these pins, and they must not".  What the input violates may stay; nothing else
may come (``renet.rules``, "Violations").  A kind of rule says in :meth:`broken`
what it calls a violation, in :meth:`why` what to tell a person, and in
:meth:`ties` which moves may only be made together.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from renet.freedom.select import Names
from renet.model import IntArray

Fact = tuple[int, int]
Violation = frozenset[Fact]
Tie = tuple[int, int]


class Finding(NamedTuple):
    """Something the engineer should know before any search; ``line`` of the rules file."""

    line: int
    text: str


class Condition(ABC):
    """One record of the rules on one part.

    ``pins`` are the pins whose nets matter, ``rule`` is how to speak of it
    (``[[pair]] line 12``).  It fits the engine's protocol of the same name.
    """

    def __init__(self, names: Names, rule: str, line: int, pins: Iterable[int]) -> None:
        self.names = names
        self.rule = rule
        self.line = line
        self.pins: IntArray = np.array(names.in_order(pins), dtype=np.int64)
        self.held: frozenset[Violation] = frozenset()

    @abstractmethod
    def broken(self, nets: IntArray) -> frozenset[Violation]:
        """All violations of a board with these nets, one entry per pin of the board."""

    @abstractmethod
    def why(self, violation: Violation) -> str:
        """What is wrong, for a person."""

    @abstractmethod
    def ties(self, before: IntArray, after: IntArray) -> list[Tie]:
        """Pairs of moved pins whose moves may only be made together."""

    def settle(self, nets: IntArray) -> None:
        """Take ``nets`` as the input: its violations may stay."""
        self.held = self.broken(nets)

    def new(self, nets: IntArray) -> frozenset[Violation]:
        """Violations that the input does not have."""
        return self.broken(nets) - self.held

    def violations(self, pin_net: IntArray) -> int:
        """How many violations the input does not have, for the engine."""
        return len(self.new(pin_net))

    def facts(self, nets: IntArray, wanted: frozenset[int]) -> list[Fact]:
        """(pin, net) for every pin looked at that carries one of ``wanted``, in pin order."""
        here = nets[self.pins].tolist()
        return [
            (pin, net) for pin, net in zip(self.pins.tolist(), here, strict=True) if net in wanted
        ]

    def told(self, violation: Violation) -> str:
        """The facts of a violation as ``NET on PART:PIN, ...`` in pin order."""
        by_pin = dict(violation)
        return ", ".join(
            f"{self.names.net_label(by_pin[pin])} on {self.names.label(pin)}"
            for pin in self.names.in_order(by_pin)
        )

    def broken_by_input(self) -> list[Violation]:
        """The violations of the input, in pin order."""
        return sorted(self.held, key=lambda v: sorted((self.names.rank(p), n) for p, n in v))


def chained(pins: Iterable[int]) -> list[Tie]:
    """Ties that join all of ``pins``."""
    return list(pairwise(dict.fromkeys(pins)))


def moved_facts(
    condition: Condition, before: IntArray, after: IntArray, wanted: frozenset[int]
) -> list[int]:
    """Moved pins among those looked at that carry one of ``wanted`` before or after."""
    return [
        pin
        for pin in condition.pins.tolist()
        if before[pin] != after[pin] and (before[pin] in wanted or after[pin] in wanted)
    ]
