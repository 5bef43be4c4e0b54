"""One wrong thing at a time, each caught by one guard; a wrong engine never gets a file written."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from cases.buoys import MIDDLE, NETLIST_E
from cases.edif import SMALL

from renet import export, gate, recopper
from renet.changes import ChangeList, Move, Source, Swap
from renet.cli import run
from renet.copper import Mode
from renet.deliver import BoardFile, NetlistFile, deliver_board, deliver_netlist, pin_moves
from renet.engine import Params, Problem, Result, reorder
from renet.engine.score import score
from renet.errors import GateError, InputError, StaleError
from renet.export import exported
from renet.files import sha256
from renet.model import NONE, IntArray
from renet.pipeline import Inputs, Named, Options, Scene, move_of
from renet.read.board import read_board
from renet.read.edif import read_edif
from renet.read.netlist import read_netlist
from renet.read.setfile import read_set
from renet.rules import Rules
from renet.sets.mates import Findings
from renet.sets.run import apply_set, read_set_list, untangle_set
from renet.verify import Expect

LED = Move("U3", "3", "IO_A2", "/LED_A", None)
SPARE = Move("U3", "4", "IO_A3", None, "/LED_A")


def changes(*moves: Move, copper: str = "ignore") -> ChangeList:
    return ChangeList((), (Swap(1, moves),), copper)


def board(data: bytes = MIDDLE) -> BoardFile:
    return BoardFile(data, *read_board(data))


def netlist(data: bytes = NETLIST_E) -> NetlistFile:
    return NetlistFile(data, *read_netlist(data))


# the gate


@pytest.mark.parametrize(
    ("writer", "file", "named"),
    [
        ("netlist_bytes", netlist(), "cannot be read"),
        ("netlist_bytes", netlist(), "does not say what was meant"),
        ("edif_bytes", NetlistFile(SMALL, *read_edif(SMALL)), "cannot be read"),
    ],
)
def test_a_netlist_writer_that_lies(
    monkeypatch: pytest.MonkeyPatch, writer: str, file: NetlistFile, named: str
) -> None:
    lie = file.data[:-9] if "read" in named else file.data.replace(b'(pin "1")', b'(pin "77")', 1)
    monkeypatch.setattr(gate, writer, lambda *_: lie)
    with pytest.raises(GateError, match=named):
        gate.write_netlist(file.data, file.spans, file.netlist, {})


def test_a_board_writer_that_forgets(monkeypatch: pytest.MonkeyPatch) -> None:
    """The gate alone, without the second opinion behind it."""
    file = board()
    after, copper = recopper.carry(file.board, pin_moves(file.board, changes(LED, SPARE)),
                                   Mode.IGNORE)  # fmt: skip
    monkeypatch.setattr(gate, "board_bytes", lambda *_: file.data)
    with pytest.raises(GateError, match="differs in pins, pads"):
        gate.write_board(file.data, file.spans, file.board, after, copper)


def test_the_second_opinion_stops_what_the_gate_lets_through() -> None:
    """The bytes say what was meant, but the rules do not permit it."""
    assert deliver_board(board(), changes(LED, SPARE)).verdict.ok
    with pytest.raises(GateError, match="fails its second opinion: U3:3"):
        deliver_board(board(), changes(LED, SPARE), Expect(Rules()))


def test_a_list_that_says_something_else(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(export, "read_ipc356", lambda data: read_board(NEAR))
    with pytest.raises(GateError, match="does not say what the board says"):
        exported(board())


NEAR = MIDDLE.replace(b"(at 20 10 90)", b"(at 20.01 10 90)")


@pytest.mark.parametrize(
    ("moves", "said"),
    [
        ((Move("U9", "1", "", None, None),), "U9:1 is not there"),
        ((Move("U3", "4", "", "/X", None),), 'U3:4 is on no net, not on "/X"'),
        ((Move("U3", "1", "", "/X", None), Move("U3", "2", "", "/X", None)), "others of /X are"),
        ((Move("U3", "2", "", "/X", "/Y"), Move("J7", "1", "", "/Y", "/X")), "are one net here"),
        ((Move("U3", "2", "", "/X", "/Y"),), '"/Y" stands on no moved pin'),
    ],
)
def test_a_list_that_does_not_fit_a_netlist(moves: tuple[Move, ...], said: str) -> None:
    with pytest.raises(StaleError) as caught:
        deliver_netlist(netlist(), changes(*moves))
    assert said in caught.value.what


# a wrong engine

NETS = {"GND": 1, "A": 2, "B": 3, "C": 4, "D": 5}
PAD = '(pad "{}" smd rect (at {} {}) (size 0.5 0.5) (layers "F.Cu"){})'


def a_part(ref: str, y: int, nets: str) -> str:
    """Pins 1, 2 ... 1 mm apart; a net is told by its letter, G is ground, - none."""
    words = {letter: name for name in NETS for letter in name[:1]}
    pads = [
        PAD.format(n, n, y, f' (net {NETS[words[c]]} "{words[c]}")' if c != "-" else "")
        for n, c in enumerate(nets, start=1)
    ]
    text = f'(fp_text reference "{ref}" (at 0 0) (layer "F.SilkS"))'
    return f'(footprint "b:P" (layer "F.Cu") (at 0 0) {text} {" ".join(pads)})'


FILE = (
    '(kicad_pcb (version 20211014) (layers (0 "F.Cu" signal) (31 "B.Cu" signal)) (net 0 "") '
    + " ".join(f'(net {number} "{name}")' for name, number in NETS.items())
    + "\n".join(
        [a_part("U1", 0, "ABGCD-"), a_part("U2", 5, "DACB"), a_part("J1", 9, "ABCDG"), ")\n"]
    )
)
POOL = '[[pool]]\npart = "U1"\npins = ["1-6"]\n'
LIST = "[[pool]]\npart = 'U1'\npins = ['1', '2', '4', '5', '6']\n"
WRONG: dict[str, tuple[str, dict[str, str]]] = {
    "a pin outside every pool": (LIST.replace("'1', ", ""), {"U1:1": "B", "U1:2": "A"}),
    "a kept pin": (LIST + '[[keep]]\npins = ["U1:1"]\n', {"U1:1": "B", "U1:2": "A"}),
    "a kept net": (LIST + '[[keep]]\nnets = ["A"]\n', {"U1:1": "B", "U1:2": "A"}),
    "another part": (LIST, {"U2:1": "A", "U2:2": "D"}),
    "a net dropped": (LIST, {"U1:1": ""}),
    "a net doubled": (LIST, {"U1:6": "A"}),
    "a net for another": (LIST, {"U1:1": "B"}),
    "a net crosses to another part": (LIST, {"U1:1": "D", "U2:1": "A"}),
    "half a tuple": (
        '[[unit]]\ntuples = [["U1:1", "U1:2"], ["U1:4", "U1:5"]]\n',
        {"U1:1": "C", "U1:4": "A"},
    ),
    "a tuple turned": ('[[unit]]\ntuples = [["U1:1", "U1:2"], ["U1:4", "U1:5"]]\n',
                       {"U1:1": "B", "U1:2": "A"}),
    "a domain": (LIST + '[[domain]]\nname = "3V3"\npins = ["U1:1"]\n', {"U1:1": "B", "U1:2": "A"}),
    "an order": (LIST + '[[order]]\npart = "U1"\nnets = ["A", "B", "C"]\n',
                 {"U1:1": "B", "U1:2": "A"}),
    "a pair": (LIST + '[[pair]]\npart = "U1"\nnets = ["A", "B"]\n', {"U1:2": "D", "U1:5": "B"}),
    "polarity": (LIST + '[[pair]]\npart = "U1"\nnets = ["A", "B"]\n', {"U1:1": "B", "U1:2": "A"}),
    "nets apart": (LIST + '[[apart]]\npart = "U1"\nnets = ["A"]\nothers = ["D"]\ndistance_mm = 2\n',
                   {"U1:2": "D", "U1:5": "B"}),
    "beside ground": (LIST + '[[beside]]\nnets = ["B"]\n', {"U1:2": "A", "U1:1": "B"}),
    "a function": (LIST + '[[offers]]\npart = "U1"\npins = ["1"]\nfunctions = ["PWM"]\n'
                   '[[needs]]\nnets = ["A"]\nfunctions = ["PWM"]\n', {"U1:1": "B", "U1:2": "A"}),
    "a peripheral": (LIST + '[[offers]]\npart = "U1"\npins = ["1"]\nfunctions = ["SPI1_CK"]\n'
                     '[[offers]]\npart = "U1"\npins = ["2"]\nfunctions = ["SPI1_DI"]\n'
                     '[[peripheral]]\nnets = ["A", "B"]\nsignals = ["CK", "DI"]\n'
                     'instances = ["SPI1"]\n', {"U1:1": "B", "U1:2": "A"}),
}  # fmt: skip


def wrong_engine(problem: Problem, params: Params, moves: dict[str, str]) -> Result:
    """The right engine's answer with these pins (PART:PIN) on these nets, and honest figures."""
    parts, _ = read_board(FILE.encode())
    pins = {":".join(parts.pin_key(pin)): pin for pin in range(len(parts.pins))}
    nets = problem.pin_net.copy()
    for label, net in moves.items():
        nets[pins[label]] = parts.nets.index(net) if net else NONE
    right = reorder(problem, replace(params, iterations=1))
    return replace(right, pin_net=nets, after=score(problem, nets))


def all_in_one(scene: Scene, after: IntArray) -> tuple[Swap, ...]:
    """All that moved as one swap: nobody asks whether it is an exchange."""
    pins = [pin for pin, entry in enumerate(scene.board.pins) if entry.net != after[pin]]
    return (Swap(1, tuple(move_of(scene.board, pin, after) for pin in pins)),)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "b.kicad_pcb").write_text(FILE)
    return tmp_path


@pytest.mark.parametrize("what", WRONG)
def test_a_wrong_engine_gets_no_file_written(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], what: str
) -> None:
    text, moves = WRONG[what]
    (folder / "b.rules.toml").write_text(text)
    monkeypatch.setattr(
        "renet.pipeline.reorder", lambda problem, params: wrong_engine(problem, params, moves)
    )
    assert run(["untangle", "b.kicad_pcb", "-q", "--out", "out"]) in (2, 3)
    assert not (folder / "out").exists()
    monkeypatch.setattr("renet.pipeline.swaps_of", all_in_one)
    capsys.readouterr()
    assert run(["untangle", "b.kicad_pcb", "-q", "--out", "out"]) == 3
    said = capsys.readouterr().err
    assert "second opinion" in said, said
    assert not (folder / "out").exists()


def test_the_right_engine_gets_its_files_written(folder: Path) -> None:
    """Otherwise every refusal above would prove nothing."""
    for text, _ in WRONG.values():
        (folder / "b.rules.toml").write_text(text)
        assert run(["untangle", "b.kicad_pcb", "-q", "--out", "out", "--iterations", "20"]) == 0


def test_an_engine_that_promises_too_much(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "b.rules.toml").write_text(LIST)

    def boasting(problem: Problem, params: Params) -> Result:
        found = reorder(problem, params)
        return replace(found, after=found.after._replace(crossings=-1))

    monkeypatch.setattr("renet.pipeline.reorder", boasting)
    assert run(["untangle", "b.kicad_pcb", "-q", "--out", "out"]) == 3
    assert "the search promised" in capsys.readouterr().err
    assert not (folder / "out").exists()


# sets

PAIR = read_set(
    b'[[board]]\nname = "a"\nfile = "a.b"\n[[board]]\nname = "b"\nfile = "b.b"\n'
    b'[[mate]]\na = "a:J7"\nb = "b:J7"\nmap = "straight"\n'
)
OTHER = MIDDLE.replace(b"/SONDE_TX", b"/SONDE_CK")


def listed(data: bytes, *moves: Move, kind: str = "board") -> ChangeList:
    """A list made for these bytes."""
    swaps = (Swap(1, moves),) if moves else ()
    return ChangeList((Source(kind, "b", sha256(data)),), swaps, "ignore", tied="x.set.json")


def test_boards_whose_mates_disagree_are_not_searched() -> None:
    inputs = [Inputs(Named("a", MIDDLE)), Inputs(Named("b", OTHER))]
    with pytest.raises(InputError, match="1 mated pins disagree: pin 1 of a:J7"):
        untangle_set(PAIR, inputs, Options(), "x.set.json")


def test_a_search_that_parts_mates(monkeypatch: pytest.MonkeyPatch) -> None:
    answers = iter([Findings((), ()), Findings(("pin 1 meets pin 2",), ())])
    monkeypatch.setattr("renet.sets.run.check", lambda *_: next(answers))
    inputs = [Inputs(Named(name, MIDDLE)) for name in "ab"]
    with pytest.raises(GateError, match="mates would disagree: pin 1 meets pin 2"):
        untangle_set(PAIR, inputs, Options(), "x.set.json")


def test_lists_that_part_mates_are_not_applied() -> None:
    trade = (Move("J7", "1", "", "/SONDE_TX", "GND"), Move("J7", "2", "", "GND", "/SONDE_TX"))
    inputs = [Inputs(Named(name, MIDDLE)) for name in "ab"]
    assert apply_set(PAIR, [listed(MIDDLE, *trade)] * 2, inputs)
    with pytest.raises(InputError, match="mates would disagree: pin 1 of a:J7"):
        apply_set(PAIR, [listed(MIDDLE, *trade), listed(MIDDLE)], inputs)


def test_a_set_is_of_boards() -> None:
    one = Named("a", NETLIST_E)
    inputs = [Inputs(one, one), Inputs(Named("b", MIDDLE))]
    with pytest.raises(InputError, match="is no board"):
        apply_set(PAIR, [listed(NETLIST_E, kind="netlist"), listed(MIDDLE)], inputs)


@pytest.mark.parametrize("data", [b"", b"{}", b"[]", b'{"schema": "x", "lists": []}'])
def test_what_is_no_list_of_a_set(data: bytes) -> None:
    with pytest.raises(InputError, match="no change list of a set"):
        read_set_list(data)
