"""Rows of moved pins against crossings, held to a twin that tries every board."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from engine.test_reorder import same, two_rows
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies.problems import problems
from twins.engine import aims, best_within, moved

from renet.engine import Row, Score, exhaust, frontier, knee, reorder
from renet.engine.climb import rungs
from renet.engine.problem import Params, Problem, Result

SHORT = Params(iterations=150)


def searched(problem: Problem) -> tuple[Result, tuple[Row, ...]]:
    """The rows of the search proper, small problems not tried out."""
    with pytest.MonkeyPatch.context() as monkeypatch:
        monkeypatch.setattr(exhaust, "MOST_BOARDS", -1)
        return frontier(problem, SHORT)


def check_laws(problem: Problem, result: Result, rows: tuple[Row, ...]) -> None:
    """From the input to the result, within each limit, never worse than a row before."""
    assert rows[0].most == 0 and np.array_equal(rows[0].pin_net, problem.pin_net)
    assert np.array_equal(rows[-1].pin_net, result.pin_net)
    assert rows[-1].most == result.after.moved_pins
    assert [row.most for row in rows[1:-1]] == rungs(rows[-1].most)
    found = [aims(problem, row.pin_net.tolist()) for row in rows]
    for row, mine in zip(rows, found, strict=True):
        assert row.score.weighted == mine[:3]
        assert row.score.moved_pins == moved(problem, row.pin_net.tolist()) <= row.most
    for less, more in pairwise(found):
        assert more[:3] <= less[:3]
        assert more[:3] < less[:3] or more[3] <= less[3] + 1010.0  # the engine's tolerance


@settings(max_examples=25)
@given(problems(most_sites=4))
def test_rows_of_small_problems_are_the_twins(problem: Problem) -> None:
    result, rows = frontier(problem)
    check_laws(problem, result, rows)
    least = best_within(problem)
    for row in rows[:-1]:
        assert row.proved
        assert same(aims(problem, row.pin_net.tolist()), least[row.most])
    assert same(aims(problem, rows[-1].pin_net.tolist()), least[-1])


@settings(max_examples=12)
@given(problems(most_sites=4))
def test_no_searched_row_is_below_the_least_and_what_is_proved_is_least(problem: Problem) -> None:
    result, rows = searched(problem)
    check_laws(problem, result, rows)
    least = best_within(problem)
    for row in rows:
        assert row.score.weighted[0] >= least[row.most][0]
        if row.proved:
            assert row.score.weighted[0] == least[row.most][0]


@settings(max_examples=3)
@given(st.permutations(range(9)))
def test_a_run_with_a_limit_never_ends_worse_than_its_row(order: list[int]) -> None:
    problem = two_rows(list(order))
    result, rows = searched(problem)
    check_laws(problem, result, rows)
    for row in rows:
        alone = reorder(replace(problem, max_moves=row.most), SHORT)
        assert alone.after.moved_pins <= row.most
        assert alone.after.weighted <= row.score.weighted


def test_few_moves_buy_what_can_be_reckoned() -> None:
    """A row turned end for end: exchanging the outermost of n saves 2n - 3 crossings."""
    _, rows = searched(two_rows(list(range(9, -1, -1))))
    counted = {row.most: row.score.crossings for row in rows}
    assert counted == {0: 45, 2: 45 - 17, 3: 45 - 17, 4: 45 - 17 - 13, 6: 6, 8: 1, 10: 0}


def row(most: int, crossings: int) -> Row:
    score = Score(crossings, 0, 0, (1000 * crossings, 0, 0), 0.0, most, 0)
    return Row(most, np.empty(0, dtype=np.int64), score, False)


def test_the_knee_is_farthest_from_the_chord() -> None:
    """By the distance of a point from a line, in floats, as it stands in any geometry book."""
    rows = [row(0, 79), row(2, 61), row(4, 45), row(6, 31), row(8, 27), row(16, 10), row(22, 5)]

    def distance(one: Row) -> float:
        x, y = one.most / 22, (79 - one.score.crossings) / (79 - 5)
        return (y - x) / math.sqrt(2)

    found = knee(rows)
    assert found is not None and found.most == max(rows, key=distance).most == 6


@pytest.mark.parametrize(
    "rows",
    [
        [row(0, 7)],
        [row(0, 7), row(4, 7)],
        [row(0, 8), row(2, 4), row(4, 0)],
        [row(0, 8), row(2, 7), row(4, 0)],
    ],
)
def test_there_is_no_knee_where_no_row_is_above_the_chord(rows: list[Row]) -> None:
    assert knee(rows) is None
