"""Files that once broke a reader or a job, or closed the gate, and a first stretch of fresh damage.

``scripts/fuzz`` makes the damage and puts what fails into ``tests/fuzz``; each
file there is a case from then on.  ``scripts/test`` runs 100,000 cases more.
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from conftest import ROOT

from renet.errors import GateError, InputError

sys.path.append(str(ROOT / "scripts"))

from fuzzing.guard import GOOD, Guard, case_of, outcome_of, run
from fuzzing.sound import Case, small_cases
from fuzzing.targets import Depth, work_of

KEPT = sorted((ROOT / "tests" / "fuzz").iterdir())


@pytest.mark.parametrize("path", KEPT, ids=lambda path: path.name)
def test_what_once_failed_is_used_or_refused(path: Path) -> None:
    found = run(Case(path.suffix[1:], path.stem, path.read_bytes()), Guard(), Depth.WHOLE)
    assert found.outcome in ("done", "refused"), found


@pytest.mark.parametrize("first", range(0, 400, 100))
def test_fresh_damage_is_used_or_refused(first: int) -> None:
    for number in range(first, first + 100):
        case = case_of(0, number)
        found = run(case, Guard())
        assert found.outcome in GOOD, (case.name, found)


@pytest.mark.parametrize("case", small_cases(), ids=lambda case: f"{case.kind}-{case.name}")
def test_sound_files_are_used(case: Case) -> None:
    """Otherwise the damage would only be done to files that are refused anyway."""
    work_of(case, Depth.WHOLE)()


def test_the_guard_tells_what_is_wrong() -> None:
    def spin() -> None:
        while True:
            pass

    def refuse(fault: Exception) -> None:
        raise fault

    assert outcome_of(spin, Guard(seconds=0.05)).outcome == "hang"
    for fault, outcome in (
        (ValueError("x"), "traceback"),
        (RecursionError(), "traceback"),
        (MemoryError(), "memory"),
        (InputError("", "b"), "unclear"),
        (InputError("a", "b"), "refused"),
        (GateError("a"), "gate"),
    ):
        assert outcome_of(lambda fault=fault: refuse(fault), Guard()).outcome == outcome


def test_the_same_seed_gives_the_same_cases() -> None:
    again = "from fuzzing.guard import case_of; import zlib; "
    again += "print([zlib.crc32(case_of(5, n).data) for n in range(40)])"
    command = [sys.executable, "-c", again]
    one, two = (
        subprocess.run(
            command, cwd=ROOT / "scripts", env={"PYTHONHASHSEED": seed}, capture_output=True
        )
        for seed in ("1", "2")
    )
    assert one.returncode == 0, one.stderr
    assert one.stdout == two.stdout
    assert len(set(one.stdout.split())) > 30
