"""Moves nets among pins: numbers in, numbers out (see :mod:`renet.engine.problem`)."""

from renet.engine.frontier import Row, frontier, knee
from renet.engine.problem import Bound, Condition, Group, Params, Problem, Result, Score
from renet.engine.reorder import reorder

__all__ = [
    "Bound",
    "Condition",
    "Group",
    "Params",
    "Problem",
    "Result",
    "Row",
    "Score",
    "frontier",
    "knee",
    "reorder",
]
