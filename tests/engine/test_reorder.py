"""The whole engine against a twin that counts everything anew and tries every board."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies.problems import MM, Sketch, group, problems
from twins.engine import aims, best

from renet.engine import exhaust, reorder
from renet.engine.problem import Params, Problem, Result
from renet.engine.score import score

CLOSE = 10.0  # nanometres: the engine compares lengths with a tolerance


def same(one: tuple[int, int, int, float], two: tuple[int, int, int, float]) -> bool:
    return one[:3] == two[:3] and abs(one[3] - two[3]) < CLOSE + 1000.0


def searched(problem: Problem, monkeypatch: pytest.MonkeyPatch, **params: int) -> Result:
    """The result of the search proper, small problems not tried out."""
    monkeypatch.setattr(exhaust, "MOST_BOARDS", -1)
    return reorder(problem, Params(**params))


@settings(max_examples=100)
@given(problems(), st.randoms(use_true_random=False))
def test_scores_are_the_twins(problem: Problem, rng) -> None:  # type: ignore[no-untyped-def]
    nets = problem.pin_net.copy()
    for one in problem.groups:
        pins = one.sites[:, 0]
        order = list(range(len(pins)))
        rng.shuffle(order)
        nets[pins] = problem.pin_net[pins[order]]
    found = score(problem, nets)
    wanted = aims(problem, nets.tolist())
    assert found.weighted == wanted[:3]
    assert found.length_nm + found.price_nm == pytest.approx(wanted[3], abs=1.0)


@settings(max_examples=40)
@given(problems(most_sites=4))
def test_small_problems_are_solved_and_proved(problem: Problem) -> None:
    result = reorder(problem)
    assert same(aims(problem, result.pin_net.tolist()), best(problem))
    assert result.proved_optimal
    check_laws(problem, result)


@settings(max_examples=40)
@given(problems(most_sites=4))
def test_the_search_alone_finds_the_best_of_all_boards(problem: Problem) -> None:
    """Every case so far; the order of aims counts, length and price included."""
    with pytest.MonkeyPatch.context() as monkeypatch:
        result = searched(problem, monkeypatch)
    check_laws(problem, result)
    least = best(problem)
    assert aims(problem, result.pin_net.tolist())[0] == least[0]
    assert result.bound.weighted <= least[0]


def check_laws(problem: Problem, result: Result) -> None:
    """Never worse, nothing lost, what is told is true."""
    before = aims(problem, problem.pin_net.tolist())
    after = aims(problem, result.pin_net.tolist())
    assert after[:3] <= before[:3]
    assert after[:3] < before[:3] or after[3] <= before[3] + CLOSE
    assert result.before.weighted == before[:3]
    assert result.after.weighted == after[:3]
    free = set(problem.free_pins.tolist())
    for pin, (old, new) in enumerate(zip(problem.pin_net, result.pin_net, strict=True)):
        assert pin in free or old == new
    for one in problem.groups:
        sites = one.sites
        for column in range(one.width):
            assert Counter(problem.pin_net[sites[:, column]].tolist()) == Counter(
                result.pin_net[sites[:, column]].tolist()
            )
    assert result.bound.weighted <= result.after.weighted[0]
    if result.proved_optimal:
        assert result.bound.weighted == result.after.weighted[0]


@settings(max_examples=25)
@given(problems(most_sites=5))
def test_the_same_seed_gives_the_same_board(problem: Problem) -> None:
    with pytest.MonkeyPatch.context() as monkeypatch:
        one, two = (searched(problem, monkeypatch, seed=3) for _ in range(2))
    assert np.array_equal(one.pin_net, two.pin_net)
    assert one.bound == two.bound


def two_rows(order: list[int], gap: int = 20) -> Problem:
    """Net i from row i on the left, free, to the row that ``order`` has it in on the right."""
    sketch = Sketch()
    left = [(sketch.pin(0, i * MM, i),) for i in range(len(order))]
    for row, net in enumerate(order):
        sketch.pin(gap * MM, row * MM, net)
    sketch.groups.append(group(left, price=0))
    return sketch.problem()


@settings(max_examples=15)
@given(st.permutations(range(14)))
def test_rows_that_face_each_other_end_without_a_crossing(order: list[int]) -> None:
    result = reorder(two_rows(list(order)))
    inversions = sum(a > b for i, a in enumerate(order) for b in order[i + 1 :])
    assert result.before.crossings == inversions
    assert result.after.crossings == 0
    assert result.proved_optimal


def test_two_pools_do_not_wait_for_each_other() -> None:
    """Both ends of every net are free, and both rows are in disorder."""
    sketch = Sketch()
    count = 10
    one = [(sketch.pin(0, i * MM, i),) for i in range(count)]
    two = [(sketch.pin(20 * MM, i * MM, (i * 7 + 3) % count),) for i in range(count)]
    sketch.groups += [group(one, price=0), group(two, price=0)]
    result = reorder(sketch.problem())
    assert result.before.crossings > 10
    assert result.after.crossings == 0


@pytest.mark.parametrize("most", [0, 2, 3, 5])
def test_max_moves_is_kept(most: int) -> None:
    problem = replace(two_rows([9, 8, 7, 6, 5, 4, 3, 2, 1, 0]), max_moves=most)
    result = reorder(problem)
    assert result.after.moved_pins <= most
    assert result.after.crossings <= result.before.crossings


def test_a_price_that_is_not_worth_paying_keeps_the_board() -> None:
    """A shorter board without fewer crossings, at a price above the gain."""
    sketch = Sketch()
    sites = [(sketch.pin(0, 0, 0),), (sketch.pin(0, 3 * MM, -1),)]
    sketch.pin(10 * MM, 3 * MM, 0)
    for price, moved in ((5 * MM, 0), (0, 2)):
        sketch.groups = [group(sites, price=price)]
        assert reorder(sketch.problem()).after.moved_pins == moved


def test_units_move_whole_and_turn_where_they_may() -> None:
    """Two elements of an array, crossed and turned: put right without a crossing."""
    sketch = Sketch()
    first = sketch.pin(0, 0, 0), sketch.pin(4 * MM, 0, 1)
    second = sketch.pin(0, 2 * MM, 2), sketch.pin(4 * MM, 2 * MM, 3)
    for x, y, net in ((-9, 0, 3), (9, 0, 2), (-9, 2, 0), (9, 2, 1)):
        sketch.pin(x * MM, y * MM, net)
    sketch.groups = [group([first, second], price=0, reversible=True)]
    result = reorder(sketch.problem())
    assert result.after.crossings == 0
    assert result.pin_net[list(first)].tolist() == [3, 2]
    assert result.pin_net[list(second)].tolist() == [0, 1]
    sketch.groups = [group([first, second], price=0)]
    stiff = reorder(sketch.problem())
    whole = {tuple(stiff.pin_net[list(site)].tolist()) for site in (first, second)}
    assert whole == {(0, 1), (2, 3)}


def test_what_is_not_allowed_does_not_happen() -> None:
    problem = two_rows([3, 2, 1, 0])
    allowed = np.eye(4, dtype=bool)
    allowed[0, 3] = allowed[3, 0] = True
    only = replace(problem.groups[0], allowed=allowed)
    result = reorder(replace(problem, groups=(only,)))
    assert result.pin_net[:4].tolist() == [3, 1, 2, 0]


class Apart:
    """Nets 0 and 1 may not stand on neighbouring places of the row."""

    pins = np.arange(6)

    def violations(self, pin_net: np.ndarray) -> int:  # type: ignore[type-arg]
        nets = pin_net[:6].tolist()
        return int(abs(nets.index(0) - nets.index(1)) < 2)


def test_a_side_condition_is_kept() -> None:
    """The order without crossings would put nets 0 and 1 together."""
    problem = two_rows([0, 1, 2, 3, 4, 5])
    start = problem.pin_net.copy()
    start[:6] = [0, 5, 1, 4, 2, 3]
    held = replace(problem, pin_net=start, conditions=(Apart(),))
    result = reorder(held)
    assert Apart().violations(result.pin_net) == 0
    assert result.after.crossings < result.before.crossings
    free = reorder(replace(problem, pin_net=start))
    assert free.after.crossings == 0
