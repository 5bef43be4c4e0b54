"""What a worker does with one board: a pure function from bytes to bytes."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

from renet import files
from renet.batch.orders import Order
from renet.batch.program import program_digest
from renet.changes import Figures
from renet.errors import InputError, RenetError, blame
from renet.limits import BLOCKED
from renet.objectives import CROSSINGS, blocked_by_plan, untangle_by
from renet.pipeline import Inputs, Job, Named, Options, silent
from renet.read.rules import read_rules
from renet.results import outputs_of

Standing = tuple[tuple[int, ...], int, int]


@dataclass(frozen=True, slots=True)
class Plan:
    """What holds for all boards of a batch.

    ``anew``: finished boards are done again.  ``channels``: the channel plan of
    every result is made, too, for the figure ``blocked``.  ``objective`` is one
    of :data:`renet.objectives.OBJECTIVES`.
    """

    out: Path
    options: Options
    seeds: int = 1
    anew: bool = False
    channels: bool = False
    objective: str = CROSSINGS


@dataclass(frozen=True, slots=True)
class Tables:
    """The files that a rules file names, read beforehand, so that a task can travel."""

    data: tuple[tuple[str, bytes], ...] = ()

    def __call__(self, name: str) -> bytes:
        """The bytes of one of them."""
        found = dict(self.data).get(name)
        if found is None:
            raise InputError(f'"{name}" cannot be read', "put it beside the rules file")
        return found


@dataclass(frozen=True, slots=True)
class Task:
    """A board with everything that its result hangs on; ``seeds`` are tried, the best is kept."""

    inputs: Inputs
    tables: Tables
    options: Options
    seeds: tuple[int, ...]
    channels: bool
    objective: str = CROSSINGS


class Solved(NamedTuple):
    """A finished job, and how it stands among those of other seeds."""

    job: Job
    standing: Standing


class Summary(NamedTuple):
    """What a finished board puts into the table of the batch; ``blocked`` if it was asked for."""

    before: Figures
    after: Figures
    moved_pins: int
    swaps: int
    proved_optimal: bool
    notes: tuple[str, ...] = ()
    blocked: int | None = None

    @property
    def figures(self) -> dict[str, float]:
        """What the result has, by the names that limits know."""
        planned = {} if self.blocked is None else {BLOCKED: self.blocked}
        return self.after._asdict() | planned


class Product(NamedTuple):
    """The files of a finished board, name and bytes, the change list last."""

    outputs: tuple[tuple[str, bytes], ...]
    summary: Summary


def load(order: Order, plan: Plan) -> Task:
    """Read all files of an order."""
    board, netlist, rules = (
        Named(str(path), files.read(path)) if path else None
        for path in (order.board, order.netlist, order.rules)
    )
    assert board is not None
    tables = _tables(rules, order.rules.parent) if rules and order.rules else Tables()
    if rules:
        rules = replace(rules, beside=tables)
    first = plan.options.params.seed
    seeds = tuple(range(first, first + plan.seeds))
    inputs = Inputs(board, netlist, rules)
    return Task(inputs, tables, plan.options, seeds, plan.channels, plan.objective)


def _tables(rules: Named, folder: Path) -> Tables:
    """The tables of functions that the rules name; faults of the rules are found later."""
    try:
        names = {record.file for record in read_rules(rules.data).offers if record.file}
    except RenetError:
        return Tables()
    with blame(rules.name):
        return Tables(tuple((name, files.read_inside(folder, name)) for name in sorted(names)))


def fingerprint(task: Task) -> str:
    """A digest of all that the result hangs on, the program itself included."""
    words = [program_digest().encode(), repr(task.options).encode()]
    words.append(repr((task.seeds, task.channels, task.objective)).encode())
    for named in (task.inputs.board, task.inputs.netlist, task.inputs.rules):
        words += [Path(named.name).name.encode(), named.data] if named else [b"", b""]
    for name, data in task.tables.data:
        words += [name.encode(), data]
    digest = hashlib.sha256()
    for word in words:
        digest.update(len(word).to_bytes(8, "big") + word)
    return digest.hexdigest()


def work(task: Task) -> Product:
    """Do one board, with the best of its seeds; among equals the first."""
    solved = (solve(task, seed) for seed in task.seeds)
    return product(task, min(solved, key=lambda one: one.standing).job)


def solve(task: Task, seed: int) -> Solved:
    """Do one board with one seed."""
    options = replace(task.options, params=replace(task.options.params, seed=seed))
    job, compared = untangle_by(task.objective, task.inputs, options, silent)
    if compared is None:
        after = job.result.after
        return Solved(job, (after.weighted, round(after.length_nm) + after.price_nm, seed))
    first, second = compared.standing
    return Solved(job, (first, second, seed))


def trial(task: Task, seed: int) -> Standing:
    """How one seed does, in the order of aims: less is better."""
    return solve(task, seed).standing


def product(task: Task, job: Job) -> Product:
    """The files of a finished job."""
    netlist = task.inputs.netlist
    board = Path(task.inputs.board.name).name
    outputs = outputs_of(job, Path(), board, Path(netlist.name).name if netlist else None)
    summary = Summary(
        job.scene.tangle.figures,
        job.tangle.figures,
        len(job.changes.moves),
        len(job.changes.swaps),
        job.result.proved_optimal,
        blocked=blocked(task, job),
    )
    return Product(tuple((str(o.path), o.data) for o in outputs.values()), summary)


def blocked(task: Task, job: Job) -> int | None:
    """Connections without a way in the channel plan of the result; None where nobody asked."""
    if not task.channels:
        return None
    return blocked_by_plan(task.inputs, job, task.options, silent)
