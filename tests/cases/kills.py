"""A batch that is killed with kill -9 again and again, and what of it is done twice or lost."""

from __future__ import annotations

import hashlib
import json
import signal
import subprocess
import time
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from renet.batch.marker import MARKER


class Moment(NamedTuple):
    """When to kill: ``wait`` seconds after so many boards more were reported done."""

    boards: int
    wait: float


class Hit(NamedTuple):
    """A kill: boards finished by then, those of them by this run, and whether it was at work."""

    finished: int
    fresh: int
    working: bool

    def __str__(self) -> str:
        words = f"{self.finished} boards were finished, {self.fresh} of them by this run"
        return words if self.working else f"{words}, which had ended already"


class Disturbed(NamedTuple):
    """Boards finished at last, and when each was; faults in words; what every kill hit."""

    finished: dict[str, int]
    faults: list[str]
    hits: list[Hit]


def killed(words: Sequence[str], moment: Moment) -> tuple[list[dict[str, Any]], bool]:
    """Run, kill -9 at the moment, wait until no process of it is left.

    Its log, and whether it was still at work when it was killed.
    """
    process = subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
    assert process.stderr is not None
    lines = [process.stderr.readline()]
    done = 0
    while done < moment.boards and lines[-1]:
        lines.append(process.stderr.readline())
        done += '"state": "done"' in lines[-1]
    time.sleep(moment.wait)
    process.send_signal(signal.SIGKILL)
    lines += process.stderr.readlines()  # ends when the workers, too, are gone
    working = process.wait() == -signal.SIGKILL
    process.stderr.close()
    return [json.loads(line) for line in lines if line.endswith("}\n")], working


def marks(out: Path) -> dict[str, int]:
    """When each finished board was finished."""
    return {path.parent.name: path.stat().st_mtime_ns for path in out.glob(f"*/{MARKER}")}


def disturbed(words: Sequence[str], out: Path, moments: Iterable[Moment]) -> Disturbed:
    """Kill the batch at each of the moments, every time on what the last one left.

    ``words`` log as JSON.  Faults are boards done twice, not recognised, or lost.
    """
    finished: dict[str, int] = {}
    faults: list[str] = []
    hits: list[Hit] = []
    for number, moment in enumerate(moments, start=1):
        log, working = killed(words, moment)
        said = {str(event["name"]): event["state"] for event in log if event["event"] == "board"}
        faults += [
            f"kill {number}: {name} is {state}, but it was {'' if name in finished else 'not '}done"
            for name, state in said.items()
            if (state == "skipped") != (name in finished)
        ]
        now = marks(out)
        faults += changed(finished, now, f"kill {number}")
        hits.append(Hit(len(now), len(now) - len(finished), working))
        finished = now
    return Disturbed(finished, faults, hits)


def changed(before: dict[str, int], after: dict[str, int], when: str) -> list[str]:
    """Boards that were finished and are lost, or were done again."""
    return [
        f"{when}: {name} was {'done again' if name in after else 'lost'}"
        for name, mark in before.items()
        if after.get(name) != mark
    ]


def digests(folder: Path) -> dict[str, str]:
    """Every file below a folder by its digest: trees that are too large to be held."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
