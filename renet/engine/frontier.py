"""How many moved pins buy how many crossings.

Rows are the rungs of :mod:`renet.engine.climb`.  A run with one of these limits
climbs the same way besides its own search, so it never ends worse than its row.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

from renet.engine.climb import climb, rungs
from renet.engine.exhaust import best_board
from renet.engine.ground import lay_out
from renet.engine.problem import Params, Problem, Result, Score
from renet.engine.reorder import better, pace_of, reorder
from renet.engine.score import score
from renet.model import IntArray


class Row(NamedTuple):
    """The best board found with at most ``most`` moved pins.

    ``proved``: no board with so few moved pins has fewer weighted crossings.
    """

    most: int
    pin_net: IntArray
    score: Score
    proved: bool


def frontier(problem: Problem, params: Params | None = None) -> tuple[Result, tuple[Row, ...]]:
    """The result of :func:`reorder`, and rows from the input up to it.

    No row is worse than one before in the order of aims.  Should a search with
    a limit come by a better board than the one without, that is the result.
    """
    params = params or Params()
    result = reorder(problem, params)
    rows = [Row(0, problem.pin_net, result.before, True)]
    if not result.moved:
        return result, tuple(rows)
    for most, pin_net, counted in _boards(problem, params, result.after.moved_pins):
        found = score(problem, pin_net)
        proved = counted or result.bound.weighted >= found.weighted[0]
        rows.append(Row(most, pin_net, found, proved))
    last = rows[-1]
    if better(last.score, result.after):
        result = replace(result, pin_net=last.pin_net, after=last.score, proved_optimal=last.proved)
    after = result.after
    kept = [row for row in rows if row.most < after.moved_pins]
    final = Row(after.moved_pins, result.pin_net, after, result.proved_optimal)
    return result, (*kept, final)


def knee(rows: Sequence[Row]) -> Row | None:
    """The row farthest above the straight line from the first row to the last.

    Both axes, limit and weighted crossings saved, are scaled to 1.  The first
    among equals; None where no row lies above the line.
    """
    best = max(rows, key=lambda row: (_above(rows, row), -row.most), default=None)
    return best if best is not None and _above(rows, best) > 0 else None


def _above(rows: Sequence[Row], row: Row) -> int:
    """How far a row is above the line, times the same positive number for all rows."""
    first, last = rows[0].score.weighted[0], rows[-1].score.weighted[0]
    saved = (first - row.score.weighted[0]) * (rows[-1].most - rows[0].most)
    return saved - (first - last) * (row.most - rows[0].most)


def _boards(problem: Problem, params: Params, most: int) -> list[tuple[int, IntArray, bool]]:
    """(limit, nets of all pins, whether every board was counted) for limits below ``most``."""
    ground, background = lay_out(problem)
    found = []
    for limit in rungs(most):
        limited = ground._replace(problem=replace(problem, max_moves=limit))
        best = best_board(limited, background)
        if best is None:
            rising = climb(ground, background, rungs(most), pace_of(problem, params))
            return [(rung.most, rung.pin_net, False) for rung in rising]
        found.append((limit, best, True))
    return found
