"""Pools that a netlist declares, beside those of the rules file, which goes first."""

from __future__ import annotations

from collections.abc import Sequence

from renet.model import Board
from renet.rules import Pool, Rules

Group = tuple[str, tuple[str, ...]]


def permuted(rules: Rules, groups: Sequence[Group], board: Board) -> Rules:
    """The rules with a pool for each group of (part, pin numbers) that the board has.

    A part that the rules file frees pins of is left to it.  Groups that share a
    pin with an earlier one are dropped: a pin is in one pool only.
    """
    there = {board.pin_key(index) for index in range(len(board.pins))}
    ruled = {pool.part for pool in rules.pools}
    ruled |= {word.partition(":")[0] for unit in rules.units for row in unit.tuples for word in row}
    made, taken = list(rules.pools), set[tuple[str, str]]()
    for part, pins in groups:
        here = tuple(pin for pin in pins if (part, pin) in there)
        keys = {(part, pin) for pin in here}
        if part not in ruled and len(here) > 1 and not keys & taken:
            made.append(Pool(part, here))
            taken |= keys
    return rules._replace(pools=tuple(made))
