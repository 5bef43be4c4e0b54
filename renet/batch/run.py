"""A whole batch: orders in, one outcome each out, on this machine."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from renet import files
from renet.batch.crew import Lost, run_all
from renet.batch.marker import finished, store
from renet.batch.orders import Order
from renet.batch.setwork import AnyTask, fingerprint_of, load_any, sources_of, work_any
from renet.batch.work import Plan, Product, Summary
from renet.errors import RenetError


class Outcome(NamedTuple):
    """What became of one order: ``state`` is ``done``, ``skipped`` or ``failed``.

    ``files`` are names in the order's folder; ``peak_mib`` is the most memory
    that the worker has held so far and ``worker`` its process id, 0 where nobody knows.
    """

    order: Order
    state: str
    error: str = ""
    summary: Summary | None = None
    files: tuple[str, ...] = ()
    seconds: float = 0.0
    peak_mib: float = 0.0
    worker: int = 0


def run_batch(orders: Sequence[Order], plan: Plan, workers: int) -> Iterator[Outcome]:
    """Do all orders in worker processes; outcomes come as they fall, the largest boards first.

    Nothing that goes wrong with one board stops another.
    """
    ranked = largest_first(orders)
    given = [(order, plan) for order in ranked]
    for index, found in run_all(given, do_order, workers):
        yield failed(ranked[index], found.why) if isinstance(found, Lost) else found


def largest_first(orders: Sequence[Order]) -> list[Order]:
    """Orders by the size of their boards, so that no worker ends with the longest job."""
    return sorted(orders, key=lambda order: (-files.size(order.board), order.name))


def do_order(given: tuple[Order, Plan]) -> Outcome:
    """Do one order here, or find it done."""
    order, plan = given
    started = time.perf_counter()
    try:
        outcome = _found_or_done(order, plan)
    except Exception as fault:  # whatever it is, it must not stop the other boards
        outcome = failed(order, explained(fault))
    seconds = time.perf_counter() - started
    return outcome._replace(seconds=seconds, peak_mib=_peak_mib(), worker=os.getpid())


def _found_or_done(order: Order, plan: Plan) -> Outcome:
    task = load_any(order, plan)
    return known(order, plan, task) or deliver(order, plan, task, work_any(task))


def known(order: Order, plan: Plan, task: AnyTask) -> Outcome | None:
    """The outcome of an order that an earlier run has finished."""
    found = None if plan.anew else finished(plan.out / order.name, fingerprint_of(task))
    return Outcome(order, "skipped", "", found[0], tuple(found[1])) if found else None


def deliver(order: Order, plan: Plan, task: AnyTask, product: Product) -> Outcome:
    """Write the files of a finished order."""
    sources = [*order.sources, *sources_of(task)]
    names = store(plan.out / order.name, fingerprint_of(task), product, sources)
    return Outcome(order, "done", "", product.summary, tuple(names))


def failed(order: Order, why: str) -> Outcome:
    """An order that came to nothing."""
    return Outcome(order, "failed", why)


def explained(fault: Exception) -> str:
    """One line for people on what went wrong."""
    if isinstance(fault, RenetError):
        return str(fault)
    if isinstance(fault, MemoryError):
        return "out of memory; run fewer workers or take a smaller board"
    text = f"internal error: {type(fault).__name__}: {fault}; please report it with the input files"
    return text.replace("\n", " ")


def _peak_mib() -> float:
    """The most memory that this process has held; 0.0 where the system does not say."""
    try:
        import resource
    except ImportError:
        return 0.0
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return round(most / (1 << 20 if sys.platform == "darwin" else 1 << 10), 1)
