"""What is done with a damaged file of each kind, at one of three depths.

Every target takes the bytes and a depth, and does that much with them.  It may
raise a RenetError; anything else, a promise that does not hold included, is a
find.
"""

from __future__ import annotations

import contextlib
import zlib
from collections.abc import Callable, Iterator
from enum import IntEnum
from functools import cache
from pathlib import Path

from cases.buoys import ALL, NETLIST_E
from cases.edif import gates, header

from renet import pipeline
from renet.annotate import annotate
from renet.between import between
from renet.changes import ChangeList
from renet.channels.job import outlook
from renet.channels.record import channels_text
from renet.channels.sizes import Wanted
from renet.deliver import PROOFS, BoardFile, deliver_board, deliver_netlist
from renet.draft import draft_rules, draft_text, gather, read_symbols, updated
from renet.engine import Params
from renet.errors import GateError, RenetError
from renet.export import exported
from renet.pipeline import Inputs, Named, Options
from renet.read.board import read_board
from renet.read.functions import read_functions
from renet.read.ipc356 import read_ipc356
from renet.read.rules import read_rules
from renet.read.schematic import read_sheet
from renet.read.setfile import read_set
from renet.read.swaps import read_swaps
from renet.report.differences import diff_csv, diff_markdown, diff_text, listed
from renet.report.summary import inspect_text, untangle_text
from renet.report.swaps import swaps_text
from renet.results import outputs_of
from renet.sets.run import read_set_list
from renet.verify import Expect

from .sound import LISTS, RULES, Case

SMALL = 30_000
WHOLE_SHARE = 128
INSPECT_SHARE = 16
OPTIONS = Options(params=Params(iterations=40))
NOTHING = ChangeList((), ())


class Depth(IntEnum):
    """How far a file goes: read; surveyed and written without a move; every job there is."""

    READ = 0
    INSPECT = 1
    WHOLE = 2


def depth_of(data: bytes) -> Depth:
    """How far these bytes go: the same in every run, and mostly not far."""
    at = zlib.crc32(data)
    if at % WHOLE_SHARE == 0 and len(data) <= SMALL:
        return Depth.WHOLE
    return Depth.READ if at % INSPECT_SHARE else Depth.INSPECT


@cache
def _buoy() -> BoardFile:
    data = ALL["middle"]
    return BoardFile(data, *read_board(data))


def _insist(holds: bool, promise: str) -> None:
    if not holds:
        raise AssertionError(promise)


@contextlib.contextmanager
def tolerated(*, gate: bool = False) -> Iterator[None]:
    """A clear refusal is fine here; that the gate had to close is a find, but for foreign lists."""
    try:
        yield
    except GateError:
        if not gate:
            raise
    except RenetError:
        pass


def board(data: bytes, depth: Depth) -> None:
    """A board of either kind; written without moves it is the same bytes."""
    file = pipeline.board_file(Named("b", data))
    if depth == Depth.READ:
        return
    unmoved(file)
    inputs = Inputs(Named("b", data), None, Named("r", RULES))
    with tolerated():
        inspect_text("b", pipeline.survey(inputs, OPTIONS))
    if depth == Depth.WHOLE:
        for job in (_untangle, _draft, _plan, _compare, _export):
            job(inputs, file)


def unmoved(file: BoardFile) -> None:
    """Written without a move it is the same bytes."""
    _insist(deliver_board(file, NOTHING).data == file.data, "no move, yet other bytes")


def _untangle(inputs: Inputs, file: BoardFile) -> None:
    with tolerated():
        done = pipeline.untangle(inputs, OPTIONS)
        text = swaps_text(done.changes).encode()
        _insist(read_swaps(text).moves == done.changes.moves, "the change list reads otherwise")
        again = pipeline.apply_changes(read_swaps(text), inputs.board)
        _insist(again == done.board.data, "apply writes other bytes than untangle")
        for output in outputs_of(done, Path(), "b", None).values():
            _insist(isinstance(output.data, bytes), "an output is not bytes")
        untangle_text("b", done)


def _draft(inputs: Inputs, file: BoardFile) -> None:
    with tolerated():
        draft = draft_rules(gather(file.board, None, [], []))
        text = draft_text(draft, "b").encode()
        read_rules(text)
        _insist(updated(text, draft).data == text, "a draft taken again is not the same")


def _plan(inputs: Inputs, file: BoardFile) -> None:
    with tolerated():
        channels_text(outlook(inputs, OPTIONS, Wanted(0, 0, 0), None, pipeline.silent), None)


def _compare(inputs: Inputs, file: BoardFile) -> None:
    with tolerated():
        found = between(_buoy().board, file.board)
        diff_text(found)
        diff_csv(found)
    changes = LISTS["board" if file.knows_copper else "records"]
    with tolerated():
        PROOFS[file.kind](_buoy().data, file.data, Expect(read_rules(RULES), changes))
    with tolerated(gate=True):
        deliver_board(file, changes)


def _export(inputs: Inputs, file: BoardFile) -> None:
    with tolerated():
        read_ipc356(exported(file).data)


def netlist(data: bytes, depth: Depth) -> None:
    """A netlist of either kind; written without moves it is the same bytes."""
    file = pipeline.netlist_file(Named("n", data))
    if depth == Depth.READ:
        return
    same, _ = deliver_netlist(file, NOTHING)
    _insist(same == data, "no move, yet other bytes")
    changes = LISTS["netlist" if file.kind == "netlist" else "edif"]
    with tolerated(gate=True):
        deliver_netlist(file, changes)
    if depth == Depth.WHOLE:
        _with_board(data, file, changes)


def _with_board(data: bytes, file: pipeline.NetlistFile, changes: ChangeList) -> None:
    with tolerated():
        PROOFS[file.kind](NETLIST_E, data, Expect(read_rules(RULES), changes))
    with tolerated():
        pipeline.check_returned(Named("b", _buoy().data), Named("n", data), changes)
    with tolerated():
        inputs = Inputs(Named("b", _buoy().data), Named("n", data), Named("r", RULES))
        pipeline.survey(inputs, OPTIONS)
    with tolerated():
        draft_text(draft_rules(gather(_buoy().board, file.netlist, [], [])), "b")
    with tolerated():  # what the netlist declares permutable is read twice, and must be the same
        pipeline.untangle(Inputs(Named("b", header(gates())), Named("n", data)), OPTIONS)


def rules(data: bytes, depth: Depth) -> None:
    """Read; asked what may move; added to by a draft."""
    if depth == Depth.WHOLE:
        with tolerated():
            draft = draft_rules(gather(_buoy().board, None, [], []))
            read_rules(updated(data, draft).data)
    read_rules(data)
    inputs = Inputs(Named("b", _buoy().data), None, Named("r", data))
    if depth == Depth.INSPECT:
        pipeline.survey(inputs, OPTIONS)
    if depth == Depth.WHOLE:
        pipeline.untangle(inputs, OPTIONS)


def swaps(data: bytes, depth: Depth) -> None:
    """Read; said again; shown; applied."""
    changes = read_swaps(data)
    _insist(read_swaps(swaps_text(changes).encode()) == changes, "the list reads otherwise")
    found = listed(changes)
    diff_text(found)
    diff_markdown(found)
    diff_csv(found)
    if depth != Depth.READ:
        with tolerated(gate=True):
            pipeline.apply_changes(changes, Named("b", _buoy().data), carry_over=True)


def sheet(data: bytes, depth: Depth) -> None:
    """Read; pins and labels exchanged; symbols drafted from."""
    read_sheet(data)
    if depth == Depth.READ:
        return
    with tolerated():
        read_symbols(data)
    found = annotate([data], LISTS["board"])
    _insist(bool(found.done) or found.sheets[0] == data, "no swap done, yet other bytes")


def functions(data: bytes, depth: Depth) -> None:
    """Read."""
    read_functions(data, "f.csv")


def boardset(data: bytes, depth: Depth) -> None:
    """Read."""
    read_set(data)


def setlist(data: bytes, depth: Depth) -> None:
    """Read."""
    read_set_list(data)


TARGETS: dict[str, Callable[[bytes, Depth], None]] = {
    "board": board,
    "records": board,
    "netlist": netlist,
    "edif": netlist,
    "rules": rules,
    "swaps": swaps,
    "sheet": sheet,
    "functions": functions,
    "set": boardset,
    "setlist": setlist,
}


def work_of(case: Case, depth: Depth) -> Callable[[], None]:
    """What is to be done with a case."""
    return lambda: TARGETS[case.kind](case.data, depth)
