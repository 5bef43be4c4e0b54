"""What the engine is given: its own rules hold, and what it may do is what is legal."""

from __future__ import annotations

import random

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from strategies.rules import cases
from twins import legality

from freedom.buoy import freedom_of
from renet.columns import pad_columns
from renet.engine.problem import Group, Problem
from renet.errors import RulesError
from renet.freedom import Freedom, build_problem, complaints, resolve
from renet.model import IntArray


def resolved(case: legality.Given) -> Freedom:
    """The freedom of a drawn case; cases whose rules cannot be meant are dropped."""
    try:
        return resolve(case.board, case.rules, case.held, case.left_out)
    except RulesError:
        assume(False)
        raise


def problem_of(case: legality.Given) -> Problem:
    """The problem of a drawn case with nothing joined by copper."""
    freedom = resolved(case)
    pads = len(case.board.pads)
    labels = np.arange(pads, dtype=np.int64)
    active = np.ones(len(case.board.nets), dtype=bool)
    return build_problem(case.board, pad_columns(case.board), freedom, labels, active, max_moves=3)


def _exchanged(group: Group, nets: IntArray, chance: random.Random) -> None:
    """Any permutation of the items that ``allowed`` permits, turned and traded inside at will."""
    sites = group.sites.tolist()
    order = list(range(len(sites)))
    for _ in range(20):
        chance.shuffle(order)
        if group.allowed is None or all(group.allowed[i, site] for site, i in enumerate(order)):
            break
    else:
        order = list(range(len(sites)))
    old = nets.copy()
    for site, item in zip(sites, order, strict=True):
        row = old[sites[item]].tolist()
        if group.reversible and chance.random() < 0.5:
            row.reverse()
        for positions in group.inner:
            values = [row[position] for position in positions]
            chance.shuffle(values)
            for position, net in zip(positions, values, strict=True):
                row[position] = net
        nets[site] = row


@given(cases(), st.integers(0, 1 << 30))
@settings(max_examples=200)
def test_what_the_engine_may_do_is_legal(case: legality.Given, seed: int) -> None:
    problem = problem_of(case)
    chance = random.Random(seed)
    assert problem.pin_net.tolist() == case.before
    assert all(condition.violations(problem.pin_net) == 0 for condition in problem.conditions)
    for _ in range(4):
        nets = problem.pin_net.copy()
        for group in problem.groups:
            if chance.random() < 0.6:
                _exchanged(group, nets, chance)
        kept = all(condition.violations(nets) == 0 for condition in problem.conditions)
        assert kept == legality.legal(case, nets.tolist())


@given(cases())
def test_conditions_depend_on_their_pins_only(case: legality.Given) -> None:
    freedom = resolved(case)
    before = freedom.names.input_nets
    for condition in freedom.conditions:
        nets = np.full_like(before, -1)
        nets[condition.pins] = before[condition.pins]
        assert condition.violations(nets) == condition.violations(before) == 0


def test_prices_weights_and_allowed_of_a_pool() -> None:
    freedom = freedom_of(
        '[[pool]]\npart = "U3"\npins = ["2", "3", "4", "7"]\ncost_mm = 2.5\n'
        '[[weight]]\nnets = ["/LED_A"]\nfactor = 2\n'
        '[[needs]]\nnets = ["/SONDE_TX"]\nfunctions = ["IO_A1", "IO_A3"]\n'
    )
    board = freedom.names.board
    labels = np.arange(len(board.pads), dtype=np.int64)
    active = np.ones(len(board.nets), dtype=bool)
    problem = build_problem(board, pad_columns(board), freedom, labels, active)
    (group,) = problem.groups
    assert group.price_nm.tolist() == [2_500_000] * 4
    assert problem.weight[board.nets.index("/LED_A")] == 2000
    assert problem.max_moves is None
    assert problem.conditions == ()  # the need is in ``allowed``
    assert group.allowed is not None
    # /SONDE_TX may go from U3:2 to U3:4 only; all others may go anywhere
    expected = np.ones((4, 4), dtype=bool)
    expected[0] = [True, False, True, False]
    assert group.allowed.tolist() == expected.tolist()
    assert complaints(freedom, problem.pin_net) == []
