"""The main job for a set of boards that mate: all of them change, or none."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from renet.changes import ChangeList, Figures, Swap
from renet.engine import Result, reorder
from renet.engine.problem import Bound
from renet.engine.score import score
from renet.errors import GateError, InputError, blame
from renet.freedom import independent
from renet.model import Board, IntArray
from renet.pipeline import (
    Inputs,
    Job,
    Named,
    Options,
    Scene,
    apply_changes,
    design,
    finish,
    move_of,
    problem_of,
    sources_of,
    survey,
    weigh,
)
from renet.sets.joint import Joint, join_boards
from renet.sets.mates import Findings, Meeting, agree, check, meetings_of
from renet.sets.records import BoardSet

SCHEMA = "renet/set-swaps/1"
_REPORT = "nothing was written; please report this with the input files"
_NO_BOUND = "the boards of a set are searched as one; a board has no bound of its own"


@dataclass(frozen=True, slots=True)
class SetJob:
    """A finished set: a job for every board in the set's order, and what was found of mates."""

    jobs: tuple[Job, ...]
    findings: Findings
    proved_optimal: bool


def untangle_set(found: BoardSet, inputs: Sequence[Inputs], options: Options, name: str) -> SetJob:
    """Optimise all boards of a set as one; ``name`` is that of the set's change list.

    InputError, pin by pin, where mates disagree before anything has moved.
    """
    scenes = [survey(one, options) for one in inputs]
    boards = [scene.board for scene in scenes]
    meetings = meetings_of(found, boards)
    findings = check(found, meetings, boards)
    if findings.wrong:
        raise InputError(
            f"{len(findings.wrong)} mated pins disagree: " + "; ".join(findings.wrong),
            "nothing was moved; correct the map or a board, or say [[same]] where nets are one",
        )
    joint = _joint(found, scenes, meetings, options)
    params = replace(options.params, split=partial(independent, joint.freedom))
    result = reorder(joint.problem, params)
    lists = _lists(scenes, joint, result.pin_net)
    jobs = tuple(
        finish(
            scene,
            _own_result(scene, options, joint.own(k, result.pin_net), result),
            ChangeList(sources_of(inputs[k]), lists[k], options.mode.value, tied=name),
        )
        for k, scene in enumerate(scenes)
    )
    after = check(found, meetings, [job.board.board for job in jobs])
    if after.wrong:
        raise GateError(f"mates would disagree: {after.wrong[0]}", _REPORT)
    return SetJob(jobs, findings, result.proved_optimal)


def apply_set(
    found: BoardSet, lists: Sequence[ChangeList], inputs: Sequence[Inputs]
) -> list[tuple[bytes, bytes | None]]:
    """Every board of a set, and its netlist if it has one, with all their moves made.

    InputError where a list was made with a netlist that is not there, or where
    mates then disagree.
    """
    written = [_applied(*pair) for pair in zip(lists, inputs, strict=True)]
    after: list[Board] = []
    for one, (data, _) in zip(inputs, written, strict=True):
        read = design(Named(one.board.name, data))
        if not isinstance(read, Board):
            raise InputError("is no board", "a set is of boards", file=one.board.name)
        after.append(read)
    wrong = check(found, meetings_of(found, after), after).wrong
    if wrong:
        raise InputError(f"mates would disagree: {'; '.join(wrong)}", "make the lists anew")
    return written


def _applied(tied: ChangeList, inputs: Inputs) -> tuple[bytes, bytes | None]:
    changes = tied._replace(tied="")
    with blame(inputs.board.name):
        board = apply_changes(changes, inputs.board)
    if inputs.netlist:
        with blame(inputs.netlist.name):
            return board, apply_changes(changes, inputs.netlist)
    wanted = [source.file for source in changes.sources if source.kind == "netlist"]
    if wanted:
        raise InputError(
            f"its list was made with the netlist {wanted[0]}, which is not there",
            "put it beside the board or name it in the set file",
            file=inputs.board.name,
        )
    return board, None


def set_text(found: BoardSet, job: SetJob, digests: Mapping[str, str]) -> str:
    """The set's change list: which lists belong together (name of list -> SHA-256)."""
    record = {
        "schema": SCHEMA,
        "lists": [{"board": m.name, "file": f, "sha256": digests[f]}
                  for m, f in zip(found.members, digests, strict=True)],
        "mates": [{"a": str(mate.a), "b": str(mate.b)} for mate in found.mates],
        "notes": list(job.findings.notes),
    }  # fmt: skip
    return json.dumps(record, indent=1, ensure_ascii=True, allow_nan=False) + "\n"


def read_set_list(data: bytes) -> list[tuple[str, str, str]]:
    """(board, file, SHA-256) of every list that belongs to a set's change list."""
    try:
        record: Any = json.loads(data)
        if record["schema"] != SCHEMA:
            raise ValueError
        return [(str(e["board"]), str(e["file"]), str(e["sha256"])) for e in record["lists"]]
    except (ValueError, KeyError, TypeError, RecursionError):
        raise InputError(
            "this is no change list of a set", "give the .set.json file that the batch wrote"
        ) from None


def _joint(
    found: BoardSet, scenes: Sequence[Scene], meetings: Sequence[Meeting], options: Options
) -> Joint:
    boards = [scene.board for scene in scenes]
    same = {frozenset((str(record.a), str(record.b))) for record in found.same}
    tied, mated = [], []
    for meeting in meetings:
        a, b = meeting.boards
        for pair in meeting.pairs:
            mated += [(a, pair[0]), (b, pair[1])]
            if agree(found, meeting, boards, pair, same):
                tied.append(((a, pair[0]), (b, pair[1])))
    return join_boards(scenes, [s.active for s in scenes], tied, mated, options.max_moves)


def _lists(scenes: Sequence[Scene], joint: Joint, after: IntArray) -> list[tuple[Swap, ...]]:
    """The swaps of every board; a swap that spans boards has one number on all of them."""
    swaps = independent(joint.freedom, joint.problem.pin_net, after)
    pieces = []
    for k in range(len(scenes)):
        start, end = joint.pin_start[k], joint.pin_start[k + 1]
        pieces.append([[pin - start for pin in swap if start <= pin < end] for swap in swaps])
    worths = [weigh(scene, joint.own(k, after), pieces[k]) for k, scene in enumerate(scenes)]
    alone = [
        tuple(sum(part) for part in zip(*(found[number][0] for found in worths), strict=True))
        for number in range(len(swaps))
    ]
    ranked = sorted(range(len(swaps)), key=lambda number: (alone[number], number))
    return [
        tuple(
            Swap(
                place,
                tuple(move_of(scene.board, p, joint.own(k, after)) for p in pieces[k][number]),
                *worths[k][number],
            )
            for place, number in enumerate(ranked, start=1)
            if pieces[k][number]
        )
        for k, scene in enumerate(scenes)
    ]


def _own_result(scene: Scene, options: Options, after: IntArray, whole: Result) -> Result:
    """What the search means for one board."""
    problem = problem_of(scene, replace(options, max_moves=None))
    return Result(
        pin_net=after,
        before=score(problem, problem.pin_net),
        after=score(problem, after),
        bound=Bound(0, 0, _NO_BOUND),
        proved_optimal=False,
        iterations=whole.iterations,
        evaluations=whole.evaluations,
    )


def total(figures: Sequence[Figures]) -> Figures:
    """The sum over all boards."""
    whole = [sum(column) for column in zip(*figures, strict=True)]
    return Figures(int(whole[0]), int(whole[1]), int(whole[2]), whole[3])
