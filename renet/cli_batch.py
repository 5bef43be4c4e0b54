"""The command ``renet batch``: the main job over many boards."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from renet import files
from renet.cli_options import FILE, counted, option, reporting, search
from renet.inputs import options_of
from renet.limits import exceeded, limits_of, wants_plan
from renet.objectives import CHANNELS, refuse_frontier

if TYPE_CHECKING:
    from renet.batch.orders import Order
    from renet.batch.run import Outcome
    from renet.batch.work import Plan

_WIDTH = 30


@click.command()
@click.argument("paths", nargs=-1, required=True, type=FILE, metavar="PATH...")
@option("-o", "--out", type=FILE, default=Path("renet-batch"), show_default=True,
              help="Folder for the results, one folder in it per board.")  # fmt: skip
@option("--rules", type=FILE, help="For all boards [default: NAME.rules.toml beside each].")
@counted
@search
@option("--seeds", type=click.IntRange(1, 10_000), default=1, show_default=True,
              help="Try so many seeds from --seed on and keep the best.")  # fmt: skip
@option("-j", "--workers", type=click.IntRange(1, 1024), help="Processes [default: cores].")
@option("--cluster", metavar="ADDRESS", help="Work on this Dask scheduler, not here.")
@option("--resume/--anew", default=True, show_default=True,
              help="Take finished, unchanged boards as they are, or do all again.")  # fmt: skip
@option("--log", type=click.Choice(["json"]), help="Log on stderr, one JSON object a line.")
@reporting
def batch(paths: tuple[Path, ...], as_json: bool, quiet: bool, **chosen: Any) -> int:
    """Do the main job for every board in PATH... (boards, set files, or folders with boards).

    NAME.net (or NAME.edf) and NAME.rules.toml beside a board belong to it. Exit code 1
    when a board failed or is above a limit.
    """
    from renet.batch.orders import find_orders
    from renet.batch.summary import batch_record, documents
    from renet.batch.work import Plan

    limits = limits_of(chosen["fail_above"])
    anew = not chosen["resume"]
    options, objective = options_of(chosen), chosen["objective"]
    refuse_frontier(objective, options)
    planned = wants_plan(limits) or objective == CHANNELS
    plan = Plan(chosen["out"], options, chosen["seeds"], anew, planned, objective)
    orders = find_orders(paths, plan.out, chosen["rules"])
    screen = _Screen(orders, as_json or quiet, chosen["log"] == "json")
    for outcome in _outcomes(orders, plan, chosen):
        screen.show(outcome)
    outcomes = screen.in_order()
    files.sweep(plan.out)
    sources = [path for order in orders for path in order.sources]
    texts = documents(outcomes)
    files.write_all([files.Output(plan.out / n, t.encode()) for n, t in texts.items()], sources)
    faults = [exceeded(limits, o.summary.figures) if o.summary else [] for o in outcomes]
    record = batch_record(outcomes, faults)
    screen.end(record, faults)
    if as_json:
        click.echo(json.dumps(record, indent=1, ensure_ascii=True, allow_nan=False))
    return 1 if record["counts"]["failed"] or any(faults) else 0


def _outcomes(orders: Sequence[Order], plan: Plan, chosen: dict[str, Any]) -> Iterator[Outcome]:
    from renet.batch.cluster import run_on_cluster
    from renet.batch.crew import available
    from renet.batch.run import run_batch

    if chosen["cluster"]:
        return run_on_cluster(orders, plan, chosen["cluster"])

    return run_batch(orders, plan, min(chosen["workers"] or available(), len(orders)))


class _Screen:
    """What a person and a program see of a batch while it runs."""

    def __init__(self, orders: Sequence[Order], silent: bool, log: bool) -> None:
        self._silent, self._log = silent, log
        self._bar = not silent and not log and sys.stderr.isatty()
        self._sizes = {order.name: files.size(order.board) + 1 for order in orders}
        self._found: dict[str, Outcome] = {}
        self._started = time.monotonic()
        self._say("start", boards=len(orders))

    def show(self, outcome: Outcome) -> None:
        """One board is through."""
        from renet.batch.summary import line
        from renet.report.tables import shown

        self._found[outcome.order.name] = outcome
        error = outcome.error or None
        after = outcome.summary.figures if outcome.summary else None
        self._say("board", name=outcome.order.name, state=outcome.state, error=error, after=after,
                  took=round(outcome.seconds, 3), peak_mib=outcome.peak_mib)  # fmt: skip
        self._wipe()
        if outcome.state == "failed" and self._silent:
            click.echo(f"renet: {outcome.order.name}: {shown(outcome.error)}", err=True)
        elif not self._silent:
            click.echo(line(outcome))
        if self._bar:
            click.echo(self._progress(), nl=False, err=True)

    def in_order(self) -> list[Outcome]:
        """All outcomes in the order of the orders."""
        return [self._found[name] for name in self._sizes]

    def end(self, record: dict[str, Any], faults: Sequence[Sequence[str]]) -> None:
        """The whole batch is through."""
        seconds = round(time.monotonic() - self._started, 3)
        record["seconds"] = seconds
        self._wipe()
        self._say("end", **record["counts"])
        for name, above in zip(self._sizes, faults, strict=True):
            for fault in above:
                click.echo(f"renet: {name}: {fault}", err=True)
        if not self._silent:
            counts = ", ".join(f"{count} {state}" for state, count in record["counts"].items())
            click.echo(f"\n{len(self._sizes)} boards in {seconds:.1f} s: {counts}")

    def _progress(self) -> str:
        """A bar by bytes of boards, which tell the work better than their number."""
        total = sum(self._sizes.values())
        share = sum(self._sizes[name] for name in self._found) / total
        elapsed = time.monotonic() - self._started
        left = elapsed * (1 - share) / share
        full = round(share * _WIDTH)
        bar = "#" * full + "." * (_WIDTH - full)
        return f"\r\x1b[K[{bar}] {len(self._found)}/{len(self._sizes)}  {_clock(left)} left"

    def _wipe(self) -> None:
        if self._bar:
            click.echo("\r\x1b[K", nl=False, err=True)

    def _say(self, event: str, **facts: Any) -> None:
        if self._log:
            seconds = round(time.monotonic() - self._started, 3)
            record = {"event": event, "seconds": seconds, **facts}
            click.echo(json.dumps(record, ensure_ascii=True, allow_nan=False), err=True)


def _clock(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    return f"{minutes // 60}:{minutes % 60:02}:{rest:02}"
