"""Side conditions during a search: how far the board is beyond what the input breaks."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from renet.engine.problem import Problem
from renet.model import IntArray


class Watch:
    """All conditions of a problem with what each of them tolerates.

    ``excess`` is how many violations the board has beyond the input's; a board
    with any is never a result.
    """

    def __init__(self, problem: Problem) -> None:
        self._conditions = problem.conditions
        self._tolerated = [c.violations(problem.pin_net) for c in self._conditions]
        self._of_pin: dict[int, list[int]] = {}
        for number, condition in enumerate(self._conditions):
            for pin in condition.pins.tolist():
                self._of_pin.setdefault(pin, []).append(number)
        self._excess = [0] * len(self._conditions)

    def __bool__(self) -> bool:
        return bool(self._conditions)

    @property
    def excess(self) -> int:
        """Violations of the board as last settled."""
        return sum(self._excess)

    def settle(self, pin_net: IntArray, pins: Iterable[int] | None = None) -> None:
        """Take these nets as the board; only conditions on ``pins`` can have changed."""
        for number in range(len(self._conditions)) if pins is None else self._on(pins):
            self._excess[number] = self._beyond(number, pin_net)

    def change(self, pin_net: IntArray, pins: IntArray, nets: IntArray) -> int:
        """By how much the excess would change if ``pins`` carried ``nets``."""
        numbers = self._on(pins.tolist())
        if not numbers:
            return 0
        trial = pin_net.copy()
        trial[pins] = nets
        return sum(self._beyond(number, trial) - self._excess[number] for number in numbers)

    def broken_pins(self) -> IntArray:
        """The pins of all conditions that are broken beyond measure now."""
        pins = [
            condition.pins
            for condition, excess in zip(self._conditions, self._excess, strict=True)
            if excess
        ]
        return np.unique(np.concatenate([np.empty(0, dtype=np.int64), *pins]))

    def _on(self, pins: Iterable[int]) -> list[int]:
        return sorted({number for pin in pins for number in self._of_pin.get(pin, ())})

    def _beyond(self, number: int, pin_net: IntArray) -> int:
        found = self._conditions[number].violations(pin_net)
        return max(found - self._tolerated[number], 0)
