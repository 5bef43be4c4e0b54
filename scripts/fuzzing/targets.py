"""What is done with a damaged file of each kind, and the sound files that go with it.

Every target takes the bytes and does all the library can do with them.  It may
raise a RenetError; anything else, a promise that does not hold included, is a
find.
"""

from __future__ import annotations

import contextlib
import sys
import zlib
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

sys.path.append(str(Path(__file__).resolve().parent.parent.parent / "tests"))

from cases.buoys import ALL, NETLIST_D, NETLIST_E

from renet import pipeline
from renet.annotate import annotate
from renet.between import between
from renet.changes import ChangeList, Move, Source, Swap
from renet.channels.job import outlook
from renet.channels.record import channels_text
from renet.channels.sizes import Wanted
from renet.deliver import BoardFile, deliver_board, deliver_netlist
from renet.draft import draft_rules, draft_text, gather, read_symbols, updated
from renet.engine import Params
from renet.errors import GateError, RenetError
from renet.pipeline import Inputs, Named, Options
from renet.read.board import read_board
from renet.read.functions import read_functions
from renet.read.rules import read_rules
from renet.read.schematic import read_sheet
from renet.read.setfile import read_set
from renet.read.swaps import read_swaps
from renet.report.differences import diff_csv, diff_markdown, diff_text, listed
from renet.report.summary import inspect_text, untangle_text
from renet.report.swaps import swaps_text
from renet.results import outputs_of
from renet.verify import Expect, verify_board, verify_netlist

ROOT = Path(__file__).resolve().parent.parent.parent
SMALL = 30_000
THOROUGH = 5
"""Of so many small boards and netlists that can be read, one goes through all jobs."""
OPTIONS = Options(params=Params(iterations=40))
RULES = b"""[board]
horizontal = [1]
vertical = [-1]

[[pool]]
part = "U3"
pins = ["1-4"]
keep = ["1"]
cost_mm = 0.5

[[unit]]
tuples = [["J7:1", "J7:2"]]
reversible = true

[[keep]]
nets = ["GND*"]

[[offers]]
part = "U3"
pins = ["2", "3", "4"]
functions = ["UART1_TX", "PWM"]

[[needs]]
nets = ["/SONDE_TX"]
functions = ["UART1_TX"]

[[weight]]
nets = ["/SONDE_TX"]
factor = 4.0

[[apart]]
nets = ["/SONDE_TX"]
others = ["/LED_A"]
distance_mm = 0.1
"""
SET = b"""[[board]]
name = "main"
file = "main.kicad_pcb"
rules = "main.rules.toml"

[[board]]
name = "probe"
file = "probe.kicad_pcb"

[[mate]]
a = "main:J7"
b = "probe:J7"
map = "straight"
"""
FUNCTIONS = b"part,pin,function\nU3,2,UART1_TX\nU3,3,PWM\nU3,4,UART1_TX\n"
SHEET = b"""(kicad_sch (version 20231120) (generator "buoyboard") (uuid "a")
  (lib_symbols (symbol "buoy:MCU4" (symbol "MCU4_1_1"
    (pin bidirectional line (at -10.16 2.54 0) (length 2.54) (name "IO_A2") (number "2"))
    (pin bidirectional line (at -10.16 0 0) (length 2.54) (name "IO_A3") (number "3")))))
  (wire (pts (xy 90 97.46) (xy 80 97.46)) (uuid "w1"))
  (label "SONDE_TX" (at 80 97.46 0) (uuid "l1"))
  (label "LED_A" (at 89.84 100 0) (uuid "l2"))
  (no_connect (at 10 10) (uuid "n"))
  (symbol (lib_id "buoy:MCU4") (at 100 100 0) (unit 1) (uuid "s1")
    (property "Reference" "U3" (at 0 0 0))
    (instances (project "buoy" (path "/a" (reference "U3") (unit 1))))))
"""


def _list() -> ChangeList:
    """Two pins of the small buoy trade their nets."""
    moves = (
        Move("U3", "2", "IO_A2", "/SONDE_TX", "/LED_A"),
        Move("U3", "3", "IO_A3", "/LED_A", "/SONDE_TX"),
    )
    return ChangeList((Source("board", "buoy.board", "0" * 64),), (Swap(1, moves),))


LIST = _list()


class Case(NamedTuple):
    """A sound file to be damaged: its kind, a name, and every byte."""

    kind: str
    name: str
    data: bytes


def small_cases() -> list[Case]:
    """The files written by hand."""
    boards = [Case("board", name, data) for name, data in ALL.items()]
    netlists = [Case("netlist", "D", NETLIST_D), Case("netlist", "E", NETLIST_E)]
    texts = [
        Case("rules", "rules", RULES),
        Case("set", "set", SET),
        Case("swaps", "swaps", swaps_text(LIST).encode()),
        Case("sheet", "sheet", SHEET),
        Case("functions", "functions", FUNCTIONS),
    ]
    return [*boards, *netlists, *texts]


def corpus_cases() -> list[Case]:
    """Every file of the corpus."""
    kinds = {".kicad_pcb": "board", ".net": "netlist", ".toml": "rules", ".kicad_sch": "sheet"}
    found = sorted(path for path in (ROOT / "corpus").rglob("*") if path.suffix in kinds)
    return [Case(_kind(path, kinds), path.name, path.read_bytes()) for path in found]


def _kind(path: Path, kinds: dict[str, str]) -> str:
    plain = path.suffix != ".toml" or path.name.endswith(".rules.toml")
    return kinds[path.suffix] if plain else "set"


@cache
def _buoy() -> BoardFile:
    data = ALL["middle"]
    return BoardFile(data, *read_board(data))


def _thorough(data: bytes) -> bool:
    """Whether these bytes go through all jobs; the same in every run."""
    return len(data) <= SMALL and zlib.crc32(data) % THOROUGH == 0


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


def board(data: bytes) -> None:
    """Read; written without moves it is the same bytes; then, for some, every job."""
    file = pipeline.board_file(Named("b", data))
    _insist(deliver_board(file, ChangeList((), ())).data == data, "no move, yet other bytes")
    if not _thorough(data):
        return
    inputs = Inputs(Named("b", data), None, Named("r", RULES))
    for job in (_untangle, _draft, _plan, _compare):
        job(inputs, file)


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
        inspect_text("b", done.scene)


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
    with tolerated():
        verify_board(_buoy().data, file.data, Expect(read_rules(RULES), LIST))
    with tolerated(gate=True):
        deliver_board(file, LIST)


def netlist(data: bytes) -> None:
    """Read; written without moves it is the same bytes; with a board, returned, compared."""
    file = pipeline.netlist_file(Named("n", data))
    same, _ = deliver_netlist(file, ChangeList((), ()))
    _insist(same == data, "no move, yet other bytes")
    if not _thorough(data):
        return
    with tolerated(gate=True):
        deliver_netlist(file, LIST)
    with tolerated():
        verify_netlist(NETLIST_E, data, Expect(read_rules(RULES), LIST))
    with tolerated():
        pipeline.check_returned(Named("b", _buoy().data), Named("n", data), LIST)
    with tolerated():
        inputs = Inputs(Named("b", _buoy().data), Named("n", data), Named("r", RULES))
        pipeline.survey(inputs, OPTIONS)
    with tolerated():
        draft_text(draft_rules(gather(_buoy().board, file.netlist, [], [])), "b")


def rules(data: bytes) -> None:
    """Read; asked what may move; added to by a draft."""
    with tolerated():
        draft = draft_rules(gather(_buoy().board, None, [], []))
        read_rules(updated(data, draft).data)
    read_rules(data)
    inputs = Inputs(Named("b", _buoy().data), None, Named("r", data))
    pipeline.untangle(inputs, OPTIONS)


def swaps(data: bytes) -> None:
    """Read; said again; shown; applied."""
    changes = read_swaps(data)
    _insist(read_swaps(swaps_text(changes).encode()) == changes, "the list reads otherwise")
    found = listed(changes)
    diff_text(found)
    diff_markdown(found)
    diff_csv(found)
    with tolerated(gate=True):
        pipeline.apply_changes(changes, Named("b", _buoy().data), carry_over=True)


def sheet(data: bytes) -> None:
    """Read; pins and labels exchanged; symbols drafted from."""
    with tolerated():
        read_symbols(data)
    read_sheet(data)
    found = annotate([data], LIST)
    _insist(bool(found.done) or found.sheets[0] == data, "no swap done, yet other bytes")


def functions(data: bytes) -> None:
    """Read."""
    read_functions(data, "f.csv")


def boardset(data: bytes) -> None:
    """Read."""
    read_set(data)


TARGETS: dict[str, Callable[[bytes], None]] = {
    "board": board,
    "netlist": netlist,
    "rules": rules,
    "swaps": swaps,
    "sheet": sheet,
    "functions": functions,
    "set": boardset,
}
