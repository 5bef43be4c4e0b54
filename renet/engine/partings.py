"""Single exchanges on a finished board, and what each would do to two nets and to all.

An **exchange** is one of :mod:`renet.engine.moves`: the nets of two sites of a
group trade places, each in any of its ways, or the nets of one site are laid
another way.  It **parts** two nets when they then cross less often than now.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from renet.engine.counts import CROSSING
from renet.engine.ground import lay_out
from renet.engine.moves import Moves
from renet.engine.options import node_pads
from renet.engine.problem import Problem
from renet.engine.state import State
from renet.engine.table import BANNED
from renet.geometry import crosses
from renet.model import IntArray
from renet.spanning import span


class Exchange(NamedTuple):
    """Moved pins with their new nets; ``saves`` weighted crossings of the board, in thousandths.

    ``number`` tells exchanges of one board apart.
    """

    number: int
    pins: IntArray
    nets: IntArray
    saves: int


class Partings:
    """All exchanges on the board ``problem.pin_net``, those that save most first.

    What stands in ``problem`` about prices and limits does not matter.
    """

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._state = State(*lay_out(problem))
        self._moves = Moves(self._state)
        self._unit = max(int(np.gcd.reduce(problem.weight)), 1)
        self._change = self._crossings()
        self._order = np.argsort(self._change, kind="stable")
        self._pins_of: dict[int, list[int]] = {}
        for pin, net in enumerate(problem.pin_net.tolist()):
            self._pins_of.setdefault(net, []).append(pin)
        self._ranks: dict[int, IntArray] = {}
        self._ends: dict[tuple[int, ...], IntArray] = {}
        self._stacks: dict[int, IntArray] = {}

    def of(self, one: int, two: int) -> Iterator[Exchange]:
        """The exchanges that part two nets, those that save most first."""
        now = self._crossed(self._pins(one, {}), self._pins(two, {}))
        mine, others = self._ranked(one), self._ranked(two)
        apart = mine[self._seen(one, two) < now], others[self._seen(two, one) < now]
        both = np.intersect1d(mine, others)
        known = set(np.setdiff1d(np.union1d(*apart), both).tolist())
        for rank in sorted({*known, *both.tolist()}):
            move = int(self._order[rank])
            changed = self._changed(move)
            if rank not in known:
                seats = self._pins(one, changed), self._pins(two, changed)
                if self._crossed(*seats) >= now:
                    continue
            pins, nets = (
                np.array(list(part), dtype=np.int64) for part in zip(*changed.items(), strict=True)
            )
            yield Exchange(move, pins, nets, -int(self._change[move]) * self._unit)

    def _changed(self, move: int) -> dict[int, int]:
        """The pins that get other nets by an exchange, with these nets."""
        pins, nets = self._state.nets_after(self._moves.places(self._state, move))
        moved = nets != self._problem.pin_net[pins]
        return dict(zip(pins[moved].tolist(), nets[moved].tolist(), strict=True))

    def _seen(self, one: int, two: int) -> IntArray:
        """How often two nets cross by every exchange of the first that leaves the second alone."""
        still = self._tree(self._pins(two, {}))
        return np.asarray(crosses(self._stack(one)[:, :, None], still).sum(axis=(1, 2)))

    def _stack(self, net: int) -> IntArray:
        """(exchanges, connections, 4): a net by each of its exchanges; points fill it up."""
        if net not in self._stacks:
            moves = self._order[self._ranked(net)].tolist()
            trees = [self._tree(self._pins(net, self._changed(move))) for move in moves]
            widest = max(map(len, trees), default=0)
            self._stacks[net] = np.zeros((len(trees), widest, 4), dtype=np.int64)
            for row, tree in zip(self._stacks[net], trees, strict=True):
                row[: len(tree)] = tree
        return self._stacks[net]

    def _crossings(self) -> IntArray:
        """By how many weighted crossings (lowest terms) every exchange changes the board."""
        state, moves = self._state, self._moves
        found = np.asarray(moves.changes(state, state.value()))
        for move in np.flatnonzero(moves.tied & (found < BANNED // 2)).tolist():
            found[move] = state.trial(moves.places(state, move)).cost.meetings
        return (found + CROSSING // 2) // CROSSING

    def _ranked(self, net: int) -> IntArray:
        """Where in the order the exchanges of a net's items stand."""
        if net not in self._ranks:
            items = self._state.holders.get(net, [])
            found = np.isin(self._moves.i, items) | np.isin(self._moves.j, items)
            self._ranks[net] = np.flatnonzero(found[self._order])
        return self._ranks[net]

    def _crossed(self, a: tuple[int, ...], b: tuple[int, ...]) -> int:
        """How often two nets cross when they stand on these pins."""
        return int(crosses(self._tree(a)[:, None], self._tree(b)[None, :]).sum())

    def _pins(self, net: int, changed: dict[int, int]) -> tuple[int, ...]:
        if not self._problem.counted(net):
            return ()
        stay = [pin for pin in self._pins_of[net] if pin not in changed]
        return tuple(sorted(stay + [pin for pin, name in changed.items() if name == net]))

    def _tree(self, pins: tuple[int, ...]) -> IntArray:
        """The connections (k, 4) of a net on these pins."""
        if pins not in self._ends:
            problem, cols = self._problem, self._problem.cols
            edge = span(node_pads(problem, list(pins)), cols, problem.labels)
            a, b = edge[:, 0], edge[:, 1]
            self._ends[pins] = np.stack([cols.x[a], cols.y[a], cols.x[b], cols.y[b]], axis=1)
        return self._ends[pins]
