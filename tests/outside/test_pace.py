"""One-sided crossing minimisation: the public tiny set, against the published optima.

Source: PACE 2024 challenge (pacechallenge.org/2024), instances and optima in
``../shared/pace``, as board files through the command.  This holds the part of
the engine for rows that face each other to outside figures, no more.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from cases.pace import files_of, optima, problem_of
from conftest import SHARED

from renet.cli import run
from renet.engine import reorder

TINY = sorted((SHARED / "pace" / "tiny").glob("*.gr"))


def published(path: Path) -> int:
    return optima(SHARED / "pace" / "optima.tsv", "tiny")[path.stem]


def test_the_set_is_whole() -> None:
    if not TINY:
        pytest.skip("no instances: ../shared/pace is not there")
    assert len(TINY) == 13


@pytest.mark.parametrize("path", TINY, ids=lambda path: path.stem)
def test_the_published_optimum_is_found_and_proved(
    path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    board = tmp_path / "rows.kicad_pcb"
    data, rules = files_of(path)
    board.write_bytes(data)
    board.with_name("rows.rules.toml").write_bytes(rules)
    assert run(["untangle", str(board), "--out", str(tmp_path / "out"), "--json"]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["before"]["crossings"] == reorder(problem_of(path)).before.crossings
    assert record["after"]["crossings"] == published(path)
    assert record["bound"]["proved_optimal"]
