"""How many faults the tests of ``tests/test_faults.py`` inject, as those tests themselves count."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import NamedTuple
from xml.etree import ElementTree

from .figures import table

ROOT = Path(__file__).resolve().parent.parent.parent
TESTS = "tests/test_faults.py"
COUNTED = "faults injected"


class Injected(NamedTuple):
    """A test that injects faults: how many, and whether something was lost or half-written."""

    test: str
    faults: int
    lost: bool


def injected(report: Path) -> list[Injected]:
    """What the tests noted in a report that pytest wrote with ``--junitxml``; failed ones too."""
    found = []
    for case in ElementTree.parse(report).iter("testcase"):
        lost = case.find("failure") is not None or case.find("error") is not None
        noted = [one.get("value") for one in case.iter("property") if one.get("name") == COUNTED]
        if noted or (lost and Path(TESTS).stem in str(case.get("classname"))):
            name = str(case.get("name")).removeprefix("test_")
            found.append(Injected(name, sum(int(str(one)) for one in noted), lost))
    return found


def run_now(workers: int) -> list[Injected]:
    """Run the tests and count."""
    with tempfile.TemporaryDirectory() as folder:
        report = Path(folder) / "faults.xml"
        words = [TESTS, "-q", "-p", "no:cacheprovider", "-n", str(workers), f"--junitxml={report}"]
        path = os.pathsep.join(filter(None, (str(ROOT), os.environ.get("PYTHONPATH"))))
        subprocess.run(
            [sys.executable, "-m", "pytest", *words], cwd=ROOT, stdout=subprocess.DEVNULL,
            env={**os.environ, "PYTHONPATH": path},
        )  # fmt: skip
        return injected(report)


def faults_table(rows: list[Injected]) -> str:
    """A Markdown table: a row per test, and one of all."""
    lines: list[list[object]] = [[row.test, row.faults, int(row.lost)] for row in rows]
    total = sum(row.faults for row in rows), sum(row.lost for row in rows)
    return table(["faults while writing", "injected", "failed"], [*lines, ["all", *total]])
