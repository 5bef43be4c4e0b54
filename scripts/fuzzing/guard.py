"""One case run under guard: what came of it, in one word and one line."""

from __future__ import annotations

import contextlib
import random
import resource
import signal
import traceback
import warnings
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from pathlib import Path
from types import FrameType
from typing import NamedTuple

from renet.errors import GateError, RenetError

from .mutate import mutated
from .sound import Case, corpus_cases, small_cases
from .targets import Depth, depth_of, work_of

GOOD = ("done", "refused", "gate")
CORPUS_SHARE = 0.003
SHARES = {
    "board": 18,
    "netlist": 14,
    "edif": 9,
    "records": 10,
    "rules": 11,
    "swaps": 12,
    "sheet": 9,
    "functions": 7,
    "set": 6,
    "setlist": 4,
}
"""Of a hundred small cases, so many are of this kind."""


class Guard(NamedTuple):
    """Limits of one case."""

    seconds: float = 20.0
    mebibytes: int = 1024


class Find(NamedTuple):
    """What came of a case: a word; what a refusal says, or the error and where it arose."""

    outcome: str
    line: str = ""

    @property
    def bad(self) -> bool:
        return self.outcome not in GOOD


class Hang(BaseException):
    """Raised by the alarm; no ``except Exception`` swallows it."""


@cache
def _pool(corpus: bool, kinds: tuple[str, ...]) -> dict[str, list[Case]]:
    """Sound files by kind, only of the kinds asked for (of all where none is)."""
    found: dict[str, list[Case]] = {}
    for case in corpus_cases() if corpus else small_cases():
        if not kinds or case.kind in kinds:
            found.setdefault(case.kind, []).append(case)
    return found


def case_of(seed: int, number: int, kinds: Sequence[str] = ()) -> Case:
    """The damaged file of this number: the same in every run with the same seed."""
    dice = random.Random(f"{seed}:{number}")
    pool = _pool(dice.random() < CORPUS_SHARE, tuple(kinds)) or _pool(False, tuple(kinds))
    (kind,) = dice.choices(list(pool), [SHARES[kind] for kind in pool])
    chosen = dice.choice(pool[kind])
    return Case(chosen.kind, f"{chosen.name}-{seed}-{number}", mutated(dice, chosen.data))


def run(case: Case, guard: Guard, depth: Depth | None = None) -> Find:
    """Do with the case what its depth asks for; a warning is a find like an exception."""
    return outcome_of(work_of(case, depth_of(case.data) if depth is None else depth), guard)


def outcome_of(work: Callable[[], None], guard: Guard) -> Find:
    """What comes of ``work`` within limits of time and memory."""
    try:
        with _alarm(guard.seconds), warnings.catch_warnings():
            warnings.simplefilter("error")
            work()
    except GateError as fault:
        return Find("gate", _where(fault))
    except RenetError as fault:
        whole = bool(fault.what) and "\n" not in str(fault)
        return Find("refused", str(fault)) if whole else Find("unclear", repr(str(fault)))
    except Hang as fault:
        return Find("hang", _where(fault))
    except MemoryError as fault:
        return Find("memory", _where(fault))
    except Exception as fault:
        return Find("traceback", _where(fault))
    return Find("done")


def limit_memory(guard: Guard) -> None:
    """This process may grow by so much and no more."""
    pages = int(Path("/proc/self/statm").read_text().split()[0])
    most = pages * resource.getpagesize() + (guard.mebibytes << 20)
    resource.setrlimit(resource.RLIMIT_AS, (most, most))


@contextlib.contextmanager
def _alarm(seconds: float) -> Iterator[None]:
    def ring(number: int, frame: FrameType | None) -> None:
        raise Hang(f"more than {seconds:g} s")

    old = signal.signal(signal.SIGALRM, ring)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, old)


def _where(fault: BaseException) -> str:
    frames = [f for f in traceback.extract_tb(fault.__traceback__) if "/renet/" in f.filename]
    frames = frames or list(traceback.extract_tb(fault.__traceback__))
    at = f"{Path(frames[-1].filename).name}:{frames[-1].lineno}" if frames else "?"
    return f"{at} {type(fault).__name__}: {str(fault)[:150]}"
