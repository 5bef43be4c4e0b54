"""What holds every crossing that a result still has.

Single exchanges (:mod:`renet.engine.partings`) are tried on the result, also
those that a rule forbids; the first of these that is true is the reason:

* ``OPEN``: a permitted exchange parts the two nets and saves crossings in all;
  a longer search would have found it.
* ``LIMIT``: the same, but more pins would be moved than the run may move.
* ``RULE``: no permitted exchange that parts the two saves crossings, but one
  would that is permitted as soon as a single record of the rules is left out.
* ``ELSEWHERE``: permitted exchanges part the two, and none of them saves
  crossings in all; the named one costs least.
* ``KEPT``: no permitted exchange parts the two; no pin of either may move.
* ``STUCK``: no permitted exchange parts the two, though some of their pins are free.

Crossings are weighed by ``[[weight]]``.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from renet.columns import PadColumns
from renet.engine.partings import Exchange, Partings
from renet.errors import RulesError
from renet.freedom import Freedom, build_problem, complaints, resolve
from renet.freedom.lifts import bare, lifts
from renet.freedom.nets import THOUSANDTHS
from renet.model import Board, BoolArray, IntArray
from renet.recopper import held_pins
from renet.rules import Rules
from renet.tangle import Tangle

if TYPE_CHECKING:  # the pipeline asks here
    from renet.pipeline import Options, Scene


class Kind(Enum):
    """What holds a crossing."""

    OPEN = "open"
    LIMIT = "limit"
    RULE = "rule"
    ELSEWHERE = "elsewhere"
    KEPT = "kept"
    STUCK = "stuck"


class Reason(NamedTuple):
    """What holds two nets across each other.

    ``pins`` (in order of part reference and pin) are those that the exchange
    would move, ``crossings`` by how many (weighted) it would change those of the
    whole result; empty and 0.0 where there is none.  ``rule`` is the record, for
    ``RULE`` only.
    """

    kind: Kind
    pins: tuple[int, ...] = ()
    crossings: float = 0.0
    rule: str = ""


class Remaining(NamedTuple):
    """A crossing of the result, as two connections of its tangle, and its reason."""

    first: int
    second: int
    reason: Reason


@dataclass(frozen=True, slots=True, eq=False)
class Question:
    """A board, its rules and its freedom.

    ``held``: pins that stay for reasons outside the rules, also of those that
    only rules keep; ``active`` per net: False is no part of the tangle.
    """

    board: Board
    cols: PadColumns
    labels: IntArray
    active: BoolArray
    rules: Rules
    held: Mapping[int, str]
    freedom: Freedom
    max_moves: int | None = None


def asked_of(scene: Scene, options: Options) -> Question:
    """The question for a run; copper may hold pins that only a rule keeps as well."""
    held = {pin: entry.fault for pin, entry in enumerate(scene.board.pins) if entry.fault}
    held.update(scene.met.held)
    loose = resolve(scene.board, bare(scene.rules), held, scene.left_out)
    by_copper = held_pins(scene.board, scene.cols, options.mode, loose.movable)
    return Question(
        board=scene.board,
        cols=scene.cols,
        labels=scene.labels,
        active=scene.active,
        rules=scene.rules,
        held={**by_copper, **held},
        freedom=scene.freedom,
        max_moves=options.max_moves,
    )


def remaining(asked: Question, after: IntArray, tangle: Tangle) -> list[Remaining]:
    """Every crossing of ``tangle``, the tangle of the nets ``after``, once and in its order."""
    if not len(tangle.crossings):
        return []
    net = tangle.connections.net
    pairs = list(map(tuple, net[tangle.crossings].tolist()))
    holders = _Holders(asked, after, pairs)
    found = {pair: holders.of(*pair) for pair in dict.fromkeys(pairs)}
    return [
        Remaining(first, second, found[pair])
        for (first, second), pair in zip(tangle.crossings.tolist(), pairs, strict=True)
    ]


class _Holders:
    """Looks for what holds two nets, with everything worked out once."""

    def __init__(self, asked: Question, after: IntArray, pairs: Sequence[tuple[int, int]]) -> None:
        self._asked, self._after = asked, after
        self._input = asked.freedom.names.input_nets
        self._left_out = frozenset(np.flatnonzero(~asked.active).tolist())
        self._lifts = lifts(asked.rules)
        self._lifted: dict[int, Freedom | None] = {}
        loose = self._resolved(bare(asked.rules))
        problem = build_problem(
            asked.board, asked.cols, loose or asked.freedom, asked.labels, asked.active
        )
        problem = replace(problem, pin_net=after, conditions=())
        self._partings = Partings(problem, pairs) if problem.groups else None
        free = asked.freedom.movable
        self._free_nets = frozenset({*after[free].tolist(), *self._input[free].tolist()})
        self._permitted: dict[int, bool] = {}
        self._rule: dict[int, str] = {}

    def of(self, one: int, two: int) -> Reason:
        """The reason for two nets that cross."""
        paying: list[Exchange] = []
        for exchange in self._partings.of(one, two) if self._partings else ():
            if exchange.saves > 0:
                paying.append(exchange)
                continue
            if found := self._among(paying):
                return found
            paying = []
            if self._permits(exchange):
                return self._told(Kind.ELSEWHERE, exchange)
        if found := self._among(paying):
            return found
        return Reason(Kind.STUCK if {one, two} & self._free_nets else Kind.KEPT)

    def _among(self, paying: list[Exchange]) -> Reason | None:
        """The first reason among exchanges that save crossings."""
        permitted = [exchange for exchange in paying if self._permits(exchange)]
        for exchange in permitted:
            if not self._beyond(exchange):
                return self._told(Kind.OPEN, exchange)
        if permitted:
            return self._told(Kind.LIMIT, permitted[0])
        for exchange in paying:
            if rule := self._ruled(exchange):
                return self._told(Kind.RULE, exchange, rule)
        return None

    def _told(self, kind: Kind, exchange: Exchange, rule: str = "") -> Reason:
        pins = self._asked.freedom.names.in_order(exchange.pins.tolist())
        return Reason(kind, tuple(pins), -exchange.saves / THOUSANDTHS, rule)

    def _permits(self, exchange: Exchange) -> bool:
        number = exchange.number
        if number not in self._permitted:
            self._permitted[number] = self._legal(self._asked.freedom, exchange)
        return self._permitted[number]

    def _ruled(self, exchange: Exchange) -> str:
        """The first record without which the exchange is permitted; empty if there is none."""
        number = exchange.number
        if number not in self._rule:
            names = (lift.rule for k, lift in enumerate(self._lifts) if self._frees(k, exchange))
            self._rule[number] = next(names, "")
        return self._rule[number]

    def _frees(self, lift: int, exchange: Exchange) -> bool:
        if lift not in self._lifted:
            self._lifted[lift] = self._resolved(self._lifts[lift].rules)
        freedom = self._lifted[lift]
        return freedom is not None and self._legal(freedom, exchange)

    def _legal(self, freedom: Freedom, exchange: Exchange) -> bool:
        if not freedom.movable[exchange.pins].all():
            return False
        return not complaints(freedom, self._with(exchange))

    def _beyond(self, exchange: Exchange) -> bool:
        most = self._asked.max_moves
        return most is not None and int((self._with(exchange) != self._input).sum()) > most

    def _with(self, exchange: Exchange) -> IntArray:
        nets = self._after.copy()
        nets[exchange.pins] = exchange.nets
        return nets

    def _resolved(self, rules: Rules) -> Freedom | None:
        """The freedom of other rules; None where they contradict themselves."""
        asked = self._asked
        try:
            return resolve(asked.board, rules, asked.held, self._left_out)
        except RulesError:
            return None
