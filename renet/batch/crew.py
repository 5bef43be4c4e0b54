"""Worker processes that are replaced after some boards, and when they die.

Each worker has a pipe of its own, so a dead one tells which order died with it.
That order is given out once more; the second time it is lost.  A worker ends by
itself when the process that started it is gone, however that ended.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from multiprocessing import connection
from typing import Generic, NamedTuple, TypeVar

_In = TypeVar("_In")
_Out = TypeVar("_Out")

LIFETIME = 100
_LIVES = 2


class Lost(NamedTuple):
    """An order whose workers died, and how the last one ended."""

    why: str


def available() -> int:
    """Processor cores that this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


class _Worker(Generic[_In, _Out]):
    """A process, the pipe to it, and what it has in hand."""

    def __init__(self, serve: Callable[[_In], _Out]) -> None:
        context = multiprocessing.get_context("spawn")
        self.pipe, theirs = context.Pipe()
        self.process = context.Process(target=_attend, args=(theirs, serve), daemon=True)
        self.process.start()
        theirs.close()
        self.order: tuple[int, _In] | None = None
        self.given = 0

    def give(self, order: tuple[int, _In]) -> None:
        self.order = order
        self.given += 1
        self.pipe.send(order[1])

    def result(self) -> _Out | Lost:
        """What came back, once there is something to hear."""
        try:
            found: _Out = self.pipe.recv()
        except (EOFError, OSError):
            self.process.join()
            return Lost(_ending(self.process.exitcode))
        return found

    def end(self) -> None:
        self.pipe.close()
        self.process.terminate()
        self.process.join()


def run_all(
    orders: Sequence[_In], serve: Callable[[_In], _Out], workers: int, lifetime: int = LIFETIME
) -> Iterator[tuple[int, _Out | Lost]]:
    """Index and result of every order, as they come; begun in the order given.

    ``serve`` must be importable by name in a fresh process.  Closing the
    iterator ends all workers at once.
    """
    waiting = deque(enumerate(orders))
    deaths = [0] * len(orders)
    crew: list[_Worker[_In, _Out]] = []
    try:
        while waiting or crew:
            while waiting and len(crew) < workers:
                crew.append(_Worker(serve))
                _give(crew[-1], waiting)
            for pipe in connection.wait([worker.pipe for worker in crew]):
                worker = next(one for one in crew if one.pipe is pipe)
                assert worker.order is not None
                index, _ = worker.order
                result = worker.result()
                if isinstance(result, Lost):
                    deaths[index] += 1
                    if deaths[index] < _LIVES:
                        waiting.appendleft(worker.order)
                if isinstance(result, Lost) or worker.given == lifetime or not waiting:
                    crew.remove(worker)
                    worker.end()
                else:
                    _give(worker, waiting)
                if not isinstance(result, Lost) or deaths[index] == _LIVES:
                    yield index, result
    finally:
        for worker in crew:
            worker.end()


def _give(worker: _Worker[_In, _Out], waiting: deque[tuple[int, _In]]) -> None:
    order = waiting.popleft()
    try:
        worker.give(order)
    except OSError:  # it died idle; its pipe says so to the next wait
        worker.order = order


def _attend(pipe: connection.Connection, serve: Callable[[_In], _Out]) -> None:
    """The life of a worker: one order after the other, until the pipe closes."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the process that started it decides
    threading.Thread(target=_watch, daemon=True).start()
    while True:
        try:
            order = pipe.recv()
        except (EOFError, OSError):
            return
        pipe.send(serve(order))


def _watch() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        connection.wait([parent.sentinel])
        os._exit(1)


def _ending(code: int | None) -> str:
    if code is not None and code < 0:
        return f"the worker was killed by signal {-code}, out of memory perhaps"
    return f"the worker ended with code {code}"
