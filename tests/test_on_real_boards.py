"""The main job on every real board beside the project: read, write back, untangle, verify.

Through the library, not through processes, to keep the whole file within minutes.
"""

from __future__ import annotations

import json
from collections import Counter
from dataclasses import replace
from functools import cache
from itertools import permutations
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest
from cases.boardtext import BoardText
from cases.count import crossings, spanning_edges
from cases.late import PINS, add_connector
from cases.scramble import NEVER, busiest, exchange, pool_rules, scramble
from conftest import board_paths

from renet.changes import ChangeList
from renet.cli import run
from renet.columns import pad_columns
from renet.copper import Mode, join
from renet.deliver import deliver_board
from renet.model import NONE, Board
from renet.pipeline import Inputs, Job, Named, Options, Terms, board_file, check, untangle
from renet.planes import supply_name
from renet.verify import MOVES, RULES

real_boards = pytest.mark.parametrize(
    "path",
    [pytest.param(p, marks=pytest.mark.xdist_group(p.stem), id=p.stem) for p in board_paths()],
)
"""One worker takes all tests of one board: what they share is worked out once."""


@cache
def text_of(path: Path) -> BoardText:
    return BoardText(path.read_bytes())


class Case(NamedTuple):
    """A board with rules, untangled."""

    board: Named
    rules: Named
    job: Job
    ref: str
    pins: list[str]


@cache
def scrambled(path: Path) -> Case | None:
    """The busiest part's nets scrambled and untangled; None where no pins can be traded."""
    text = text_of(path)
    ref, pins = busiest(text)
    if not pins:
        return None
    board = Named(path.name, scramble(text, ref, pins, seed=1))
    rules = Named("pool.rules.toml", pool_rules(ref, pins))
    job = untangle(Inputs(board, rules=rules), Options(mode=Mode.IGNORE))
    return Case(board, rules, job, ref, pins)


@real_boards
@pytest.mark.parametrize("copper", ["keep", "rip", "ignore"])
def test_inspect_succeeds(path: Path, copper: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["inspect", str(path), "--copper", copper, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["schema"] == "renet/inspect/1"
    assert found["crossings"] >= 0 and found["length_mm"] >= 0
    nets = {one["net"] for one in found["connections"]}
    assert nets.isdisjoint(one["net"] for one in found["left_out"])


@real_boards
def test_writing_without_a_change_gives_the_same_bytes(path: Path) -> None:
    file = board_file(Named(path.name, path.read_bytes()))
    for copper in ("keep", "rip", "ignore"):
        assert deliver_board(file, ChangeList((), (), copper)).data == file.data


@real_boards
def test_a_scrambled_part_comes_back_no_worse(path: Path) -> None:
    case = scrambled(path)
    if case is None:
        job = untangle(Inputs(Named(path.name, path.read_bytes())), Options(mode=Mode.IGNORE))
        assert job.changes.swaps == () and job.board.data == path.read_bytes()
        return
    scene = case.job.scene
    left_out = {scene.board.nets[net] for net in scene.left_out}
    designed = board_file(Named(path.name, path.read_bytes())).board
    labels = scene.labels.tolist()
    before = crossings(spanning_edges(designed, labels, left_out))
    after = crossings(spanning_edges(case.job.board.board, labels, left_out))
    assert after == case.job.tangle.figures.crossings
    assert after <= before


def faults(case: Case, after: bytes, copper: str) -> tuple[set[str], set[str]]:
    """Which checks a written board fails by the rules, and which by the change list."""
    named = Named("after", after)
    by_rules = check(case.board, named, Terms(case.rules), None, copper)
    by_swaps = check(case.board, named, Terms(), case.job.changes, copper)
    return {f.check for f in by_rules.findings}, {f.check for f in by_swaps.findings}


@real_boards
def test_verify_passes_on_the_result_and_fails_on_more(path: Path) -> None:
    case = scrambled(path)
    if case is None:
        return  # no pins to trade on this board
    assert faults(case, case.job.board.data, "ignore") == (set(), set())
    text = BoardText(case.job.board.data)
    inside, outside = pair(text, case, inside=True), pair(text, case, inside=False)
    if inside:
        by_rules, by_swaps = faults(case, exchange(text, *inside), "ignore")
        assert by_rules == set() and MOVES in by_swaps
    if outside:
        by_rules, by_swaps = faults(case, exchange(text, *outside), "ignore")
        assert RULES in by_rules and MOVES in by_swaps


Pin = tuple[str, str]


def pair(text: BoardText, case: Case, inside: bool) -> tuple[Pin, Pin] | None:
    """Two pins on different nets: both of the pool, or both of no pool and of one part."""
    found: dict[str, dict[str, Pin]] = {}
    for pad in text.pads:
        pooled = pad.ref == case.ref and pad.number in case.pins
        if pad.net is not None and not pad.private and pooled == inside:
            nets = found.setdefault(pad.ref, {})
            nets.setdefault(pad.net, (pad.ref, pad.number))
            if len(nets) == 2:
                one, two = nets.values()
                return one, two
    return None


@real_boards
def test_a_late_connector_is_untangled_or_proved_optimal(path: Path) -> None:
    """Copper kept, only spare and unrouted pins free; twelve nets, or as many as pins are open."""
    ref, pins = roomiest(board_file(Named(path.name, path.read_bytes())).board)
    if len(pins) < 2:
        return  # every signal pin is routed: nothing is left for a late connector
    late = add_connector(text_of(path), ref, pins[:PINS], seed=1)
    board, rules = Named(path.name, late.data), Named("late.rules.toml", pool_rules(ref, pins))
    job = untangle(Inputs(board, rules=rules), Options(mode=Mode.KEEP))
    before, after = job.scene.tangle.figures, job.tangle.figures
    assert set(late.nets) <= set(job.scene.board.nets)
    assert after.crossings < before.crossings or proved(job)
    case = Case(board, rules, job, ref, pins)
    assert faults(case, job.board.data, "keep") == (set(), set())


def proved(job: Job) -> bool:
    """Whether the engine has proved its result, or trying everything finds nothing better."""
    if job.result.proved_optimal:
        return True
    board, labels = job.board.board, job.scene.labels.tolist()
    free = [index for index, free in enumerate(job.scene.freedom.movable) if free]
    left_out = {board.nets[net] for net in job.scene.left_out}
    nets = [board.pins[pin].net for pin in free]
    assert len(free) <= 6, "too many to try"
    tries = (dict(zip(free, order, strict=True)) for order in set(permutations(nets)))
    counts = (crossings(spanning_edges(moved(board, t), labels, left_out)) for t in tries)
    return min(counts) == job.tangle.figures.crossings


def moved(board: Board, nets: dict[int, int]) -> Board:
    """The board with other nets on some pins."""
    pads = (p._replace(net=nets.get(p.pin, p.net)) for p in board.pads)
    pins = (p._replace(net=nets.get(i, p.net)) for i, p in enumerate(board.pins))
    return replace(board, pads=tuple(pads), pins=tuple(pins))


def roomiest(board: Board) -> tuple[str, list[str]]:
    """The largest part with twelve open pins (else that with most), and up to sixty of them."""
    refs = [part.ref for part in board.parts]
    open_pins = _open_pins(board)
    choices = [
        (min(len(pins), PINS), len(part.pins), part.ref, pins[:60])
        for index, part in enumerate(board.parts)
        if refs.count(part.ref) == 1 and (pins := open_pins.get(index))
    ]
    return max(choices, key=lambda choice: choice[:2], default=(0, 0, "", []))[2:]


def _open_pins(board: Board) -> dict[int, list[str]]:
    """Per part its spare pins, then those whose copper reaches no other pin; signals only."""
    every = np.ones(len(board.nets), dtype=bool)
    labels = join(board, pad_columns(board), every).pads
    pins_of: dict[int, set[int]] = {}
    for pad, label in zip(board.pads, labels.tolist(), strict=True):
        pins_of.setdefault(label, set()).add(pad.pin)
    sizes = Counter(pin.net for pin in board.pins)
    spare: dict[int, list[str]] = {}
    unrouted: dict[int, list[str]] = {}
    for index, pin in enumerate(board.pins):
        name = board.net_name(pin.net) or ""
        if pin.fault or pin.type in NEVER or supply_name(name) or not board.parts[pin.part].ref:
            continue
        if pin.net == NONE or sizes[pin.net] == 1:
            spare.setdefault(pin.part, []).append(pin.number)
        elif all(pins_of[int(labels[pad])] == {index} for pad in pin.pads):
            unrouted.setdefault(pin.part, []).append(pin.number)
    return {part: [*spare.get(part, []), *unrouted.get(part, [])] for part in spare | unrouted}
