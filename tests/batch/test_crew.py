"""Worker processes: order, replacement, and what happens when one dies."""

from __future__ import annotations

import errno
import os
import signal
import time
from multiprocessing.process import BaseProcess
from pathlib import Path

import pytest

from renet.batch.crew import Lost, available, run_all
from renet.errors import InputError


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


class Heavy:
    """A result that cannot be sent, or not be read, or that takes its worker along."""

    def __init__(self, how: str) -> None:
        self.how = how

    def __reduce__(self) -> tuple[object, tuple[object, ...]]:
        if self.how == "unsent":
            raise ValueError("a result\nthat cannot travel")
        return explode, ("it bursts",)


def explode(words: str) -> None:
    raise KeyError(words)


def answer(word: str) -> object:
    if word in ("unsent", "unread"):
        return Heavy(word)
    if word == "raises":
        raise RuntimeError("in the middle")
    if word == "exits":
        os._exit(3)
    return word, os.getpid()


def threads(_: int) -> tuple[str | None, str | None]:
    return os.environ.get("OMP_NUM_THREADS"), os.environ.get("OPENBLAS_NUM_THREADS")


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


def test_a_result_that_cannot_travel_is_its_own_failure_alone() -> None:
    words = ["a", "unsent", "b", "unread", "c", "raises", "d", "exits", "e"]
    found = dict(run_all(words, answer, 1))
    assert sorted(found) == list(range(len(words)))
    lost = {words[index]: result for index, result in found.items() if isinstance(result, Lost)}
    assert set(lost) == {"unsent", "unread", "raises", "exits"}
    assert "ValueError: a result that cannot travel" in lost["unsent"].why
    assert "it bursts" in lost["unread"].why
    assert "RuntimeError: in the middle" in lost["raises"].why
    assert lost["exits"] == Lost("the worker ended with code 3", died=True)
    whole = [result for result in found.values() if not isinstance(result, Lost)]
    assert [word for word, _ in whole] == ["a", "b", "c", "d", "e"]
    assert len({pid for _, pid in whole[:4]}) == 1  # its worker went on
    assert whole[4][1] != whole[0][1]


def test_a_system_without_processes_to_spare(monkeypatch: pytest.MonkeyPatch) -> None:
    started = []

    def once(process: BaseProcess) -> None:
        started.append(process)
        if len(started) != 1:
            raise OSError(errno.EAGAIN, os.strerror(errno.EAGAIN))
        start(process)

    start = BaseProcess.start
    monkeypatch.setattr(BaseProcess, "start", once)
    found = dict(run_all(range(4), double, 2))
    assert [found[n][0] for n in range(4)] == [0, 2, 4, 6]
    assert len(started) > 1
    with pytest.raises(InputError, match="no worker process can be started: resource"):
        list(run_all(range(4), double, 2))


def test_a_worker_takes_one_core_unless_the_user_says_else(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("OPENBLAS_NUM_THREADS", raising=False)
    monkeypatch.setenv("OMP_NUM_THREADS", "3")
    assert [found for _, found in run_all([1], threads, 1)] == [("3", "1")]
    assert "OPENBLAS_NUM_THREADS" not in os.environ


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
