"""All links on a board with their terms, kept up to date while links come and go."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from renet.geometry import crosses, overlaps
from renet.model import BoolArray, IntArray
from renet.orthogonal.cells import demand_of
from renet.orthogonal.field import Field
from renet.orthogonal.links import Link, link_of
from renet.orthogonal.terms import CHEAP, DEAR, NO_TERMS, Terms

Key = tuple[int, int, int]
"""A connection: its two pads, and its net."""

_LAYER, _LEAN, _NET, _WEIGHT, _MORE, _HITS, _WIDTH = 4, 5, 6, 7, 8, 9, 10
"""Rows of the ledger's columns after the four of a link's ends; ``_MORE`` are its vias if met."""

_ROOM = 64


class _Row(NamedTuple):
    """A link with where it runs: cell edges, and thousandths of a track on each."""

    link: Link
    edges: IntArray
    amount: IntArray


class _Met(NamedTuple):
    """Links against links: what each pair costs, whether it meets on a layer, or on two."""

    cost: IntArray
    hits: BoolArray
    apart: BoolArray

    def part(self, columns: slice) -> _Met:
        """Only some of the links on the other side."""
        return _Met(self.cost[:, columns], self.hits[:, columns], self.apart[:, columns])


class Trial(NamedTuple):
    """Connections that go and come, the terms then less the terms now, and who is met how often."""

    gone: tuple[int, ...]
    come: tuple[Key, ...]
    terms: Terms
    rest: IntArray
    more: IntArray
    own: IntArray


class Ledger:
    """The links that are on the board, in numbered slots."""

    def __init__(self, field: Field) -> None:
        self._field = field
        self._known: dict[tuple[int, int], _Row] = {}
        self._slot: dict[Key, int] = {}
        self._spare: list[int] = []
        self._rows: list[_Row] = []
        self._columns = np.zeros((_WIDTH, 0), dtype=np.int64)
        self._alive = np.zeros(0, dtype=bool)
        self._demand = np.zeros_like(field.cells.room)
        self.terms = NO_TERMS

    def add(self, keys: Sequence[Key]) -> None:
        """Put links on the board."""
        for key in keys:
            self.apply(self.trial((), (key,)))

    def trial(self, gone: Sequence[Key], come: Sequence[Key]) -> Trial:
        """What it would change to take links off the board and put others on it."""
        out = tuple(self._slot[key] for key in gone)
        alive = self._alive.copy()
        alive[list(out)] = False
        rest = np.flatnonzero(alive)
        new = self._new(come)
        small = np.concatenate([self._columns[:, list(out)], new], axis=1)
        both = _meet(small, np.concatenate([self._columns[:, rest], small], axis=1))
        met, inner = both.part(slice(len(rest))), both.part(slice(len(rest), None))
        sign = np.repeat([-1, 1], [len(out), len(come)])
        same = sign[:, None] == sign[None, :]
        more = sign @ met.hits
        own = met.hits.sum(axis=1) + (inner.hits & same).sum(axis=1)
        bare = self._sum(out, come)
        terms = bare._replace(
            vias=bare.vias + self._met_vias(rest, more) + int(sign @ (small[_MORE] * (own > 0))),
            crossings=int(sign @ met.cost.sum(axis=1)) + _pairs(sign, inner.cost, same),
            apart=int(sign @ met.apart.sum(axis=1)) + _pairs(sign, inner.apart, same),
        )
        return Trial(out, tuple(come), terms, rest, more, own[len(out) :])

    def apply(self, trial: Trial) -> None:
        """Make a change that was tried on the board as it stands."""
        self._columns[_HITS, trial.rest] += trial.more
        for slot in trial.gone:
            row = self._rows[slot]
            self._demand[row.edges] -= row.amount
            self._alive[slot] = False
            self._spare.append(slot)
        gone = set(trial.gone)
        for key in [key for key, slot in self._slot.items() if slot in gone]:
            del self._slot[key]
        new = self._new(trial.come)
        new[_HITS] = trial.own
        for number, key in enumerate(trial.come):
            slot = self._take(key)
            self._columns[:, slot] = new[:, number]
            row = self._rows[slot]
            self._demand[row.edges] += row.amount
        self.terms = self.terms.plus(trial.terms)

    def pairs_apart(self) -> list[tuple[int, int, int]]:
        """(net, net, crossings) of pairs with links that cross on two escape layers.

        The lower net first in each; pairs that cross most often first, then by net.
        """
        alive = np.flatnonzero(self._alive)
        columns = self._columns[:, alive]
        net = columns[_NET]
        i, j = np.nonzero(np.triu(_meet(columns, columns).apart))
        found = np.sort(np.stack([net[i], net[j]], axis=1), axis=1)
        pairs, times = np.unique(found, axis=0, return_counts=True)
        order = np.argsort(-times, kind="stable").tolist()
        return [(int(pairs[i, 0]), int(pairs[i, 1]), int(times[i])) for i in order]

    def _take(self, key: Key) -> int:
        """A free slot for a link."""
        if self._spare:
            slot = self._spare.pop()
        else:
            slot = len(self._rows)
            self._rows.append(self._row(key))
            if slot == len(self._alive):
                more = _ROOM + slot // 2
                wider = np.zeros((len(self._columns), more), dtype=np.int64)
                self._columns = np.concatenate([self._columns, wider], axis=1)
                self._alive = np.append(self._alive, np.zeros(more, dtype=bool))
        self._rows[slot] = self._row(key)
        self._slot[key] = slot
        self._alive[slot] = True
        return slot

    def _row(self, key: Key) -> _Row:
        known = self._known.get(key[:2])
        if known is None:
            field = self._field
            link = link_of(field.escapes[key[0]], field.escapes[key[1]], field.pitch)
            known = self._known[key[:2]] = _Row(link, *demand_of(field.cells, link))
        return known

    def _new(self, keys: Sequence[Key]) -> IntArray:
        """Columns of links, met by nobody yet."""
        rows = []
        for key in keys:
            link = self._row(key).link
            weight = int(self._field.weight[key[2]])
            ends = (*link.start, *link.stop)
            rows.append((*ends, link.layer, link.lean, key[2], weight, link.laid - link.free, 0))
        return np.array(rows, dtype=np.int64).reshape(-1, _WIDTH).T

    def _met_vias(self, rest: IntArray, more: IntArray) -> int:
        """Vias that links need because they are met now, or need no more."""
        hits, vias = self._columns[_HITS, rest], self._columns[_MORE, rest]
        return int((vias * ((hits + more > 0).astype(np.int64) - (hits > 0))).sum())

    def _sum(self, out: tuple[int, ...], come: Sequence[Key]) -> Terms:
        """The terms of links by themselves, with vias as if nobody met anybody, and overflow."""
        signed = [(-1, self._rows[slot]) for slot in out] + [(1, self._row(key)) for key in come]
        edges = [row.edges for _, row in signed]
        change = np.zeros_like(self._demand)
        for sign, row in signed:
            change[row.edges] += sign * row.amount
        at = np.unique(np.concatenate(edges)) if edges else np.empty(0, dtype=np.int64)
        room, now = self._field.cells.room[at], self._demand[at]
        over = np.maximum(now + change[at] - room, 0) - np.maximum(now - room, 0)
        return Terms(
            overflow=int(over.sum()),
            vias=sum(sign * row.link.free for sign, row in signed),
            bends=sum(sign * row.link.bends for sign, row in signed),
            crossings=0,
            apart=0,
            length_nm=sum(sign * row.link.length for sign, row in signed),
            price_nm=0,
            changes=sum(sign * row.link.changes for sign, row in signed),
        )


def _meet(one: IntArray, two: IntArray) -> _Met:
    """Every link of ``one`` against every link of ``two``, both given as columns."""
    shape = one.shape[1], two.shape[1]
    cost, hits, apart = (
        np.zeros(shape, dtype=np.int64),
        np.zeros(shape, bool),
        np.zeros(shape, bool),
    )
    i, j = np.nonzero(_boxes_meet(one, two) & (one[_NET][:, None] != two[_NET][None, :]))
    a, b = one[:, i], two[:, j]
    met = crosses(a[:4].T, b[:4].T) | overlaps(a[:4].T, b[:4].T)
    a, b, i, j = a[:, met], b[:, met], i[met], j[met]
    layers = (a[_LAYER] >= 0) & (b[_LAYER] >= 0) & (a[_LAYER] != b[_LAYER])
    apart[i, j], hits[i, j] = layers, ~layers
    kind = np.where(np.sign(a[_LEAN]) * np.sign(b[_LEAN]) < 0, CHEAP, DEAR)
    cost[i, j] = np.where(layers, 0, kind * np.maximum(a[_WEIGHT], b[_WEIGHT]))
    return _Met(cost, hits, apart)


def _boxes_meet(one: IntArray, two: IntArray) -> BoolArray:
    found = np.ones((one.shape[1], two.shape[1]), dtype=bool)
    for axis in (0, 1):
        low, high = np.minimum(one[axis], one[axis + 2]), np.maximum(one[axis], one[axis + 2])
        other = np.minimum(two[axis], two[axis + 2]), np.maximum(two[axis], two[axis + 2])
        found &= (low[:, None] <= other[1][None, :]) & (high[:, None] >= other[0][None, :])
    return found


def _pairs(sign: IntArray, values: IntArray | BoolArray, same: BoolArray) -> int:
    """Signed sum over pairs of links that both go or both come, each pair once."""
    return int((np.triu(values * same, 1) * sign[:, None]).sum())
