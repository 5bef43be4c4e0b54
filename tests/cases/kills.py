"""A batch that is killed with kill -9 again and again, and what of it is done twice or lost."""

from __future__ import annotations

import hashlib
import json
import signal
import subprocess
import time
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from renet.batch.marker import MARKER


def killed(words: Sequence[str], wait: float) -> list[dict[str, Any]]:
    """Run, kill -9 some time after the start, wait until no process of it is left; its log."""
    process = subprocess.Popen(words, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True)
    assert process.stderr is not None
    first = process.stderr.readline()
    time.sleep(wait)
    process.send_signal(signal.SIGKILL)
    rest = process.stderr.read()  # ends when the workers, too, are gone
    process.wait()
    process.stderr.close()
    return [json.loads(line) for line in (first + rest).splitlines() if line.endswith("}")]


def marks(out: Path) -> dict[str, int]:
    """When each finished board was finished."""
    return {path.parent.name: path.stat().st_mtime_ns for path in out.glob(f"*/{MARKER}")}


def disturbed(
    words: Sequence[str], out: Path, waits: Iterable[float]
) -> tuple[dict[str, int], list[str]]:
    """Kill the batch after each of ``waits``, every time on what the last one left.

    ``words`` log as JSON.  What was finished at last, and when; and what was done
    twice, not recognised, or lost, in words.
    """
    finished: dict[str, int] = {}
    faults: list[str] = []
    for number, wait in enumerate(waits, start=1):
        log = killed(words, wait)
        said = {str(event["name"]): event["state"] for event in log if event["event"] == "board"}
        faults += [
            f"kill {number}: {name} is {state}, but it was {'' if name in finished else 'not '}done"
            for name, state in said.items()
            if (state == "skipped") != (name in finished)
        ]
        now = marks(out)
        faults += changed(finished, now, f"kill {number}")
        finished = now
    return finished, faults


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
