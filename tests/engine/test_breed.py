"""Boards that two others have in common, and the search that goes on from them."""

from __future__ import annotations

import random
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies.problems import MM, Sketch, group, problems

from renet.engine import breed as module
from renet.engine import improve, reorder
from renet.engine.breed import breed, crossed, worth_breeding
from renet.engine.ground import lay_out
from renet.engine.problem import Params, Problem
from renet.engine.search import Search, Slope
from renet.engine.state import State
from renet.model import IntArray


def four_rows(seed: int, across: int = 50) -> Problem:
    """Four pools of pins in rows one above the other; the nets' other ends anywhere round them."""
    rng, sketch = random.Random(seed), Sketch()
    nets = list(range(4 * across))
    rng.shuffle(nets)
    for row in range(4):
        pins = [
            (sketch.pin(x * MM, row * 2 * MM, nets[row * across + x], half=1000),)
            for x in range(across)
        ]
        sketch.groups.append(group(pins))
    for net in range(4 * across):
        y = rng.choice((-20, 26)) + rng.randrange(-4, 4)
        sketch.pin(rng.randrange(-20, across + 20) * MM, y * MM, net, half=1000)
    return sketch.problem()


def searching(problem: Problem, seed: int = 0) -> Search:
    return Search(State(*lay_out(problem)), np.random.default_rng(seed), lambda done: False)


def sites(search: Search, place: IntArray, group: int) -> list[int]:
    stock = search.state.ground.stock
    return (place[list(stock.of_group(group))] // len(stock.ways[group])).tolist()


@settings(max_examples=60)
@given(problems(), st.integers(0, 99))
def test_a_child_keeps_what_its_parents_share_and_fills_every_site_once(
    problem: Problem, seed: int
) -> None:
    search = searching(problem, seed)
    one, two = module._shuffled(search), module._shuffled(search)
    child = crossed(search, one, two)
    assert (child[one == two] == one[one == two]).all()
    for number in range(len(search.state.ground.stock.ways)):
        ours = sites(search, child, number)
        assert sorted(ours) == list(range(len(ours)))
        pairs = zip(ours, sites(search, one, number), sites(search, two, number), strict=True)
        assert all(site == a for site, a, b in pairs if a == b)


def test_only_large_free_boards_are_bred() -> None:
    problem = four_rows(1)
    assert worth_breeding(searching(problem))
    assert not worth_breeding(searching(replace(problem, max_moves=400)))
    assert not worth_breeding(searching(four_rows(1, across=49)))


def test_a_family_ends_where_no_round_from_one_start_does() -> None:
    """Of equal steps; the board is not worse, and what is remembered is the board that stands."""
    problem = four_rows(2, across=12)
    search, alone = searching(problem), searching(problem)
    slope = Slope(1e-4, 1e-6)
    breed(search, 900, slope)
    improve.rounds(alone, 900, slope)
    assert not alone.best.below(search.best)
    assert (search.state.place == search.best_place).all()
    assert abs(search.steps - 900) <= len(search.state.place)


def test_a_bred_board_is_legal_and_the_same_for_the_same_seed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(module, "MANY", 40)
    problem = four_rows(3, across=12)
    one, two = (reorder(problem, Params(seed=5, iterations=500)) for _ in range(2))
    assert one.pin_net.tolist() == two.pin_net.tolist()
    assert one.after.weighted < one.before.weighted
    for pool in problem.groups:
        held = [problem.pin_net[site].tolist() for site in pool.sites]
        assert sorted(held) == sorted(one.pin_net[site].tolist() for site in pool.sites)
