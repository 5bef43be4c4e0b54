"""Who stands where while the objective is searched: items on places, nets on pins, trees.

The freedom is the engine's own (:mod:`renet.engine.problem`): items of a group
trade places, in the ways a group allows.  A trial exchange becomes connections
that go and come, which is all that the ledger asks.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

import numpy as np

from renet.engine.conditions import Watch
from renet.engine.items import stock
from renet.engine.options import node_pads
from renet.engine.problem import Problem
from renet.model import IntArray
from renet.orthogonal.field import Field
from renet.orthogonal.ledger import Key, Ledger, Trial
from renet.orthogonal.terms import Terms
from renet.spanning import span

_REMEMBERED = 1 << 16


class Step(NamedTuple):
    """A trial exchange: nets by pin, what the links make of it, pins moved and rules broken."""

    nets: Mapping[int, int]
    links: Trial
    terms: Terms
    moved: int
    broken: int


class Seating:
    """Items on places, with the ledger of their links; starts as ``pin_net`` says."""

    def __init__(self, problem: Problem, field: Field, pin_net: IntArray) -> None:
        self.problem = problem
        self.pin_net = pin_net.copy()
        self.stock = stock(problem, problem.pin_net)
        self.ledger = Ledger(field)
        self._watch = Watch(problem)
        self._watch.settle(self.pin_net)
        self._spanned: dict[tuple[int, ...], tuple[Key, ...]] = {}
        self._pins: dict[int, tuple[int, ...]] = {}
        for pin, net in enumerate(self.pin_net.tolist()):
            if problem.counted(net):
                self._pins[net] = (*self._pins.get(net, ()), pin)
        self.trees = {net: self._tree(net, pins) for net, pins in self._pins.items()}
        self.ledger.add([key for tree in self.trees.values() for key in tree])
        self._price = np.zeros(len(pin_net), dtype=np.int64)
        for group in problem.groups:
            self._price[group.sites] = group.price_nm[:, None]
        changed = self.pin_net != problem.pin_net
        self.moved = int(changed.sum())
        self._paid = int(self._price[changed].sum())

    @property
    def terms(self) -> Terms:
        """The objective's terms of the board as it stands."""
        return self.ledger.terms._replace(price_nm=self._paid)

    @property
    def broken(self) -> int:
        """Side conditions broken beyond what the input breaks."""
        return self._watch.excess

    def trial(self, nets: Mapping[int, int]) -> Step:
        """What it would change if these pins carried these nets."""
        now, then = self._nets_of(nets)
        gone: list[Key] = []
        come: list[Key] = []
        for net in sorted(now.keys() | then.keys()):
            pins = set(self._pins[net]) - now.get(net, set()) | then.get(net, set())
            old, new = self.trees[net], self._tree(net, tuple(sorted(pins)))
            gone += [key for key in old if key not in new]
            come += [key for key in new if key not in old]
        links = self.ledger.trial(gone, come)
        moved, paid = self._moves(nets)
        pins_, after = (np.array(list(x), dtype=np.int64) for x in (nets.keys(), nets.values()))
        broken = self._watch.change(self.pin_net, pins_, after) if self._watch else 0
        return Step(nets, links, links.terms._replace(price_nm=paid), moved, broken)

    def apply(self, step: Step) -> None:
        """Make an exchange that was tried on the board as it stands."""
        now, then = self._nets_of(step.nets)
        for net in sorted(now.keys() | then.keys()):
            pins = set(self._pins[net]) - now.get(net, set()) | then.get(net, set())
            self._pins[net] = tuple(sorted(pins))
            self.trees[net] = self._tree(net, self._pins[net])
        self.ledger.apply(step.links)
        self.moved += step.moved
        self._paid += step.terms.price_nm
        for pin, net in step.nets.items():
            self.pin_net[pin] = net
        self._watch.settle(self.pin_net, list(step.nets))

    def back(self, pins: Iterable[int]) -> Step:
        """The trial that gives these pins their nets of the input."""
        return self.trial({pin: int(self.problem.pin_net[pin]) for pin in pins})

    def _nets_of(self, nets: Mapping[int, int]) -> tuple[dict[int, set[int]], dict[int, set[int]]]:
        """Which of these pins each counted net has now, and which it would have."""
        now: dict[int, set[int]] = {}
        then: dict[int, set[int]] = {}
        for pin, net in nets.items():
            for table, name in ((now, int(self.pin_net[pin])), (then, net)):
                if self.problem.counted(name):
                    table.setdefault(name, set()).add(pin)
        return now, then

    def _moves(self, nets: Mapping[int, int]) -> tuple[int, int]:
        """Change of moved pins, and of their price."""
        moved = paid = 0
        for pin, net in nets.items():
            home = int(self.problem.pin_net[pin])
            sign = (net != home) - (int(self.pin_net[pin]) != home)
            moved, paid = moved + sign, paid + sign * int(self._price[pin])
        return moved, paid

    def _tree(self, net: int, pins: tuple[int, ...]) -> tuple[Key, ...]:
        """The connections of a net that stands on these pins."""
        known = self._spanned.get((net, *pins))
        if known is None:
            problem = self.problem
            pads = span(node_pads(problem, list(pins)), problem.cols, problem.labels)
            known = tuple((a, b, net) for a, b in pads.tolist())
            if len(self._spanned) >= _REMEMBERED:
                self._spanned.clear()
            self._spanned[(net, *pins)] = known
        return known
