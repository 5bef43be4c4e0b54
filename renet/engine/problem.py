"""What the engine is asked and what it answers: numbers only.

Specification
-------------
* A **site** of a group is a tuple of pins, an **item** the tuple of nets that
  stands on a site.  Item ``i`` is what stands at site ``i`` in the input.  The
  engine permutes the items of each group among its sites, no more: so the nets
  on the pins of a group are the same after as before, each as often.
* A pool is a group of width 1; a pin with net ``NONE`` is a spare place.
* ``reversible`` lets an item be laid on its site end for end; ``inner`` names
  sets of positions (from 0) whose nets may trade places inside an item.
* A pin stands in one group at most.  A pin in no group never moves.
* The **order of aims** is: weighted crossings, weighted overlaps, weighted
  over-pads, then length plus the price of moved pins.  A pin has moved when its
  net is another than in the input.  Definitions as in :mod:`renet.tangle`.
* Not held: names, files, rules.  What a rule forbids arrives as a group that is
  not there, as ``allowed``, or as a :class:`Condition`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple, Protocol

import numpy as np

from renet.columns import PadColumns
from renet.errors import InputError
from renet.model import NONE, BoolArray, IntArray

Split = Callable[[IntArray, IntArray], Sequence[Sequence[int]]]


class Condition(Protocol):
    """A rule about several pins at once.

    ``violations`` is how often the rule is broken, a pure function of the nets
    on ``pins``; a result never has more of them than the input.
    """

    @property
    def pins(self) -> IntArray:
        """The pins whose nets matter."""
        ...

    def violations(self, pin_net: IntArray) -> int:
        """How often the rule is broken by these nets (one entry per pin of the board)."""
        ...


@dataclass(frozen=True, slots=True)
class Group:
    """Sites whose items may trade places.

    ``sites`` is (S, w) pin ids, ``price_nm`` (S,) what a moved pin of that site
    costs.  ``allowed`` (S items, S sites) says where an item may go; staying
    where it stands is always allowed.
    """

    sites: IntArray
    price_nm: IntArray
    reversible: bool = False
    inner: tuple[tuple[int, ...], ...] = ()
    allowed: BoolArray | None = None

    def __post_init__(self) -> None:
        count, width = self.sites.shape
        _need(self.price_nm.shape == (count,), "a group has one price per site")
        if self.allowed is not None:
            _need(self.allowed.shape == (count, count), "allowed is (items, sites)")
        named = [position for trade in self.inner for position in trade]
        _need(len(set(named)) == len(named), "a position trades in one inner set only")
        _need(all(0 <= p < width for p in named), "an inner position lies inside its tuple")

    def __len__(self) -> int:
        return len(self.sites)

    @property
    def width(self) -> int:
        """Pins per site."""
        return int(self.sites.shape[1])


@dataclass(frozen=True, slots=True)
class Problem:
    """A board's numbers and what may trade places on it.

    ``pin_net`` is the input; ``pin_pads`` the pads of each pin; ``labels`` per
    pad: pads of one net with equal labels are one node, and labels stay with the
    place.  ``active`` per net: False is left out of the tangle.  ``weight`` per
    net in thousandths: a pair counts the greater weight of its two nets, an
    over-pad the weight of its connection.  ``max_moves`` limits moved pins.
    """

    cols: PadColumns
    pin_net: IntArray
    pin_pads: tuple[tuple[int, ...], ...]
    labels: IntArray
    active: BoolArray
    weight: IntArray
    groups: tuple[Group, ...]
    max_moves: int | None = None
    conditions: tuple[Condition, ...] = ()

    def __post_init__(self) -> None:
        _need(len(self.pin_pads) == len(self.pin_net), "every pin has a net and a tuple of pads")
        _need(len(self.labels) == len(self.cols), "every pad has a label")
        _need(len(self.active) == len(self.weight), "every net has a weight")
        _need(bool((self.weight > 0).all()), "weights are positive")
        _need(self.max_moves is None or self.max_moves >= 0, "max_moves is not negative")
        pins = self.free_pins
        _need(len(np.unique(pins)) == len(pins), "a pin stands in one group at most")

    @property
    def free_pins(self) -> IntArray:
        """All pins of all groups, in group order."""
        sites = [group.sites.reshape(-1) for group in self.groups]
        return np.concatenate([np.empty(0, dtype=np.int64), *sites])

    def counted(self, net: int) -> bool:
        """Whether connections of this net are part of the tangle."""
        return net != NONE and bool(self.active[net])


@dataclass(frozen=True, slots=True)
class Params:
    """How long and how to search.

    ``iterations`` None: chosen by the size of the problem.  ``seconds`` stops a
    search early and gives up repeatability.  ``split`` finds the smallest sets
    of moved pins that can be undone by themselves (before, after -> sets of
    pins); None: :func:`renet.engine.undo.paths`.  ``progress`` hears the share of
    the work that is done, from 0 to 1.
    """

    seed: int = 0
    iterations: int | None = None
    seconds: float | None = None
    split: Split | None = None
    progress: Callable[[float], None] | None = field(default=None, compare=False)

    def __post_init__(self) -> None:
        _need(self.seed >= 0, "the seed is not negative")
        _need(self.iterations is None or self.iterations >= 0, "iterations are not negative")
        _need(self.seconds is None or self.seconds > 0, "seconds are positive")


class Score(NamedTuple):
    """A board in the engine's terms; ``weighted`` repeats the counts in thousandths."""

    crossings: int
    overlaps: int
    over_pads: int
    weighted: tuple[int, int, int]
    length_nm: float
    moved_pins: int
    price_nm: int


class Bound(NamedTuple):
    """No board within the same freedom has fewer crossings.

    ``crossings`` counts plainly, ``weighted`` in thousandths; ``why`` names the
    argument that settled it.
    """

    crossings: int
    weighted: int
    why: str


@dataclass(frozen=True, slots=True)
class Result:
    """The best nets found, never worse than the input in the order of aims.

    ``proved_optimal`` says that no board has fewer weighted crossings; it says
    nothing about the later aims.
    """

    pin_net: IntArray
    before: Score
    after: Score
    bound: Bound
    proved_optimal: bool
    iterations: int
    evaluations: int

    @property
    def moved(self) -> bool:
        """Whether anything changed."""
        return self.after.moved_pins > 0


def _need(holds: bool, rule: str) -> None:
    if not holds:
        raise InputError(f"the engine was given a broken problem: {rule}")
