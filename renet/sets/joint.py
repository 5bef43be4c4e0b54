"""Boards laid side by side into one problem, whose sites may span two boards.

Pins and nets are numbered through, board after board, and every board is
shifted clear of the one before.  Boards share no net, so no connection runs
between them and the tangle of the whole is the sum of the boards' tangles.
What ties them are the sites: a position of a mate is one site of two pins,
one on either board, and whatever stands on both moves together.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import accumulate

import numpy as np

from renet.columns import PadColumns
from renet.engine.problem import Group as Seats
from renet.engine.problem import Problem
from renet.errors import InputError
from renet.freedom import Freedom
from renet.freedom.condition import Condition, Fact, Tie, Violation
from renet.freedom.groups import PLAIN, Group, Site
from renet.freedom.select import Names
from renet.model import NONE, BoolArray, IntArray
from renet.pipeline import Scene

GAP_NM = 10_000_000
WIDEST_NM = 2_000_000_000


@dataclass(frozen=True, slots=True)
class Joint:
    """The problem of all boards, and what it takes to split its answer up again.

    ``pin_start`` and ``net_start`` have one entry per board and one at the end.
    """

    problem: Problem
    freedom: Freedom
    pin_start: tuple[int, ...]
    net_start: tuple[int, ...]

    def own(self, board: int, nets: IntArray) -> IntArray:
        """The nets of one board's pins in its own numbers."""
        part = nets[self.pin_start[board] : self.pin_start[board + 1]]
        return np.where(part == NONE, NONE, part - self.net_start[board])


def join_boards(
    scenes: Sequence[Scene],
    active: Sequence[BoolArray],
    tied: Sequence[tuple[tuple[int, int], tuple[int, int]]],
    mated: Iterable[tuple[int, int]],
    max_moves: int | None = None,
) -> Joint:
    """One problem for all ``scenes``.

    ``mated`` are all pins (board, pin) of mates; those of them that may move at
    all are in ``tied``, pairs of (board, pin) that agree now.  ``active`` as in
    the engine's problem.
    """
    pins = _starts(len(scene.board.pins) for scene in scenes)
    nets = _starts(len(scene.board.nets) for scene in scenes)
    pads = _starts(len(scene.cols) for scene in scenes)
    groups = _groups(
        scenes,
        pins,
        [(pins[a[0]] + a[1], pins[b[0]] + b[1]) for a, b in tied],
        {pins[board] + pin for board, pin in mated},
    )
    free = sorted(pin for group in groups for pin in group.pins)
    conditions = [
        Shifted(condition, pins[k], pins[k + 1], nets[k])
        for k, scene in enumerate(scenes)
        for condition in scene.freedom.conditions
    ]
    freedom = _freedom(scenes, groups, conditions, pins)
    labels = _starts(int(scene.labels.max(initial=-1)) + 1 for scene in scenes)
    problem = Problem(
        cols=_columns([scene.cols for scene in scenes], pins),
        pin_net=np.concatenate(
            [_shifted(scene.freedom.names.input_nets, nets[k]) for k, scene in enumerate(scenes)]
        ),
        pin_pads=tuple(
            tuple(pads[k] + pad for pad in pin.pads)
            for k, scene in enumerate(scenes)
            for pin in scene.board.pins
        ),
        labels=np.concatenate([_shifted(s.labels, labels[k]) for k, s in enumerate(scenes)]),
        active=np.concatenate(active),
        weight=freedom.weight,
        groups=tuple(_seats(group) for group in groups),
        max_moves=max_moves,
        conditions=tuple(one for one in conditions if np.isin(one.pins, free).any()),
    )
    return Joint(problem, freedom, pins, nets)


class Shifted(Condition):
    """A condition of one board in the numbers of all boards."""

    def __init__(self, inner: Condition, start: int, end: int, net_start: int) -> None:
        self.inner = inner
        self._start, self._end, self._nets = start, end, net_start
        self.rule, self.line = inner.rule, inner.line
        self.names = inner.names
        self.pins = inner.pins + start
        self.held = frozenset(self._out(violation) for violation in inner.held)

    def broken(self, nets: IntArray) -> frozenset[Violation]:
        """As the condition itself."""
        return frozenset(self._out(violation) for violation in self.inner.broken(self._own(nets)))

    def why(self, violation: Violation) -> str:
        """As the condition itself."""
        return self.inner.why(
            frozenset((pin - self._start, _add(net, -self._nets)) for pin, net in violation)
        )

    def ties(self, before: IntArray, after: IntArray) -> list[Tie]:
        """As the condition itself."""
        found = self.inner.ties(self._own(before), self._own(after))
        return [(a + self._start, b + self._start) for a, b in found]

    def _own(self, nets: IntArray) -> IntArray:
        return _shifted(nets[self._start : self._end], -self._nets)

    def _out(self, violation: Violation) -> Violation:
        facts: list[Fact] = [(pin + self._start, _add(net, self._nets)) for pin, net in violation]
        return frozenset(facts)


class _Names(Names):
    """Only the order of pins of all boards: board after board, each in its own order."""

    def __init__(self, all_names: Sequence[Names], starts: Sequence[int]) -> None:
        self._ranks = [
            start + names.rank(pin)
            for names, start in zip(all_names, starts, strict=False)
            for pin in range(len(names.board.pins))
        ]

    def rank(self, pin: int) -> int:
        return self._ranks[pin]

    def in_order(self, pins: Iterable[int]) -> list[int]:
        return sorted(pins, key=self._ranks.__getitem__)


def _groups(
    scenes: Sequence[Scene],
    starts: Sequence[int],
    tied: Sequence[tuple[int, int]],
    mated: set[int],
) -> tuple[Group, ...]:
    """The boards' own groups without mated pins, then those of positions that mate.

    Positions trade where both their pins are of one pool on either side.
    """
    own: list[Group] = []
    pool: dict[int, Group] = {}
    for scene, start in zip(scenes, starts, strict=False):
        for group in scene.freedom.groups:
            sites = [tuple(pin + start for pin in site) for site in group.sites]
            if len(sites[0]) == 1:
                pool.update((site[0], group) for site in sites)
            rest = tuple(site for site in sites if mated.isdisjoint(site))
            if len(rest) > 1 or (rest and group.exchange != PLAIN):
                own.append(Group(group.rule, group.line, rest, group.price_nm, group.exchange))
    spanning: dict[tuple[int, int], list[Site]] = {}
    for a, b in tied:
        if a in pool and b in pool:
            spanning.setdefault((id(pool[a]), id(pool[b])), []).append((a, b))
    for sites in spanning.values():
        if len(sites) > 1:
            one, other = (pool[pin] for pin in sites[0])
            price = (one.price_nm + other.price_nm) // 2
            own.append(Group(f"{one.rule} and {other.rule}", one.line, tuple(sites), price))
    return tuple(own)


def _freedom(
    scenes: Sequence[Scene],
    groups: tuple[Group, ...],
    conditions: Sequence[Condition],
    starts: Sequence[int],
) -> Freedom:
    movable = np.zeros(starts[-1], dtype=bool)
    movable[[pin for group in groups for pin in group.pins]] = True
    return Freedom(
        names=_Names([scene.freedom.names for scene in scenes], starts),
        groups=groups,
        movable=movable,
        kept=(),
        findings=(),
        conditions=tuple(conditions),
        weight=np.concatenate([scene.freedom.weight for scene in scenes]),
    )


def _seats(group: Group) -> Seats:
    sites = np.array(group.sites, dtype=np.int64)
    price = np.full(len(sites), group.price_nm, dtype=np.int64)
    return Seats(sites, price, group.exchange.reversible, group.exchange.inner)


def _columns(parts: Sequence[PadColumns], pins: Sequence[int]) -> PadColumns:
    """All pads, every board clear of the one before."""
    shifts, edge, ranks = [], 0, _starts(len(cols) for cols in parts)
    for cols in parts:
        left = int(cols.corners[..., 0].min(initial=0))
        shifts.append(edge - left)
        edge += int(cols.corners[..., 0].max(initial=0)) - left + GAP_NM
    if edge > WIDEST_NM:
        raise InputError("the boards of the set side by side are wider than 2 m", "divide the set")
    return PadColumns(
        x=np.concatenate([cols.x + shift for cols, shift in zip(parts, shifts, strict=True)]),
        y=np.concatenate([cols.y for cols in parts]),
        pin=np.concatenate([_shifted(cols.pin, pins[k]) for k, cols in enumerate(parts)]),
        rank=np.concatenate([cols.rank + ranks[k] for k, cols in enumerate(parts)]),
        node=np.concatenate([cols.node for cols in parts]),
        through=np.concatenate([cols.through for cols in parts]),
        sides=np.concatenate([cols.sides for cols in parts]),
        corners=np.concatenate(
            [cols.corners + np.array([s, 0]) for cols, s in zip(parts, shifts, strict=True)]
        ),
    )


def _starts(counts: Iterable[int]) -> tuple[int, ...]:
    return tuple(accumulate(counts, initial=0))


def _shifted(ids: IntArray, by: int) -> IntArray:
    return np.where(ids == NONE, NONE, ids + by)


def _add(net: int, by: int) -> int:
    return NONE if net == NONE else net + by
