"""A real cluster on loopback: the bytes of the local run, even when a worker is killed."""

from __future__ import annotations

import importlib.util
import json
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest
from cases.batches import batch, command, make_boards, states, tree

QUICK = ("--iterations", 30)


class Cluster(NamedTuple):
    address: str
    workers: list[subprocess.Popen[bytes]]


@pytest.fixture
def distributed() -> None:
    """A skip that says so where the package is missing."""
    if importlib.util.find_spec("distributed") is None:
        pytest.skip("no cluster: the package distributed is not installed")


@pytest.fixture
def cluster(tmp_path: Path, distributed: None) -> Iterator[Cluster]:
    """A scheduler and two worker processes, ended by their own handles."""
    found = tmp_path / "scheduler.json"
    local = ("--host", "127.0.0.1", "--no-dashboard")
    scheduler = _dask("scheduler", "--port", "0", "--scheduler-file", str(found), *local)
    started = [scheduler]
    try:
        while not found.exists() or not found.read_text().strip().endswith("}"):
            assert scheduler.poll() is None
            time.sleep(0.1)
        address = json.loads(found.read_text())["address"]
        workers = [
            _dask("worker", address, "--nthreads", "1", "--no-nanny", *local) for _ in range(2)
        ]
        started += workers
        yield Cluster(address, workers)
    finally:
        for process in started:
            process.kill()
            process.wait()


def _dask(*words: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "dask", *words],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


def test_the_same_bytes_as_here_and_one_worker_is_killed(cluster: Cluster, tmp_path: Path) -> None:
    boards = make_boards(tmp_path / "in", range(1, 9))
    (boards / "broken.kicad_pcb").write_text("(kicad_pcb (version 20221018)\n  (net 0")
    here = batch(boards, "--out", tmp_path / "here", "-j", 1, "--json", *QUICK)
    assert here.returncode == 1, here.stderr
    words = command(
        boards, "--out", tmp_path / "there", "--log", "json", "--cluster", cluster.address, *QUICK
    )
    done = 0
    with subprocess.Popen(
        words, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True
    ) as process:
        assert process.stderr is not None
        for text in process.stderr:
            event = json.loads(text)  # every line: what a library logs must not come between
            done += event["event"] == "board" and event["state"] == "done"
            if done == 2 and cluster.workers[0].poll() is None:
                cluster.workers[0].send_signal(signal.SIGKILL)
    assert process.returncode == 1  # the broken board, as here
    assert done == 8
    assert tree(tmp_path / "there") == tree(tmp_path / "here")
    again = batch(boards, "--out", tmp_path / "there", "--json", "--cluster", cluster.address,
                  *QUICK)  # fmt: skip
    assert sorted(states(again).values()) == ["failed", *["skipped"] * 8]


def test_seeds_are_spread_to_the_same_bytes(cluster: Cluster, tmp_path: Path) -> None:
    boards = make_boards(tmp_path / "in", range(1, 3))
    common = (boards, "--seeds", 3, *QUICK)
    assert batch(*common, "--out", tmp_path / "here", "-j", 1).returncode == 0
    found = batch(*common, "--out", tmp_path / "there", "--cluster", cluster.address)
    assert found.returncode == 0, found.stderr
    assert tree(tmp_path / "there") == tree(tmp_path / "here")


@pytest.mark.parametrize("address", ["nonsense://127.0.0.1:1", "tcp://127.0.0.1:1", "127.0.0.1"])
def test_no_scheduler_there(tmp_path: Path, distributed: None, address: str) -> None:
    boards = make_boards(tmp_path / "in", [1])
    found = batch(boards, "--out", tmp_path / "out", "--cluster", address)
    assert found.returncode == 2
    assert f"no scheduler answers at {address}" in found.stderr
    assert len(found.stderr.splitlines()) == 1
