"""Worker processes that are replaced after some boards, and when they die.

Each worker has a pipe of its own, so a dead one tells which order died with it.
That order is given out once more, after all others, when there is most memory to
be had; the second time it is lost.  Results are pickled and read under guard: one
that cannot travel is lost with its reason, and the worker goes on.  A worker ends
by itself when the process that started it is gone, however that ended.
"""

from __future__ import annotations

import multiprocessing
import os
import pickle
import signal
import threading
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from multiprocessing import connection
from typing import Generic, NamedTuple, TypeVar

from renet.errors import InputError

_In = TypeVar("_In")
_Out = TypeVar("_Out")

LIFETIME = 100
_LIVES = 2
_ONE_THREAD = (
    "OMP_NUM_THREADS",
    "OPENBLAS_NUM_THREADS",
    "MKL_NUM_THREADS",
    "VECLIB_MAXIMUM_THREADS",
)
"""What numerical libraries read as they are loaded; every core has a worker of its own already."""


class Lost(NamedTuple):
    """An order without a result, and why; ``died``: its worker went with it."""

    why: str
    died: bool = False


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
        with _one_thread_each():
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
            data = self.pipe.recv_bytes()
        except (EOFError, OSError):
            self.process.join()
            return Lost(_ending(self.process.exitcode), died=True)
        try:
            found: _Out | Lost = pickle.loads(data)
        except Exception as fault:  # what reading it may raise is up to the result
            return Lost(_broken("read", fault))
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
            while waiting and len(crew) < workers and _enlisted(crew, serve):
                _give(crew[-1], waiting)
            for pipe in connection.wait([worker.pipe for worker in crew]):
                worker = next(one for one in crew if one.pipe is pipe)
                assert worker.order is not None
                index, _ = worker.order
                result = worker.result()
                died = isinstance(result, Lost) and result.died
                deaths[index] += died
                again = died and deaths[index] < _LIVES
                if again:
                    waiting.append(worker.order)
                if died or worker.given == lifetime or not waiting:
                    crew.remove(worker)
                    worker.end()
                else:
                    _give(worker, waiting)
                if not again:
                    yield index, result
    finally:
        for worker in crew:
            worker.end()


@contextmanager
def _one_thread_each() -> Iterator[None]:
    """Processes started meanwhile run one numerical thread, where the user has not said else."""
    ours = [name for name in _ONE_THREAD if name not in os.environ]
    os.environ.update(dict.fromkeys(ours, "1"))
    try:
        yield
    finally:
        for name in ours:
            del os.environ[name]


def _enlisted(crew: list[_Worker[_In, _Out]], serve: Callable[[_In], _Out]) -> bool:
    """One worker more; the system may refuse that, and then those at work go on alone."""
    try:
        crew.append(_Worker(serve))
    except OSError as fault:
        if not crew:
            raise InputError(
                f"no worker process can be started: {(fault.strerror or str(fault)).lower()}",
                "end other programs, or run fewer workers",
            ) from None
        return False
    return True


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
        pipe.send_bytes(_answer(serve, order))


def _answer(serve: Callable[[_In], _Out], order: _In) -> bytes:
    """The result as it travels, or the reason why there is none."""
    try:
        result = serve(order)
    except Exception as fault:  # it belongs to this order, not to the worker
        return pickle.dumps(Lost(f"internal error: {_words(fault)}; please report it"))
    try:
        return pickle.dumps(result)
    except Exception as fault:  # what pickling may raise is up to the result
        return pickle.dumps(Lost(_broken("handed over", fault)))


def _watch() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        connection.wait([parent.sentinel])
        os._exit(1)


def _ending(code: int | None) -> str:
    if code is not None and code < 0:
        return f"the worker was killed by signal {-code}, out of memory perhaps"
    return f"the worker ended with code {code}"


def _broken(verb: str, fault: Exception) -> str:
    return f"internal error: the result cannot be {verb}: {_words(fault)}; please report it"


def _words(fault: Exception) -> str:
    return f"{type(fault).__name__}: {fault}".replace("\n", " ")
