"""What README shows is what the program prints."""

from __future__ import annotations

import doctest
from pathlib import Path

import pytest
from conftest import CORPUS, ROOT

import renet
from renet import cli


def test_the_example_is_true(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    demo = CORPUS / "demo"
    args = ["untangle", demo / "buoy.kicad_pcb", "--netlist", demo / "buoy.net", "-o", tmp_path]
    assert cli.run([str(arg) for arg in args]) == 0
    printed = capsys.readouterr().out.splitlines()
    text = (ROOT / "README.md").read_text("utf-8")
    shown = text.split("$ renet untangle", 1)[1].split("```", 1)[0].splitlines()[2:]
    compared = [line for line in shown if line.strip() != "..." and "written to" not in line]
    assert len(compared) > 8
    assert [line for line in compared if line not in printed] == []
    swaps = (tmp_path / "buoy.swaps").read_text("utf-8")
    listed = text.split("```\n  (swap", 1)[1].split("```", 1)[0]
    assert "  (swap" + listed.rstrip("\n") in swaps


def test_the_example_of_the_package_is_true(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    failed, tried = doctest.testmod(renet)
    assert (failed, tried) == (0, 5)
