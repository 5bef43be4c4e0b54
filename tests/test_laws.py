"""Laws of the whole search under rules of every kind, and of the command under two hash seeds."""

from __future__ import annotations

import os
import subprocess
import sys
from functools import partial
from pathlib import Path

import numpy as np
import pytest
from conftest import CORPUS, ROOT
from freedom.test_problem import resolved
from hypothesis import assume, event, given, settings
from strategies.rules import cases
from twins import legality
from twins.engine import aims
from twins.remaining import everything_lifted, lifted

from renet.columns import pad_columns
from renet.engine import Params, Problem, Result, exhaust, reorder
from renet.errors import RulesError
from renet.freedom import Freedom, build_problem, complaints, independent, resolve

KINDS = ("keeps", "domains", "orders", "pairs", "aparts", "besides", "needs", "peripherals")


def posed(case: legality.Given, freedom: Freedom) -> Problem:
    """The engine's problem; nothing is joined by copper, nothing is left out."""
    labels = np.arange(len(case.board.pads), dtype=np.int64)
    active = np.ones(len(case.board.nets), dtype=bool)
    return build_problem(case.board, pad_columns(case.board), freedom, labels, active)


def solved(case: legality.Given, freedom: Freedom) -> tuple[Problem, Result]:
    problem = posed(case, freedom)
    return problem, reorder(problem, Params(iterations=80, split=partial(independent, freedom)))


def check(case: legality.Given) -> None:
    """Permitted by the rules' own words, and never worse than the input."""
    freedom = resolved(case)
    problem, result = solved(case, freedom)
    for kind in KINDS:
        if getattr(case.rules, kind) and result.moved:
            event(kind)
    assert complaints(freedom, result.pin_net) == []
    assert legality.legal(case, result.pin_net.tolist())
    before, after = (aims(problem, nets.tolist()) for nets in (problem.pin_net, result.pin_net))
    assert after[:3] <= before[:3]
    assert after[:3] < before[:3] or after[3] <= before[3] + 1010.0  # the engine's tolerance


@settings(max_examples=25)
@given(cases())
def test_results_are_legal_and_no_worse_under_every_kind_of_rule(case: legality.Given) -> None:
    check(case)


@settings(max_examples=10)
@given(cases())
def test_so_are_those_of_the_search_proper(case: legality.Given) -> None:
    with pytest.MonkeyPatch.context() as monkeypatch:
        monkeypatch.setattr(exhaust, "MOST_BOARDS", -1)
        check(case)


@settings(max_examples=15)
@given(cases())
def test_a_rule_less_never_makes_the_optimum_worse(case: legality.Given) -> None:
    """Where both are proved; a rule less is every record left out by itself, and all at once."""
    _, result = solved(case, resolved(case))
    assume(result.proved_optimal)
    fewer = [*lifted(case.rules), ("all", everything_lifted(case).rules)]
    for name, rules in fewer:
        try:
            freedom = resolve(case.board, rules, case.held, case.left_out)
        except RulesError:
            continue
        free = solved(case._replace(rules=rules), freedom)[1]
        if free.proved_optimal:
            event(name.split("]]")[0])
            assert free.after.weighted[0] <= result.after.weighted[0], name


def test_the_same_seed_gives_the_same_bytes_under_two_hash_seeds(tmp_path: Path) -> None:
    """Every file of a run, its frontier and its JSON included."""
    demo = CORPUS / "demo"
    command = [sys.executable, "-c", "from renet.cli import main; main()", "untangle"]
    command += [str(demo / "buoy.kicad_pcb"), "--netlist", str(demo / "buoy.net"), "--frontier"]
    command += ["--iterations", "60", "--seed", "5", "--json", "-o", "out"]
    said = []
    for seed in ("1", "2"):
        folder = tmp_path / seed
        folder.mkdir()
        environment = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)}
        done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, check=True)
        said.append([line for line in done.stdout.splitlines() if b'"seconds"' not in line])
    assert said[0] == said[1]
    one, two = ({p.name: p.read_bytes() for p in (tmp_path / s / "out").iterdir()} for s in "12")
    assert one == two and len(one) > 6
