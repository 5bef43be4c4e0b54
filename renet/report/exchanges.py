"""A swap as a sequence of exchanges, for editors that can only trade the nets of two pins."""

from __future__ import annotations

from collections import Counter
from typing import NamedTuple

from renet.changes import Swap

Key = tuple[str, str]


class Exchange(NamedTuple):
    """Trade the nets of two pins, each (part, pin number)."""

    one: Key
    two: Key


def exchanges(swap: Swap) -> list[Exchange] | None:
    """The fewest exchanges in which each but the last puts one pin right, for distinct nets.

    An open pin counts as carrying a net of its own kind.  None where no
    exchange can do it: the nets before are not the nets after.
    """
    nets = {(move.part, move.pin): move.was for move in swap.moves}
    goal = {(move.part, move.pin): move.is_ for move in swap.moves}
    if Counter(nets.values()) != Counter(goal.values()):
        return None
    found = []
    for pin in goal:
        if nets[pin] == goal[pin]:
            continue
        wrong = [p for p in goal if nets[p] == goal[pin] and goal[p] != nets[p]]
        other = min(wrong, key=lambda p: (goal[p] != nets[pin], p[0] != pin[0]))
        nets[pin], nets[other] = nets[other], nets[pin]
        found.append(Exchange(pin, other))
    return found
