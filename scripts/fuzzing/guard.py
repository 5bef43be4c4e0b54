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
from .targets import TARGETS, Case, corpus_cases, small_cases

GOOD = ("done", "refused", "gate")
CORPUS_SHARE = 0.02


class Guard(NamedTuple):
    """Limits of one case."""

    seconds: float = 20.0
    mebibytes: int = 1024


class Find(NamedTuple):
    """What came of a case: a word, and for bad ones the error and where it arose."""

    outcome: str
    line: str = ""

    @property
    def bad(self) -> bool:
        return self.outcome not in GOOD


class Hang(BaseException):
    """Raised by the alarm; no ``except Exception`` swallows it."""


small_once = cache(small_cases)
corpus_once = cache(corpus_cases)


def case_of(seed: int, number: int, kinds: Sequence[str] = ()) -> Case:
    """The damaged file of this number: the same in every run with the same seed."""
    dice = random.Random(f"{seed}:{number}")
    pool = corpus_once() if dice.random() < CORPUS_SHARE else small_once()
    chosen = dice.choice([case for case in pool if not kinds or case.kind in kinds] or pool)
    return Case(chosen.kind, f"{chosen.name}-{seed}-{number}", mutated(dice, chosen.data))


def run(case: Case, guard: Guard) -> Find:
    """Do everything with the case; any exception but RenetError is a find, so is a warning."""
    return outcome_of(lambda: TARGETS[case.kind](case.data), guard)


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
        return Find("refused") if whole else Find("unclear", repr(str(fault)))
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
