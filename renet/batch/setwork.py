"""What a worker does with a set of boards, and one name each for both kinds of task."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from pathlib import Path

from renet import files
from renet.batch.orders import SET, Order, beside
from renet.batch.work import (
    Plan,
    Product,
    Standing,
    Summary,
    Task,
    blocked,
    fingerprint,
    load,
    trial,
    work,
)
from renet.errors import InputError, blame
from renet.objectives import CROSSINGS
from renet.pipeline import Options
from renet.read.setfile import read_set
from renet.results import outputs_of
from renet.sets.records import BoardSet, Member
from renet.sets.run import SetJob, set_text, total, untangle_set


@dataclass(frozen=True, slots=True)
class SetTask:
    """A set with everything that its result hangs on; ``tasks`` are its boards in order."""

    name: str
    data: bytes
    tasks: tuple[Task, ...]
    options: Options
    seeds: tuple[int, ...]

    @property
    def found(self) -> BoardSet:
        """The records of the set file."""
        with blame(self.name):
            return read_set(self.data)


AnyTask = Task | SetTask


def load_any(order: Order, plan: Plan) -> AnyTask:
    """Read all files of an order."""
    if order.board.suffix != SET:
        return load(order, plan)
    data = files.read(order.board)
    with blame(str(order.board)):
        found = read_set(data)
        if plan.objective != CROSSINGS or plan.options.frontier:
            raise InputError(
                "boards that mate are searched as one, by their crossings",
                "leave out --objective and --frontier, or give their boards one by one",
            )
    tasks = [load(member_order(order.board, m), plan) for m in found.members]
    return SetTask(str(order.board), data, tuple(tasks), plan.options, tasks[0].seeds)


def member_order(set_file: Path, member: Member) -> Order:
    """The files of one board of a set, all of them in or below the folder of the set file."""
    folder = set_file.parent
    with blame(str(set_file)):
        order = beside(files.inside(folder, member.file))._replace(name=member.name)
        if member.netlist:
            order = order._replace(netlist=files.inside(folder, member.netlist))
        if member.rules:
            order = order._replace(rules=files.inside(folder, member.rules))
    return order


def sources_of(task: AnyTask) -> list[Path]:
    """The files that must not be overwritten."""
    tasks = task.tasks if isinstance(task, SetTask) else (task,)
    named = [n for t in tasks for n in (t.inputs.board, t.inputs.netlist, t.inputs.rules) if n]
    return [Path(one.name) for one in named]


def fingerprint_of(task: AnyTask) -> str:
    """A digest of all that the result hangs on."""
    if isinstance(task, Task):
        return fingerprint(task)
    words = [Path(task.name).name, files.sha256(task.data), *map(fingerprint, task.tasks)]
    return hashlib.sha256("\n".join(words).encode()).hexdigest()


def work_any(task: AnyTask) -> Product:
    """Do a board or a set, with the best of its seeds."""
    if isinstance(task, Task):
        return work(task)
    jobs = [(_standing(job, seed), job) for seed in task.seeds if (job := _solve(task, seed))]
    return _product(task, min(jobs, key=lambda pair: pair[0])[1])


def trial_any(task: AnyTask, seed: int) -> Standing:
    """How one seed does, in the order of aims: less is better."""
    return trial(task, seed) if isinstance(task, Task) else _standing(_solve(task, seed), seed)


def _solve(task: SetTask, seed: int) -> SetJob:
    params = replace(task.options.params, seed=seed)
    options = replace(task.options, params=params)
    with blame(task.name):
        return untangle_set(
            task.found, [one.inputs for one in task.tasks], options, _list_name(task)
        )


def _standing(job: SetJob, seed: int) -> Standing:
    after = [one.result.after for one in job.jobs]
    first, second, third = (sum(score.weighted[k] for score in after) for k in range(3))
    cost = sum(round(score.length_nm) + score.price_nm for score in after)
    return (first, second, third), cost, seed


def _list_name(task: SetTask) -> str:
    return f"{Path(task.name).stem}.set.json"


def _blocked(task: SetTask, job: SetJob) -> int | None:
    found = [blocked(one, made) for one, made in zip(task.tasks, job.jobs, strict=True)]
    known = [count for count in found if count is not None]
    return sum(known) if known else None


def _product(task: SetTask, job: SetJob) -> Product:
    """The files of every board in a folder of its name, and the set's change list last."""
    found = task.found
    outputs: list[tuple[str, bytes]] = []
    digests: dict[str, str] = {}
    for member, one, made in zip(found.members, task.tasks, job.jobs, strict=True):
        netlist = one.inputs.netlist
        made_of = outputs_of(
            made,
            Path(member.name),
            Path(one.inputs.board.name).name,
            Path(netlist.name).name if netlist else None,
        )
        outputs += [(o.path.as_posix(), o.data) for o in made_of.values()]
        digests[made_of["swaps"].path.as_posix()] = files.sha256(made_of["swaps"].data)
    outputs.append((_list_name(task), set_text(found, job, digests).encode()))
    summary = Summary(
        total([made.scene.tangle.figures for made in job.jobs]),
        total([made.tangle.figures for made in job.jobs]),
        sum(len(made.changes.moves) for made in job.jobs),
        len({swap.id for made in job.jobs for swap in made.changes.swaps}),
        job.proved_optimal,
        job.findings.notes,
        _blocked(task, job),
    )
    return Product(tuple(outputs), summary)
