"""The main job by the channel objective: candidates by search, the choice by the full plan."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial
from typing import NamedTuple

import numpy as np

from renet.changes import ChangeList, Swap
from renet.channels.job import Outlook, outlook, rank, ranked
from renet.channels.plan import Site
from renet.channels.sizes import sizes_of
from renet.channels.stackup import directions_of
from renet.engine import Problem, Result, reorder
from renet.engine.score import score
from renet.freedom import independent
from renet.model import IntArray
from renet.orthogonal.field import Field, field_of
from renet.orthogonal.search import SWEEPS, Params, lower
from renet.orthogonal.seating import Seating
from renet.orthogonal.terms import BY_FIT, BY_RANK, STARTING, Terms, Weights, total
from renet.pipeline import (
    Inputs,
    Job,
    Observer,
    Options,
    Scene,
    finish,
    move_of,
    problem_of,
    silent,
    sources_of,
    survey,
    swaps_of,
)

AIMS = (STARTING, BY_RANK, BY_FIT)
"""What is searched for, each from the input and from the best straight lines."""

QUICK = 2000
"""Connections times rounds of the input's plan up to which every candidate is planned in full;
above, of each aim only the candidate that is better by it."""


class Planned(NamedTuple):
    """A full plan in the figures by which candidates are ranked."""

    connections: int
    blocked: int
    vias: int
    facing_crossovers: int
    length_mm: float


@dataclass(frozen=True, slots=True)
class Comparison:
    """The input and the result by the objective and by the full plan.

    ``apart`` are pairs of nets of the result whose links cross on two escape layers,
    with how often, most often first: free of charge, but they couple.  ``candidates``
    were planned.
    """

    weights: Weights
    terms: tuple[Terms, Terms]
    planned: tuple[Planned, Planned]
    apart: tuple[tuple[str, str, int], ...]
    candidates: int

    @property
    def standing(self) -> tuple[tuple[int, int, int], int]:
        """The result as plans are ranked, length and price of moved pins as one last; in nm."""
        plan = self.planned[1]
        first = plan.blocked, plan.vias, plan.facing_crossovers
        return first, round(plan.length_mm * 1e6) + self.terms[1].price_nm


class _Candidate(NamedTuple):
    """Nets for all pins with what the objective says of them."""

    pin_net: IntArray
    terms: Terms
    total: int


def untangle_channels(
    inputs: Inputs, options: Options, observer: Observer = silent
) -> tuple[Job, Comparison]:
    """The job as :func:`renet.pipeline.untangle` does it, but by the channel objective.

    Never worse than the input by the objective, nor by the rank of its full plan.
    """
    scene = survey(inputs, options, observer)
    problem = problem_of(scene, options)
    observer("searching")
    params = replace(options.params, split=partial(independent, scene.freedom))
    straight = reorder(problem, params)
    field = field_of_scene(scene)
    first = _weighed(problem, field, problem.pin_net)
    found = _candidates(problem, field, straight.pin_net, replace(options, params=params))
    observer("planning")
    before = outlook(inputs, options)
    quick = len(before.plan.routes) * before.plan.rounds <= QUICK
    kept = _kept(first, found if quick else _best_by_aim(found))
    lists = [moves_to(inputs, scene, one.pin_net, options) for one in kept]
    plans = dict(ranked(inputs, options, lists))
    choices = [(first, before), *((one, plans[place]) for place, one in enumerate(kept))]
    chosen, after = min(choices, key=lambda choice: _rank(choice[1], choice[0].terms.price_nm))
    result = _result(problem, straight, chosen.pin_net)
    observer("weighing swaps")
    changes = ChangeList(sources_of(inputs), swaps_of(scene, result.pin_net), options.mode.value)
    job = finish(scene, result, changes, observer)
    pairs = Seating(problem, field, chosen.pin_net).ledger.pairs_apart()
    names = tuple((scene.board.nets[a], scene.board.nets[b], times) for a, b, times in pairs)
    return job, Comparison(
        STARTING,
        (first.terms, chosen.terms),
        (planned_of(before), planned_of(after)),
        names,
        len(kept),
    )


def field_of_scene(scene: Scene) -> Field:
    """The field of a board that was read."""
    site = Site(scene.board, scene.cols, scene.counted, scene.tangle.connections)
    ways = directions_of(scene.board, scene.rules, scene.left_out)
    sizes = sizes_of(scene.board, site.connections.net, scene.left_out)
    return field_of(site, ways, sizes, scene.freedom.weight)


def moves_to(inputs: Inputs, scene: Scene, pin_net: IntArray, options: Options) -> ChangeList:
    """What leads from the input to these nets, as one swap, which is all that a plan needs."""
    moved = np.flatnonzero(pin_net != scene.freedom.names.input_nets).tolist()
    moves = tuple(move_of(scene.board, pin, pin_net) for pin in moved)
    return ChangeList(sources_of(inputs), (Swap(1, moves),) * bool(moves), options.mode.value)


def planned_of(one: Outlook) -> Planned:
    """The figures of a full plan."""
    plan = one.plan
    facing = len(one.coupling.crossovers)
    return Planned(len(plan.routes), plan.blocked, plan.vias, facing, round(plan.length / 1e6, 3))


def _candidates(
    problem: Problem, field: Field, straight: IntArray, options: Options
) -> list[list[_Candidate]]:
    """What was found: the best straight lines, then by every aim from either start."""
    split = options.params.split
    assert split is not None
    sweeps = SWEEPS if options.params.iterations is None else options.params.iterations
    spent = _clock(options.params.seconds)
    found = [[_weighed(problem, field, straight)]]
    for weights in AIMS:
        params = Params(options.params.seed, sweeps, weights, spent)
        ends = [lower(problem, field, at, split, params) for at in (problem.pin_net, straight)]
        found.append([_weighed(problem, field, end) for end in ends])
    return found


def _best_by_aim(found: list[list[_Candidate]]) -> list[list[_Candidate]]:
    """Of each aim only the candidate that is better by it."""
    best = [
        min(ends, key=partial(_by_aim, weights))
        for weights, ends in zip(AIMS, found[1:], strict=True)
    ]
    return [*found[:1], best]


def _by_aim(weights: Weights, one: _Candidate) -> int:
    return total(one.terms, weights)


def _kept(first: _Candidate, found: list[list[_Candidate]]) -> list[_Candidate]:
    """Different candidates that are no worse than the input by the objective, the best first."""
    kept: list[_Candidate] = []
    for one in sorted((one for ends in found for one in ends), key=lambda one: one.total):
        new = not any(np.array_equal(one.pin_net, other.pin_net) for other in (first, *kept))
        if new and one.total <= first.total:
            kept.append(one)
    return kept


def _weighed(problem: Problem, field: Field, pin_net: IntArray) -> _Candidate:
    terms = Seating(problem, field, pin_net).terms
    return _Candidate(pin_net, terms, total(terms))


def _clock(seconds: float | None) -> Callable[[], bool]:
    """Whether so many seconds have passed since now; never where none are given."""
    end = None if seconds is None else time.monotonic() + seconds
    return lambda: end is not None and time.monotonic() > end


def _rank(one: Outlook, price: int) -> tuple[int, ...]:
    """As the planner ranks, the price of moved pins added to the length."""
    blocked, vias, facing, length, _ = rank(one)
    return blocked, vias, facing, length + price


def _result(problem: Problem, straight: Result, pin_net: IntArray) -> Result:
    """The chosen nets as the engine would hand them over; its bound holds for any choice."""
    after = score(problem, pin_net)
    proved = straight.bound.weighted >= after.weighted[0]
    return replace(straight, pin_net=pin_net, after=after, proved_optimal=proved)
