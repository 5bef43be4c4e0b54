"""kill -9 at random moments, ten times, then on to the end: as if nothing had happened.

With a thousand boards: ``scripts/bench_batch``.
"""

from __future__ import annotations

import random
import time
from pathlib import Path

from cases.batches import batch, command, make_boards, states, tree
from cases.kills import Moment, changed, disturbed, marks

BOARDS, KILLS = 12, 10


def test_as_if_nothing_had_happened(tmp_path: Path) -> None:
    boards = make_boards(tmp_path / "in", range(1, BOARDS + 1))
    common = (boards, "--iterations", 30, "-j", 2)
    started = time.monotonic()
    undisturbed = batch(*common, "--out", tmp_path / "calm", "--json")
    whole = time.monotonic() - started
    assert undisturbed.returncode == 0, undisturbed.stderr

    chance = random.Random(7)
    out = tmp_path / "killed"
    words = command(*common, "--out", out, "--log", "json", "--resume")
    moments = [Moment(1, chance.uniform(0, 0.2))]
    moments += [Moment(0, chance.uniform(0, whole / 3)) for _ in range(KILLS - 1)]
    finished, faults, hits = disturbed(words, out, moments)
    assert faults == []
    assert hits[0].working and 0 < hits[0].finished < BOARDS  # or it would show nothing
    last = batch(*common, "--out", out, "--json", "--resume")
    assert last.returncode == 0, last.stderr
    found = states(last)
    assert {name for name, state in found.items() if state == "skipped"} == set(finished)
    assert changed(finished, marks(out), "the last run") == []
    assert tree(out) == tree(tmp_path / "calm")


def test_what_counts_as_lost_and_as_done_twice() -> None:
    before = {"a": 1, "b": 2, "c": 3}
    assert changed(before, {"a": 1, "b": 5, "d": 4}, "now") == [
        "now: b was done again", "now: c was lost",
    ]  # fmt: skip
