"""What a batch aims at, and what is asked of its results, are the options of ``untangle``."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from cases.batches import batch, states, tree
from conftest import CORPUS
from orthogonal.test_job import rows

from renet.batch.marker import MARKER
from renet.batch.orders import Order, beside
from renet.batch.run import do_order
from renet.batch.work import Plan, Tables, Task, work
from renet.cli import run
from renet.objectives import CHANNELS, CROSSINGS
from renet.orthogonal.job import Planned, untangle_channels
from renet.pipeline import Inputs, Options


@pytest.fixture
def board(tmp_path: Path) -> Path:
    """Two rows that face each other, with the rules beside them."""
    inputs, path = rows([2, 1]), tmp_path / "in" / "rows.kicad_pcb"
    assert inputs.rules is not None
    path.parent.mkdir()
    path.write_bytes(inputs.board.data)
    path.with_name("rows.rules.toml").write_bytes(inputs.rules.data)
    return path


def test_as_untangle_has_them_and_part_of_the_key(board: Path, tmp_path: Path) -> None:
    common = (board, "--out", tmp_path / "out", "-j", 1, "--json")
    planned = batch(*common, "--objective", "channels")
    assert states(planned) == {"rows": "done"}, planned.stderr
    assert json.loads(planned.stdout)["boards"][0]["blocked"] == 0
    words = ["untangle", board, "--objective", "channels", "-q", "-o", tmp_path / "alone"]
    assert run([str(word) for word in words]) == 0
    written = tree(tmp_path / "out" / "rows")
    written.pop(MARKER)
    assert written == tree(tmp_path / "alone")

    order = beside(board)
    plan = Plan(tmp_path / "out", Options())
    channels = replace(plan, channels=True, objective=CHANNELS)
    assert do_order((order, channels)).state == "skipped"
    assert do_order((order, replace(channels, objective=CROSSINGS))).state == "done"
    assert states(batch(*common, "--frontier")) == {"rows": "done"}
    assert 'id="h-frontier"' in (tmp_path / "out" / "rows" / "rows.html").read_text()
    frontier = replace(plan, options=Options(frontier=True))
    assert do_order((order, frontier)).state == "skipped"
    assert do_order((order, plan)).state == "done"


def test_the_best_seed_is_the_one_whose_plan_is_best(monkeypatch: pytest.MonkeyPatch) -> None:
    """Straight lines are the same by all seeds; blocked, vias, facing, then length and price."""
    inputs = rows([2, 1])
    job, compared = untangle_channels(inputs, Options())
    figures = [(1, 0, 0, 1.0), (0, 2, 0, 1.0), (0, 1, 3, 1.0), (0, 1, 2, 9.0), (0, 1, 2, 8.0)]
    jobs = [replace(job) for _ in figures]
    prices = [0, 0, 0, 0, 2_000_000]

    def planned(objective: str, given: Inputs, options: Options, _: object) -> object:
        assert (objective, given) == (CHANNELS, inputs)
        seed = options.params.seed
        plan = Planned(2, *figures[seed])
        terms = compared.terms[1]._replace(price_nm=prices[seed])
        one = replace(compared, planned=(plan, plan), terms=(terms, terms))
        return jobs[seed], one

    monkeypatch.setattr("renet.batch.work.untangle_by", planned)
    monkeypatch.setattr("renet.batch.work.product", lambda _, chosen: chosen)
    task = Task(inputs, Tables(), Options(), tuple(range(5)), False, CHANNELS)
    assert work(task) is jobs[3]
    prices[4] = 0
    assert work(task) is jobs[4]


def test_what_does_not_go_together(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mated = CORPUS / "sonde.toml"
    order = Order("sonde", mated, None, None)
    options = Options(frontier=True)
    for plan in (Plan(tmp_path, Options(), objective=CHANNELS), Plan(tmp_path, options)):
        found = do_order((order, plan))
        assert found.state == "failed" and "boards that mate are searched as one" in found.error
    words = ["batch", mated, "-o", tmp_path, "--objective", "channels", "--frontier"]
    assert run([str(word) for word in words]) == 2
    assert "--frontier counts crossings" in capsys.readouterr().err
