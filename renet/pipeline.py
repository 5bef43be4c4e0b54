"""Read me first: the main job in one short function, every stage by name.

    read -> model -> copper -> tangle -> freedom -> engine -> changes -> edits
         -> parse-back gate -> verify -> (write) -> report

Bytes come in and bytes come out: nothing here prints or opens a file.  An
observer hears the name of every stage as it begins.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import PurePath

import numpy as np

from renet import planes, recopper
from renet.changes import ChangeList, Figures, Move, Source, Swap
from renet.columns import PadColumns, pad_columns
from renet.copper import Mode, join
from renet.deliver import (
    PROOFS,
    BoardFile,
    NetlistFile,
    WrittenBoard,
    deliver_board,
    deliver_netlist,
    in_netlist_names,
    pin_moves,
)
from renet.engine import Params, Problem, Result, Row, frontier, reorder
from renet.errors import InputError, StaleError, blame, blame_first
from renet.freedom import Freedom, build_problem, independent, resolve, tangle_nets
from renet.gate import check_figures
from renet.meet import Met, meet
from renet.model import Board, BoolArray, IntArray, Netlist
from renet.permuted import permuted
from renet.read.any_netlist import NETLISTS
from renet.read.board import read_board
from renet.read.edif import read_edif
from renet.read.functions import with_functions
from renet.read.ipc356 import read_ipc356
from renet.read.kind import EDIF, RECORDS, kind_of
from renet.read.netlist import read_netlist
from renet.read.rules import read_rules
from renet.remaining import Remaining, asked_of, remaining
from renet.rules import Rules
from renet.tangle import Tangle, measure, pin_nets
from renet.verify import Expect, Verdict, verify_returned
from renet.worth import Ground, worth

Observer = Callable[[str], None]


def silent(stage: str) -> None:
    """The observer that does nothing."""


def _nothing_beside(name: str) -> bytes:
    raise InputError(f'"{name}" cannot be read from here', "give rules without a file")


@dataclass(frozen=True, slots=True)
class Named:
    """A file's name, as messages and change lists show it, and its bytes.

    ``beside`` reads a file that this one names, from its own folder.
    """

    name: str
    data: bytes
    beside: Callable[[str], bytes] = field(default=_nothing_beside, compare=False)


@dataclass(frozen=True, slots=True)
class Inputs:
    """The files of one job; netlist and rules may be absent."""

    board: Named
    netlist: Named | None = None
    rules: Named | None = None


@dataclass(frozen=True, slots=True)
class Terms:
    """What has to permit a change: a rules file, and the netlist that was given with the board.

    A netlist names pins that the board leaves without a name; what it declares
    permutable is permitted as well.
    """

    rules: Named | None = None
    netlist: Named | None = None

    def parsed(self) -> Rules | None:
        """What the rules file says, if there is one."""
        return rules_of(self.rules) if self.rules is not None else None

    def listed(self) -> bytes | None:
        """The bytes of the netlist."""
        return self.netlist.data if self.netlist is not None else None


NO_TERMS = Terms()


@dataclass(frozen=True, slots=True)
class Options:
    """What the engineer chose for this run; net words add to those of the rules.

    ``frontier`` asks as well how many moved pins buy how many crossings.
    """

    mode: Mode = Mode.KEEP
    include: tuple[str, ...] = ()
    leave_out: tuple[str, ...] = ()
    max_moves: int | None = None
    params: Params = field(default_factory=Params)
    frontier: bool = False


PLAIN = Options()


@dataclass(frozen=True, slots=True)
class Scene:
    """A board read, with everything that is known before a pin moves.

    ``board`` has pin names that only the netlist knows filled in; ``file.board``
    is what the file says.  ``met`` is how the netlist goes with the board.
    ``asked`` is what the rules file says, ``rules`` with what the netlist
    declares permutable.  ``counted`` says per net whether its copper counts.
    """

    file: BoardFile
    netlist: NetlistFile | None
    board: Board
    met: Met
    asked: Rules
    rules: Rules
    cols: PadColumns
    freedom: Freedom
    left_out: dict[int, str]
    counted: BoolArray
    labels: IntArray
    tangle: Tangle

    @property
    def disagree(self) -> dict[int, str]:
        """Pin id -> how board and netlist differ."""
        return self.met.agreement.differs

    @property
    def free_pins(self) -> int:
        """How many pins may move."""
        return int(self.freedom.movable.sum())

    @property
    def active(self) -> BoolArray:
        """Per net whether it is part of the tangle."""
        active = np.ones(len(self.board.nets), dtype=bool)
        active[list(self.left_out)] = False
        return active


@dataclass(frozen=True, slots=True)
class Job:
    """One finished run: what was found, and the bytes to be written.

    ``frontier``, if it was asked for, leads from the input to the result.
    ``remaining`` says of every crossing of ``tangle`` what holds it; empty for a
    board of a set, which other boards hold as well, and where plans were the aim.
    """

    scene: Scene
    result: Result
    tangle: Tangle
    changes: ChangeList
    board: WrittenBoard
    netlist: bytes | None
    frontier: tuple[Row, ...] = ()
    remaining: tuple[Remaining, ...] = ()


def survey(inputs: Inputs, options: Options = PLAIN, observer: Observer = silent) -> Scene:
    """Everything that is known before a pin moves: who is tangled, and who may move."""
    observer("reading")
    file = board_file(inputs.board)
    netlist = netlist_file(inputs.netlist) if inputs.netlist else None
    with blame(inputs.netlist.name if inputs.netlist else inputs.board.name):
        met = meet(file.board, netlist)
    board = met.board
    cols = pad_columns(board)
    with blame(inputs.rules.name if inputs.rules else inputs.board.name):
        asked = rules_of(inputs.rules) if inputs.rules else Rules()
        rules = permuted(asked, met.declared, board)
        left_out = _left_out(board, cols, rules, options)
        observer("looking for freedom")
        freedom = _freedom(board, cols, rules, met.held, left_out, options.mode)
    observer("following copper")
    counted = recopper.present(board, options.mode, freedom.movable)
    counted[list(left_out)] = False  # their copper matters to no connection that is counted
    labels = join(board, cols, counted).pads
    observer("counting")
    return Scene(
        file=file,
        netlist=netlist,
        board=board,
        met=met,
        asked=asked,
        rules=rules,
        cols=cols,
        freedom=freedom,
        left_out=left_out,
        counted=counted,
        labels=labels,
        tangle=measure(board, cols, labels, left_out),
    )


def untangle(inputs: Inputs, options: Options = PLAIN, observer: Observer = silent) -> Job:
    """The main job: a better pinout within the freedom given, and files that carry it."""
    scene = survey(inputs, options, observer)
    observer("searching")
    params = replace(options.params, split=partial(independent, scene.freedom))
    problem = problem_of(scene, options)
    rows: tuple[Row, ...] = ()
    if options.frontier:
        result, rows = frontier(problem, params)
    else:
        result = reorder(problem, params)
    observer("weighing swaps")
    changes = ChangeList(sources_of(inputs), swaps_of(scene, result.pin_net), options.mode.value)
    job = finish(scene, result, changes, observer)
    observer("asking what holds the rest")
    asked = asked_of(scene, options)
    return replace(
        job, frontier=rows, remaining=tuple(remaining(asked, result.pin_net, job.tangle))
    )


def finish(scene: Scene, result: Result, changes: ChangeList, observer: Observer = silent) -> Job:
    """The files that carry a result, past the gate and the second opinion."""
    observer("writing and checking")
    board = deliver_board(scene.file, changes, _asked(scene))
    netlist = deliver_netlist(scene.netlist, changes)[0] if scene.netlist else None
    tangle = _measured(scene, board.board)
    check_figures(tangle.figures, result.after)
    return Job(scene, result, tangle, changes._replace(left=board.copper.left), board, netlist)


def apply_changes(
    changes: ChangeList,
    file: Named,
    terms: Terms = NO_TERMS,
    carry_over: bool = False,
    observer: Observer = silent,
) -> bytes:
    """Accepted swaps written into a board or a netlist.

    The list of a member of a board set is for :func:`renet.sets.run.apply_set`.
    StaleError where the file is not the one the list was made for; with
    ``carry_over`` only where a moved pin is not as the list has it.
    """
    if changes.tied:
        raise InputError(
            f"this list belongs to {changes.tied}: mated boards change together or not at all",
            f"renet apply {changes.tied} SETFILE -o DIR",
        )
    observer("reading")
    kind = kind_of(file.data)
    if kind in NETLISTS:
        found = netlist_file(file)
        in_netlist_names(found.netlist, changes)
        _insist_on_source(changes, file, "netlist", carry_over)
        observer("writing and checking")
        return deliver_netlist(found, changes, terms.parsed())[0]
    board = board_file(file)
    pin_moves(board.board, changes)
    _insist_on_source(changes, file, "board", carry_over)
    observer("writing and checking")
    return deliver_board(board, changes, Expect(terms.parsed(), netlist=terms.listed())).data


def check(
    before: Named,
    after: Named,
    terms: Terms,
    changes: ChangeList | None = None,
    copper: str = "keep",
) -> Verdict:
    """Whether ``after`` is ``before`` with permitted exchanges, or exactly these moves, done."""
    with blame(after.name):
        kind, other = kind_of(before.data), kind_of(after.data)
        if kind != other:
            raise InputError(f"a {kind} cannot be compared with a {other}", "give two alike")
    if kind in NETLISTS and changes:
        changes = in_netlist_names(netlist_file(before).netlist, changes)
    asked = terms.parsed()
    if asked is None and changes is None:
        asked = Rules()  # what the netlist declares permutable is all that may move
    expect = Expect(asked, changes, copper, netlist=terms.listed())
    given = [before, *filter(None, [terms.netlist])]
    with blame_first(*(partial(design, one) for one in given)):
        return PROOFS[kind](before.data, after.data, expect)


def check_returned(before: Named, netlist: Named, changes: ChangeList) -> Verdict:
    """Whether a netlist that came back from the schematic carries exactly these moves."""
    with blame_first(partial(design, before), partial(design, netlist)):
        return verify_returned(netlist.data, before.data, changes)


def design(named: Named) -> Board | Netlist:
    """A board or a netlist, whichever the bytes are."""
    with blame(named.name):
        kind = kind_of(named.data)
    return netlist_file(named).netlist if kind in NETLISTS else board_file(named).board


def board_file(named: Named) -> BoardFile:
    """A board read from its bytes, of either kind."""
    with blame(named.name):
        if kind_of(named.data) == RECORDS:
            return BoardFile(named.data, *read_ipc356(named.data))
        return BoardFile(named.data, *read_board(named.data))


def rules_of(named: Named) -> Rules:
    """Rules read from their bytes, with the tables of functions that they name."""
    with blame(named.name):
        return with_functions(read_rules(named.data), named.beside)


def netlist_file(named: Named) -> NetlistFile:
    """A netlist read from its bytes, of either kind."""
    with blame(named.name):
        if kind_of(named.data) == EDIF:
            return NetlistFile(named.data, *read_edif(named.data))
        return NetlistFile(named.data, *read_netlist(named.data))


def problem_of(scene: Scene, options: Options) -> Problem:
    """The engine's view of the scene."""
    return build_problem(
        scene.board,
        scene.cols,
        scene.freedom,
        scene.labels,
        scene.active,
        max_moves=options.max_moves,
    )


def swaps_of(scene: Scene, after: IntArray) -> tuple[Swap, ...]:
    """Independent swaps with what each is worth, those that save most first."""
    before = pin_nets(scene.board)
    groups = independent(scene.freedom, before, after)
    worths = weigh(scene, after, groups)
    ranked = sorted(zip(groups, worths, strict=True), key=lambda pair: (pair[1][0], pair[0]))
    return tuple(
        Swap(number, tuple(move_of(scene.board, pin, after) for pin in pins), alone, lost)
        for number, (pins, (alone, lost)) in enumerate(ranked, start=1)
    )


def weigh(
    scene: Scene, after: IntArray, groups: Sequence[Sequence[int]]
) -> list[tuple[Figures, Figures]]:
    """What each group of moved pins is worth alone, and what is lost without it."""
    before = pin_nets(scene.board)
    pin_pads = tuple(pin.pads for pin in scene.board.pins)
    ground = Ground(scene.cols, scene.labels, scene.active, pin_pads)
    return worth(ground, before, after, groups)


def move_of(board: Board, pin: int, after: IntArray) -> Move:
    """What happens to one pin."""
    ref, number = board.pin_key(pin)
    was, is_ = board.net_name(board.pins[pin].net), board.net_name(int(after[pin]))
    return Move(ref, number, board.pins[pin].name, was, is_)


def _left_out(board: Board, cols: PadColumns, rules: Rules, options: Options) -> dict[int, str]:
    """Nets outside the tangle; words of the command line go before those of the rules."""
    asked = Rules(include=options.include, leave_out=options.leave_out)
    here, gone = tangle_nets(board, asked)
    by_rules = tangle_nets(board, rules)
    include = set(by_rules[0]) - set(gone) | set(here)
    leave_out = set(by_rules[1]) - set(here) | set(gone)
    return planes.left_out(board, cols, sorted(include), sorted(leave_out))


def _freedom(
    board: Board,
    cols: PadColumns,
    rules: Rules,
    outside: dict[int, str],
    left_out: dict[int, str],
    mode: Mode,
) -> Freedom:
    """What may move: first by the rules alone, then less what copper holds."""
    held = {pin: entry.fault for pin, entry in enumerate(board.pins) if entry.fault}
    held.update(outside)
    by_rules = resolve(board, rules, held, left_out)
    by_copper = recopper.held_pins(board, cols, mode, by_rules.movable)
    return resolve(board, rules, {**by_copper, **held}, left_out) if by_copper else by_rules


def _asked(scene: Scene) -> Expect:
    """What the second opinion is told of a run: the rules, and what went into them."""
    return Expect(
        rules=scene.asked,
        left_out=frozenset(scene.board.nets[net] for net in scene.left_out),
        netlist=scene.netlist.data if scene.netlist else None,
    )


def _insist_on_source(changes: ChangeList, file: Named, kind: str, carry_over: bool) -> None:
    """StaleError where the list was made for another file than this one."""
    digest = hashlib.sha256(file.data).hexdigest()
    named = [source for source in changes.sources if source.kind == kind]
    if not carry_over and all(source.sha256 != digest for source in named):
        names = ", ".join(source.file for source in named) or f"no {kind} at all"
        raise StaleError(
            f"the change list was made for {names}, with other content; all pins it moves are "
            "as it says, so it would fit",
            "make the list anew, or accept this file with --carry-over",
        )


def _measured(scene: Scene, after: Board) -> Tangle:
    """The tangle of the written board, from scratch."""
    labels = join(after, scene.cols, scene.counted).pads
    return measure(after, scene.cols, labels, scene.left_out)


def sources_of(inputs: Inputs) -> tuple[Source, ...]:
    """The files of a job, as a change list names them."""
    files = (("board", inputs.board), ("netlist", inputs.netlist))
    return tuple(
        Source(kind, PurePath(named.name).name, hashlib.sha256(named.data).hexdigest())
        for kind, named in files
        if named is not None
    )
