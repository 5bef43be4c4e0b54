"""kill -9 at random moments, ten times, then on to the end: as if nothing had happened."""

from __future__ import annotations

import json
import random
import signal
import subprocess
import time
from pathlib import Path

from cases.batches import batch, command, make_boards, states, tree

from renet.batch.marker import MARKER

KILLS = 10


def killed(words: list[str], wait: float) -> list[dict[str, object]]:
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


def test_as_if_nothing_had_happened(tmp_path: Path) -> None:
    boards = make_boards(tmp_path / "in", range(1, 13))
    common = (boards, "--iterations", 30, "-j", 2)
    started = time.monotonic()
    undisturbed = batch(*common, "--out", tmp_path / "calm", "--json")
    whole = time.monotonic() - started
    assert undisturbed.returncode == 0, undisturbed.stderr

    chance = random.Random(7)
    out = tmp_path / "killed"
    words = command(*common, "--out", out, "--log", "json", "--resume")
    finished: dict[str, int] = {}
    for _ in range(KILLS):
        log = killed(words, chance.uniform(0, whole / 3))
        said = {str(event["name"]): event["state"] for event in log if event["event"] == "board"}
        assert all((said[name] == "skipped") == (name in finished) for name in said)
        now = marks(out)
        assert {name: now.get(name) for name in finished} == finished  # nothing done twice
        finished = now
    last = batch(*common, "--out", out, "--json", "--resume")
    assert last.returncode == 0, last.stderr
    found = states(last)
    assert {name for name, state in found.items() if state == "skipped"} == set(finished)
    assert {name: marks(out)[name] for name in finished} == finished
    assert tree(out) == tree(tmp_path / "calm")
