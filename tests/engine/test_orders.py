"""Rows that face each other: what their order says, against counting segment by segment."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies.problems import MM, Sketch, facing_rows, group, problems
from twins.engine import aims

from renet.engine import exhaust, ground, reorder
from renet.engine.codes import Codes
from renet.engine.counts import CROSSING
from renet.engine.ground import lay_out
from renet.engine.moves import Moves
from renet.engine.problem import Params, Problem
from renet.engine.ranks import Ranks, Rows
from renet.engine.state import State


def shuffled(problem: Problem, rng) -> tuple[State, int]:  # type: ignore[no-untyped-def]
    """A state with its items in disorder, and what the engine's unit of weight is."""
    state = State(*lay_out(problem))
    ways = len(state.ground.stock.ways[0])
    sites = list(range(len(state.place)))
    rng.shuffle(sites)
    places = {item: site * ways + rng.randrange(ways) for item, site in enumerate(sites)}
    state.apply(state.trial(places))
    return state, int(np.gcd.reduce(problem.weight))


@settings(max_examples=60)
@given(facing_rows(), st.randoms(use_true_random=False))
def test_every_exchange_changes_what_the_twin_counts(problem: Problem, rng) -> None:  # type: ignore[no-untyped-def]
    state, unit = shuffled(problem, rng)
    assert state.orders is not None
    moves = Moves(state)
    change = moves.changes(state, state.value())
    stands = aims(problem, state.pin_net.tolist())
    start = aims(problem, problem.pin_net.tolist())
    crossings, overlaps = divmod(state.total.meetings, CROSSING)
    assert (crossings * unit, overlaps * unit) == (stands[0] - start[0], stands[1] - start[1])
    for move in range(len(moves)):
        pins, nets = state.nets_after(moves.places(state, move))
        after = state.pin_net.copy()
        after[pins] = nets
        found = aims(problem, after.tolist())
        crossings, overlaps = divmod(int(change[move]), CROSSING)
        assert (crossings * unit, overlaps * unit) == (found[0] - stands[0], found[1] - stands[1])


@settings(max_examples=25)
@given(facing_rows(), st.integers(0, 3))
def test_the_order_alone_leads_to_the_board_that_counting_leads_to(
    problem: Problem, seed: int
) -> None:
    with pytest.MonkeyPatch.context() as monkeypatch:
        monkeypatch.setattr(exhaust, "MOST_BOARDS", -1)
        quick = reorder(problem, Params(seed=seed, iterations=150))
        monkeypatch.setattr(ground, "opposed", lambda _: None)
        plain = reorder(problem, Params(seed=seed, iterations=150))
    assert np.array_equal(quick.pin_net, plain.pin_net)
    assert quick.bound == plain.bound
    assert quick.bound.weighted <= quick.after.weighted[0]


@settings(max_examples=40)
@given(problems())
def test_only_rows_that_face_all_others_are_taken_for_such(problem: Problem) -> None:
    """Pins anywhere: where the order is trusted, the first exchange must bear it out."""
    state = State(*lay_out(problem))
    if state.orders is None or not len(state.place):
        return
    moves = Moves(state)
    change = moves.changes(state, state.value())
    stands = aims(problem, problem.pin_net.tolist())
    for move in range(min(len(moves), 3)):
        pins, nets = state.nets_after(moves.places(state, move))
        after = problem.pin_net.copy()
        after[pins] = nets
        gained = aims(problem, after.tolist())[0] - stands[0]
        unit = int(np.gcd.reduce(problem.weight))
        assert int(change[move]) // CROSSING * unit == gained


def test_what_a_lane_crosses_of_itself_is_in_the_bound() -> None:
    """Eight lanes, each with its far ends in the other order: no order ends these crossings."""
    sketch = Sketch()
    lanes = [tuple(sketch.pin((2 * i + k) * MM, 0, 2 * i + k) for k in (0, 1)) for i in range(8)]
    for net in range(16):
        sketch.pin((net ^ 1) * MM, 9 * MM, net)
    sketch.groups.append(group(lanes))
    result = reorder(sketch.problem())
    assert result.after.crossings == result.bound.crossings == 8


def test_a_pin_beyond_the_row_is_no_pin_opposite() -> None:
    """Its connection may be met from either side, so the order does not tell."""
    for y, told in ((9 * MM, True), (0, False)):
        sketch = Sketch()
        sites = [(sketch.pin(i * MM, 0, i),) for i in range(3)]
        for net, x in enumerate((2, 0, 1)):
            sketch.pin(x * MM, 9 * MM if net else y, net)
        sketch.groups.append(group(sites))
        assert (lay_out(sketch.problem())[0].opposed is not None) == told


@settings(max_examples=60)
@given(
    st.lists(st.tuples(st.integers(0, 4), st.integers(0, 4)), min_size=2, max_size=12, unique=True)
)
def test_ranks_meet_as_sides_do(pairs: list[tuple[int, int]]) -> None:
    """Two rows of five points, and a stand-in from a point to itself."""
    at = np.array([(x, y) for x in range(5) for y in (0, 7)], dtype=np.int64)
    near, far = (np.where(at[:, 1] == y, at[:, 0], -1) for y in (0, 7))
    one, two = Codes(at), Ranks(Rows(near, far))
    ends = np.sort(np.array([(0, 0), *((2 * p, 2 * q + 1) for p, q in pairs)]), axis=1)
    for table in (one, two):
        table.append(ends[:4, 0], ends[:4, 1], 4)
        table.append(ends[4:, 0], ends[4:, 1], 20)
    u, v = np.indices((len(ends), len(ends))).reshape(2, -1)
    for left, right in zip(one.meet(u, v), two.meet(u, v), strict=True):
        assert np.array_equal(left, right)
    for edge in range(len(ends)):
        for left, right in zip(one.row(edge, 1), two.row(edge, 1), strict=True):
            assert np.array_equal(left, right)
