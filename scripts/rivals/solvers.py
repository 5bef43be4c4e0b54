"""General-purpose solvers on the order of a row, each for one run at least and until time is up.

Where items stand in an order decides what crosses, the sum over pairs is a
quadratic assignment with an upper triangle of ones for the places.  Crossings
of scattered boards are no such product of two tables, so these solvers cannot
be asked about them.
"""

from __future__ import annotations

import time

import numpy as np
from scipy.optimize import quadratic_assignment

from renet.model import IntArray
from rivals.boards import crossings

_LEAST_SECONDS = 1.0


def two_opt(cost: IntArray, seconds: float, seed: int) -> int:
    """scipy quadratic_assignment, method 2opt, from random orders."""
    return _assigned(cost, seconds, seed, "2opt")


def faq(cost: IntArray, seconds: float, seed: int) -> int:
    """scipy quadratic_assignment, method faq, from random doubly stochastic matrices."""
    return _assigned(cost, seconds, seed, "faq")


def _assigned(cost: IntArray, seconds: float, seed: int, method: str) -> int:
    places = np.triu(np.ones(cost.shape), 1)
    rng, end, best = np.random.default_rng(seed), time.perf_counter() + seconds, None
    while best is None or time.perf_counter() < end:
        options = {"rng": rng} | ({"P0": "randomized"} if method == "faq" else {})
        found = quadratic_assignment(places, cost.astype(float), method=method, options=options)
        value = crossings(cost, np.asarray(found.col_ind))
        best = value if best is None else min(best, value)
    return best


def integer_programme(cost: IntArray, seconds: float, seed: int) -> int | None:
    """OR-tools CP-SAT on places of items and the order of each pair; None without a solution."""
    from ortools.sat.python import cp_model

    model, count = cp_model.CpModel(), len(cost)
    place = [model.new_int_var(0, count - 1, "") for _ in range(count)]
    model.add_all_different(place)
    terms = []
    for i in range(count):
        for j in range(i):
            first = model.new_bool_var("")
            model.add(place[i] < place[j]).only_enforce_if(first)
            model.add(place[i] > place[j]).only_enforce_if(~first)
            terms.append(int(cost[j, i]) + first * int(cost[i, j] - cost[j, i]))
    model.minimize(sum(terms))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = max(seconds, _LEAST_SECONDS)
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = seed
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    return round(solver.objective_value)
