"""The bombs of ``tests/cases/bombs.py`` set off, each in a process of its own."""

from __future__ import annotations

import resource
import time
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import NamedTuple

from cases.bombs import BOMBS, Bomb

from renet.pipeline import Named, board_file

from .figures import table
from .guard import Find, Guard, limit_memory, outcome_of
from .targets import Depth, board, unmoved

LIMITS = Guard(seconds=600.0, mebibytes=6144)


class Blast(NamedTuple):
    """What came of a bomb; the bytes it had, the time it took, and what the process grew to."""

    found: Find
    size: int
    seconds: float
    mebibytes: int


def set_off(bomb: Bomb, size: int, guard: Guard = LIMITS) -> Blast:
    """Read it; where it can be used, write it without a move and measure it."""
    data = bomb.made(size)
    started = time.perf_counter()
    found = outcome_of(lambda: _used(data, size <= bomb.measured), guard)
    taken = time.perf_counter() - started
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss >> 10
    return Blast(found, len(data), taken, peak)


def _used(data: bytes, measured: bool) -> None:
    if measured:
        board(data, Depth.INSPECT)
    else:
        unmoved(board_file(Named("b", data)))


def as_expected(bomb: Bomb, found: Find) -> bool:
    """Whether it was used where it should be, or refused in the words it should be."""
    if bomb.said:
        return found.outcome == "refused" and bomb.said in found.line
    return found.outcome == "done"


def bombs_table() -> tuple[str, bool]:
    """A Markdown table of all bombs in full size, and whether each ended as expected."""
    rows: list[list[object]] = []
    good = True
    for number, bomb in enumerate(BOMBS):
        with ProcessPoolExecutor(1, initializer=limit_memory, initargs=(LIMITS,)) as pool:
            try:
                blast = pool.submit(_numbered, number).result()
            except BrokenProcessPool:
                blast = Blast(Find("memory", "the process died"), 0, 0.0, 0)
        fine = as_expected(bomb, blast.found)
        good = good and fine
        wanted = f'refused: "{bomb.said}"' if bomb.said else "used"
        came = "as expected" if fine else f"{blast.found.outcome}: {blast.found.line}"
        taken = f"{blast.seconds:.1f}", blast.mebibytes
        rows.append([bomb.what, blast.size, wanted, came, *taken])
    head = ["bomb", "bytes", "expected", "came", "s", "MiB of the process"]
    return table(head, rows), good


def _numbered(number: int) -> Blast:
    return set_off(BOMBS[number], BOMBS[number].size)
