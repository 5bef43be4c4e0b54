"""The main job by the channel objective: legal, repeatable, never worse, fully reported."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from cases.orthogonal import Row, board_of, case_of, measured
from conftest import ROOT

from renet.cli import run
from renet.engine import Params
from renet.orthogonal.job import Planned, untangle_channels
from renet.orthogonal.terms import total
from renet.pipeline import Inputs, Named, Options, Terms, check
from renet.report.cautions import cautions
from renet.report.objective import objective_lines

POOL = b'[[pool]]\npart = "J1"\npins = ["*", "1-8"]\n'


def rows(order: list[int]) -> Inputs:
    """Two rows of pins with holes that face each other; ``order`` are the nets of the left one."""
    count = len(order)
    left = [(0.0, 2.1 * i, net) for i, net in enumerate(order)]
    right = [(0.0, 2.1 * i, i + 1) for i in range(count)]
    parts = [Row("J1", 5, 5, left, 1.0, True), Row("J2", 35, 5, right, 1.0, True)]
    board = board_of(parts, 40, 10 + 2.1 * count)
    return Inputs(Named("rows.kicad_pcb", board), rules=Named("rows.rules.toml", POOL))


def ranked(one: Planned) -> tuple[float, ...]:
    return one.blocked, one.vias, one.facing_crossovers, one.length_mm


@pytest.mark.parametrize("order", [[4, 1, 3, 5, 2], [2, 1]])
def test_rows_end_straight(order: list[int]) -> None:
    """Facts 7: in order, all links are straight, so without a via."""
    job, found = untangle_channels(rows(order), Options())
    before, after = found.planned
    assert after[1:4] == (0, 0, 0) and before.facing_crossovers + before.vias > 0
    assert (found.terms[1].bends, found.terms[1].crossings, found.terms[1].overflow) == (0, 0, 0)
    assert job.tangle.figures.crossings == 0


def test_a_board_in_order_stays() -> None:
    job, found = untangle_channels(rows([1, 2, 3, 4]), Options())
    assert not job.changes.moves
    assert found.terms[0] == found.terms[1] and found.planned[0] == found.planned[1]
    assert job.board.data == job.scene.file.data


def test_max_moves_and_seed_are_kept() -> None:
    inputs, options = rows([4, 1, 3, 2]), Options(max_moves=3, params=Params(iterations=30))
    runs = [untangle_channels(inputs, options) for _ in (1, 2)]
    assert len(runs[0][0].changes.moves) <= 3
    assert runs[0][0].board.data == runs[1][0].board.data
    assert runs[0][1] == runs[1][1]


def test_the_demo_is_planned_better_as_readme_says_and_the_second_opinion_agrees() -> None:
    row, found, job = measured("demo")
    assert f"\n{row}\n" in (ROOT / "README.md").read_text("utf-8")
    assert total(found.terms[1]) < total(found.terms[0])
    assert ranked(found.planned[1]) < ranked(found.planned[0])
    inputs = case_of("demo").inputs
    after = Named("after.kicad_pcb", job.board.data)
    assert check(inputs.board, after, Terms(inputs.rules), job.changes).ok


def test_pairs_that_cross_on_two_layers_are_told_with_the_worst_first() -> None:
    _, found = untangle_channels(rows([1, 2]), Options())
    apart = (("A", "B", 4), ("A", "C", 2), ("B", "C", 1), ("C", "D", 1))
    said = "\n".join(objective_lines(replace(found, apart=apart)))
    assert "  4 pairs of nets cross on two layers, 8 times in all" in said
    assert said.endswith(
        "    4 x A with B\n    2 x A with C\n    1 x B with C\n    and 1 more pairs"
    )
    assert "cross on two layers," not in "\n".join(objective_lines(replace(found, apart=())))


def test_the_report_shows_straight_lines_terms_and_plans(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    inputs = rows([3, 2, 1])
    board = tmp_path / "rows.kicad_pcb"
    board.write_bytes(inputs.board.data)
    (tmp_path / "rows.rules.toml").write_bytes(POOL)
    args = ["untangle", str(board), "--objective", "channels", "-o", str(tmp_path / "out")]
    assert run(args) == 0
    text = capsys.readouterr().out
    for words in (
        "weighed crossings",
        "facing crossovers",
        "common practice, no source",
        "overflow",
    ):
        assert words in text
    both = cautions(moved=True, planned=True)
    assert [" ".join(text.split()).count(caution) for caution in both] == [1] * len(both)
    assert run([*args, "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["cautions"] == list(both)
    assert record["objective"] == "channels" and record["after"]["crossings"] == 0
    assert record["planned"]["after"]["vias"] == 0 == record["terms"]["after"]["bends"]
    assert record["terms"]["after"]["total"] < record["terms"]["before"]["total"]
    assert run([*args, "--frontier"]) == 2
    assert "--objective" in capsys.readouterr().err
