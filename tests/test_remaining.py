"""What holds the crossings that are left, against a twin that tries every exchange."""

from __future__ import annotations

from functools import partial

import numpy as np
from freedom.test_problem import resolved
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st
from strategies.rules import NETS, Spec, cases, pinned_board
from twins import legality
from twins.remaining import told

from renet.columns import pad_columns
from renet.engine import Params, reorder
from renet.engine.score import connections
from renet.freedom import build_problem, independent
from renet.model import IntArray
from renet.remaining import Kind, Question, remaining
from renet.rules import Pool, Rules
from renet.tangle import Connections, Tangle, crossing_pairs

WORDS = {kind.value: kind for kind in Kind}


def question(case: legality.Given, most: int | None = None) -> Question:
    """A drawn case as the pipeline would ask it; pins that its copper holds are held."""
    assume(all(len(words) == 2 for unit in case.rules.units for words in unit.tuples))
    pads = len(case.board.pads)
    active = np.ones(len(case.board.nets), dtype=bool)
    active[list(case.left_out)] = False
    return Question(
        board=case.board,
        cols=pad_columns(case.board),
        labels=np.arange(pads, dtype=np.int64),
        active=active,
        rules=case.rules,
        held=case.held,
        freedom=resolved(case),
        max_moves=most,
    )


def answered(asked: Question, after: IntArray) -> tuple[Connections, list]:  # type: ignore[type-arg]
    problem = build_problem(asked.board, asked.cols, asked.freedom, asked.labels, asked.active)
    found = connections(problem, after)
    none = np.empty((0, 2), dtype=np.int64)
    tangle = Tangle(found, crossing_pairs(found.ends, found.net), none, none)
    return found, remaining(asked, after, tangle)


def check(case: legality.Given, asked: Question, after: IntArray) -> None:
    """Every crossing once, in order, for the reason that the twin finds."""
    found, listed = answered(asked, after)
    pairs = [(one.first, one.second) for one in listed]
    assert pairs == list(map(tuple, crossing_pairs(found.ends, found.net).tolist()))
    nets = tuple(after.tolist())
    seen = {}
    for one in listed:
        pair = int(found.net[one.first]), int(found.net[one.second])
        assert seen.setdefault(pair, one.reason) == one.reason
    for pair, reason in seen.items():
        wanted = told(case, nets, pair, asked.max_moves)
        event(wanted.kind)
        fits = {WORDS[wanted.kind]} | ({Kind.STUCK} if wanted.kind == "kept" else set())
        assert reason.kind in fits, (pair, reason, wanted)
        if wanted.kind == "rule":
            assert reason.rule in wanted.rules
        if wanted.kind in ("rule", "elsewhere"):
            assert reason.crossings == wanted.cost


@settings(max_examples=30)
@given(cases(), st.sampled_from([None, 0, 3]))
def test_what_holds_the_crossings_of_the_input(case: legality.Given, most: int | None) -> None:
    asked = question(case, most)
    check(case, asked, asked.freedom.names.input_nets)


@settings(max_examples=30)
@given(cases())
def test_what_holds_the_crossings_of_a_result(case: legality.Given) -> None:
    asked = question(case)
    problem = build_problem(asked.board, asked.cols, asked.freedom, asked.labels, asked.active)
    params = Params(iterations=60, split=partial(independent, asked.freedom))
    check(case, asked, reorder(problem, params).pin_net)


@st.composite
def open_cases(draw: st.DrawFn) -> legality.Given:
    """A pool of six pins between two connectors, every pin with a net, and no other rule."""
    net = st.sampled_from(NETS[:5])
    spots = [(x, y) for y in (0, 3) for x in range(3)]
    chip = [Spec(str(i + 1), net=draw(net), at=at) for i, at in enumerate(spots)]
    rows = {
        ref: [Spec(str(i + 1), net=draw(net), at=(0, i)) for i in range(4)] for ref in ("J1", "J2")
    }
    board = pinned_board({"J1": rows["J1"], "U1": chip, "J2": rows["J2"]})
    return legality.Given(board, Rules(pools=(Pool("U1", ("1-6",), line=1),)), {}, frozenset())


@settings(max_examples=15)
@given(open_cases())
def test_what_holds_the_crossings_of_a_result_that_no_rule_binds(case: legality.Given) -> None:
    asked = question(case)
    problem = build_problem(asked.board, asked.cols, asked.freedom, asked.labels, asked.active)
    check(case, asked, reorder(problem, Params(iterations=60)).pin_net)
