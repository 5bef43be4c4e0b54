"""Batches for tests: small boards by seed, the command in a process of its own, trees of bytes."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from cases.making import BY_NAME, by_parts, job, random_board, rules_of, write

PROGRAM = (sys.executable, "-c", "from renet.cli import main; main()")


def make_boards(folder: Path, seeds: Iterable[int], parts: int = 20) -> Path:
    """Boards with netlists and rules, one version of the format after the other."""
    names = list(BY_NAME)
    for seed in seeds:
        made = random_board(by_parts(seed, parts))
        version = BY_NAME[names[seed % len(names)]]
        write(job(made.design.name, made.design, version, rules_of(made)), folder)
    return folder


def tree(folder: Path) -> dict[str, bytes]:
    """Every file below a folder."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def batch(*words: object) -> subprocess.CompletedProcess[str]:
    """``renet batch`` in a process of its own."""
    return subprocess.run(command(*words), capture_output=True, text=True, check=False)


def command(*words: object) -> list[str]:
    return [*PROGRAM, "batch", *map(str, words)]


def states(result: subprocess.CompletedProcess[str]) -> dict[str, str]:
    """Name -> state from ``--json``."""
    record: dict[str, Any] = json.loads(result.stdout)
    return {board["name"]: board["state"] for board in record["boards"]}
