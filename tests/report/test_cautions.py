"""Every report that somebody might build says each caution that applies, once."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from conftest import CORPUS

from renet.cli import run
from renet.report.cautions import OF_A_PLAN, OF_MOVES, SCHEMATIC, cautions

BUOY = CORPUS / "demo" / "buoy.kicad_pcb"
WORDS = (
    "until the change order is approved", "Data sheets, errata", "before first power",
    "functional-safety review", "60 V dc", "bypass its suppressor", "switching-node",
    "licensed engineer",
)  # fmt: skip
"""One of each caution of the project's facts, section 8, points 2 to 9."""


def flat(text: str) -> str:
    return " ".join(text.split())


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("out")
    assert run(["untangle", str(BUOY), "--out", str(out), "--iterations", "20", "-q"]) == 0
    return out


def test_a_result_with_moves_says_each_once(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    args = ["untangle", str(BUOY), "--out", str(tmp_path), "--iterations", "20"]
    assert run(args) == 0
    text = flat(capsys.readouterr().out)
    assert [text.count(word) for word in WORDS] == [1] * len(WORDS)
    page = flat((tmp_path / "buoy.html").read_text(encoding="utf-8"))
    assert all(word in page for word in WORDS)


def test_records_carry_them(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    again = str(folder / "again")
    assert run(["untangle", str(BUOY), "--out", again, "--iterations", "20", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["cautions"] == list(OF_MOVES)
    assert run(["channels", str(BUOY), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["cautions"] == list(OF_A_PLAN)


def test_an_applied_list_says_them_too(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    args = ["apply", str(folder / "buoy.swaps"), str(BUOY), "--out", str(folder / "applied")]
    assert run(args) == 0
    text = flat(capsys.readouterr().out)
    assert [text.count(word) for word in WORDS] == [1] * len(WORDS)
    assert run([*args, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["cautions"] == list(OF_MOVES)


def test_a_plan_says_each_once_and_after_moves_those_too(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["channels", str(BUOY)]) == 0
    text = capsys.readouterr().out
    assert [text.count(caution) for caution in OF_A_PLAN] == [1] * len(OF_A_PLAN)
    assert SCHEMATIC not in text
    assert run(["channels", str(BUOY), "--swaps", str(folder / "buoy.swaps")]) == 0
    text = capsys.readouterr().out
    both = cautions(moved=True, planned=True)
    assert [text.count(caution) for caution in both] == [1] * len(both)


def test_nothing_is_said_where_nothing_moved() -> None:
    assert cautions(moved=False, planned=False) == ()
