"""Finished work is that of this program: a changed line makes it another one."""

from __future__ import annotations

import os
import shutil
import subprocess
from pathlib import Path

import pytest
from cases.batches import command, make_boards, states
from conftest import ROOT

from renet.batch.cluster import attempt, attempt_seed
from renet.batch.orders import beside
from renet.batch.program import digest_of, program_digest
from renet.batch.work import Plan, load
from renet.pipeline import Options


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """The package as it is, somewhere else."""
    there = tmp_path / "there" / "renet"
    shutil.copytree(ROOT / "renet", there, ignore=shutil.ignore_patterns("__pycache__"))
    return there


def test_a_changed_program_does_all_again(copy: Path, tmp_path: Path) -> None:
    boards = make_boards(tmp_path / "in", [1])

    def run() -> list[str]:
        words = command(boards, "--out", tmp_path / "out", "--json", "-j", 1, "--iterations", 30)
        there = os.environ | {"PYTHONPATH": str(copy.parent), "PYTHONDONTWRITEBYTECODE": "1"}
        done = subprocess.run(words, capture_output=True, text=True, env=there, cwd=copy.parent)
        return list(states(done).values())

    assert [run(), run()] == [["done"], ["skipped"]]
    module = copy / "worth.py"
    module.write_text(module.read_text() + "# the same program, but who can tell\n")
    assert [run(), run()] == [["done"], ["skipped"]]


def test_the_digest_is_of_what_runs(copy: Path) -> None:
    assert digest_of(copy) == program_digest()
    seen = {digest_of(copy)}
    (copy / "__pycache__").mkdir()
    (copy / "__pycache__" / "worth.cpython.pyc").write_bytes(b"compiled")
    (copy / "demo").mkdir()
    (copy / "demo" / "buoy.net").write_bytes(b"example")
    assert digest_of(copy) in seen
    for change in ("renamed", "moved", "page", "removed"):
        if change == "renamed":
            (copy / "nearest.py").rename(copy / "farthest.py")
        if change == "moved":
            (copy / "farthest.py").rename(copy / "engine" / "farthest.py")
        if change == "page":
            (copy / "report" / "review" / "review.css").write_text("")
        if change == "removed":
            (copy / "engine" / "farthest.py").unlink()
        seen.add(digest_of(copy))
    assert len(seen) == 5


def test_a_worker_with_another_program_refuses(tmp_path: Path) -> None:
    folder = make_boards(tmp_path, [1])
    task = load(beside(next(folder.glob("*.kicad_pcb"))), Plan(tmp_path, Options()))
    for found in (attempt(task, "another"), attempt_seed(task, "another", 0)):
        assert isinstance(found, str)
        assert "runs another renet" in found
