"""Worker processes: order, replacement, and what happens when one dies."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

import pytest

from renet.batch.crew import Lost, available, run_all


def double(number: int) -> tuple[int, int]:
    return 2 * number, os.getpid()


def die(given: tuple[Path, int]) -> int:
    """Kills itself at 3, and once, the first time, at 5."""
    folder, number = given
    if number == 3:
        os.kill(os.getpid(), signal.SIGKILL)
    if number == 5 and not (folder / "died").exists():
        (folder / "died").touch()
        os._exit(4)
    return number


def linger(folder: Path) -> None:
    (folder / str(os.getpid())).touch()
    time.sleep(60)


@pytest.mark.parametrize("workers", [1, 3])
def test_every_order_has_its_result_and_workers_are_replaced(workers: int) -> None:
    found = dict(run_all(range(10), double, workers, lifetime=2))
    assert {index: result[0] for index, result in found.items()} == {n: 2 * n for n in range(10)}
    pids = [result[1] for result in found.values()]
    assert all(pids.count(pid) <= 2 for pid in pids)
    assert os.getpid() not in pids


def test_no_orders() -> None:
    assert list(run_all([], double, 2)) == []


def test_a_dead_worker_takes_one_order_with_it(tmp_path: Path) -> None:
    orders = [(tmp_path, number) for number in range(8)]
    found = dict(run_all(orders, die, 2))
    assert isinstance(found[3], Lost)
    assert "signal 9" in found[3].why
    assert [found[n] for n in range(8) if n != 3] == [0, 1, 2, 4, 5, 6, 7]


def test_closing_ends_all_workers(tmp_path: Path) -> None:
    results = run_all([tmp_path, tmp_path], linger_or_return, 2)
    next(results)
    results.close()
    for path in tmp_path.iterdir():
        with pytest.raises(ProcessLookupError):
            os.kill(int(path.name), 0)


def linger_or_return(folder: Path) -> None:
    """The first to come returns when the other has begun to linger."""
    try:
        (folder / "first").mkdir()
    except FileExistsError:
        linger(folder)
    (folder / "first").rename(folder / str(os.getpid()))


def test_cores() -> None:
    assert 1 <= available() <= (os.cpu_count() or 1)
