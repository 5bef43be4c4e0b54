"""The same work on an existing Dask scheduler: tasks carry bytes out and bring bytes back.

Workers need this package and nothing else, no shared folder: the files are read
and written here.  The scheduler gives the tasks of a lost worker to another.
"""

from __future__ import annotations

import importlib
import logging
import socket
import time
import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

from renet.batch.orders import Order
from renet.batch.program import program_digest
from renet.batch.run import Outcome, deliver, explained, failed, known, largest_first
from renet.batch.setwork import AnyTask, fingerprint_of, load_any, trial_any, work_any
from renet.batch.work import Plan, Product, Standing
from renet.errors import InputError

_PATIENCE = 20.0
_AHEAD = 3


def run_on_cluster(orders: Sequence[Order], plan: Plan, address: str) -> Iterator[Outcome]:
    """As :func:`renet.batch.run.run_batch`, and to the same bytes; InputError for no scheduler.

    With several seeds each (board, seed) is a task of its own.  Only a few boards
    per worker thread are on their way at a time.
    """
    with _hushed():
        yield from _run(orders, plan, address)


@contextmanager
def _hushed() -> Iterator[None]:
    """Stderr is for our own lines: a library's note of a lost worker would break a JSON log.

    What such a note says shows in the outcomes: the task was done elsewhere, or given up.
    """
    before = logging.root.manager.disable
    logging.disable(logging.CRITICAL)
    try:
        yield
    finally:
        logging.disable(before)


def _run(orders: Sequence[Order], plan: Plan, address: str) -> Iterator[Outcome]:
    distributed, client = _client(address)
    try:
        flow = distributed.as_completed(loop=client.loop)
        sent: dict[str, tuple[Order, AnyTask, float]] = {}
        for order in largest_first(orders):
            found = _sent(client, order, plan)
            if isinstance(found, Outcome):
                yield found
                continue
            future, task = found
            sent[future.key] = order, task, time.perf_counter()
            flow.add(future)
            while len(sent) >= _room(client):
                yield _received(next(flow), sent, plan)
        while sent:
            yield _received(next(flow), sent, plan)
    finally:
        client.close()


def attempt(task: AnyTask, program: str) -> Product | str:
    """One board, there; a fault comes back as its words, the same as here.

    ``program`` is the digest of the program that asks: another one would find
    other results, and they would be taken for its own.
    """
    try:
        _insist_on(program)
        return work_any(task)
    except Exception as fault:  # whatever it is, it belongs to this board alone
        return explained(fault)


def attempt_seed(task: AnyTask, program: str, seed: int) -> Standing | str:
    """How one seed does, there."""
    try:
        _insist_on(program)
        return trial_any(task, seed)
    except Exception as fault:  # as above
        return explained(fault)


def attempt_best(task: AnyTask, program: str, standings: Sequence[Standing | str]) -> Product | str:
    """One board with the seed that did best."""
    faults = [found for found in standings if isinstance(found, str)]
    if faults:
        return faults[0]
    seed = min(found for found in standings if not isinstance(found, str))[2]
    return attempt(replace(task, seeds=(seed,)), program)


def _insist_on(program: str) -> None:
    if program_digest() != program:
        raise InputError(
            f"the worker on {socket.gethostname()} runs another renet than the one that asks",
            "install the same version on every machine and start the workers again",
        )


def _sent(client: Any, order: Order, plan: Plan) -> Outcome | tuple[Any, AnyTask]:
    """A future for the order's product; or its outcome, where that is known already."""
    try:
        task = load_any(order, plan)
        found = known(order, plan, task)
    except Exception as fault:  # as above
        return failed(order, explained(fault))
    if found:
        return found
    program = program_digest()
    key = f"renet-{order.name}-{fingerprint_of(task)[:16]}"
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it warns of large tasks; a board is what it is
        if len(task.seeds) == 1:
            return client.submit(attempt, task, program, key=key, pure=False), task
        trials = [
            client.submit(attempt_seed, task, program, seed, key=f"{key}-{seed}", pure=False)
            for seed in task.seeds
        ]
        return client.submit(attempt_best, task, program, trials, key=key, pure=False), task


def _received(future: Any, sent: dict[str, tuple[Order, AnyTask, float]], plan: Plan) -> Outcome:
    """Write what came back."""
    order, task, started = sent.pop(future.key)
    try:
        product = future.result()
        outcome = (
            failed(order, product)
            if isinstance(product, str)
            else deliver(order, plan, task, product)
        )
    except Exception as fault:  # the scheduler gave it up, or it cannot be written
        name = type(fault).__name__
        lost = name in ("KilledWorker", "CancelledError", "FutureCancelledError")
        why = f"the cluster gave this board up ({name}); see its log"
        outcome = failed(order, why if lost else explained(fault))
    return outcome._replace(seconds=time.perf_counter() - started)


def _room(client: Any) -> int:
    threads: int = sum(client.nthreads().values())
    return _AHEAD * max(threads, 1)


def _client(address: str) -> tuple[Any, Any]:
    try:
        distributed = importlib.import_module("distributed")
    except ImportError:
        raise InputError(
            "--cluster needs the package distributed", "install renet[cluster]"
        ) from None
    try:
        host, port = distributed.comm.get_address_host_port(address, strict=True)
        socket.create_connection((host, port), _PATIENCE).close()  # it fails sooner and quieter
        return distributed, distributed.Client(address, timeout=_PATIENCE, set_as_default=False)
    except (OSError, ValueError) as fault:
        raise InputError(
            f"no scheduler answers at {address}: {fault}".replace("\n", " "),
            "start it, and check address and port",
        ) from None
