"""What is written: the file another writer made, and for any pins on any nets what was meant."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

import pytest
from cases.buoys import ALL, MIDDLE, NETLIST_D, NETLIST_E
from cases.edif import SMALL
from cases.records import LIST
from cases.scene import SHAPES, Scene, exchange, scene
from hypothesis import given, settings
from hypothesis import strategies as st

from renet import recopper
from renet.changes import ChangeList, Move, Swap
from renet.copper import Mode
from renet.deliver import BoardFile, deliver_board
from renet.errors import GateError
from renet.export import exported
from renet.gate import write_board, write_netlist
from renet.model import NONE
from renet.pipeline import Named, board_file, netlist_file
from renet.read.board import read_board
from renet.read.ipc356 import read_ipc356

Moves = Mapping[str, str | None]
TRADE: Moves = {"U3:41": "/LED_A", "U3:43": "/SONDE_TX"}
OPENS: Moves = {"U3:41": None, "U3:46": "/SONDE_TX"}
DROPS: Moves = {"U3:43": None, "U3:46": "/LED_A"}


def delivered(before: Scene, moves: Moves, mode: str) -> bytes:
    """What renet makes of the moves, past all checks."""
    made = [
        (*pin.split(":"), before.pad(pin).name, before.net(pin), net) for pin, net in moves.items()
    ]
    changes = ChangeList((), (Swap(1, tuple(Move(*one) for one in made)),), mode)
    return deliver_board(board_file(Named("b", before.text())), changes).data


def nothing_private(before: Scene) -> Scene:
    """The scene with open pads on no net at all, their copper as well."""
    loose = [p for p in before.pads if p.net.startswith("unconnected-(")]
    for pad in loose:
        before = before.with_pad(pad.label, net="", marked=False)
    rows = tuple(row for row in before.rows if not row.startswith("unconnected-("))
    copper = [
        replace(c, net="" if c.net.startswith("unconnected-(") else c.net) for c in before.copper
    ]
    return replace(before, rows=rows, copper=tuple(copper))


def one_bare(before: Scene) -> Scene:
    """The scene with one open pin, U3:46, on no net, though the file knows private names."""
    name = before.pad("U3:46").net
    rows = tuple(row for row in before.rows if row != name)
    copper = [replace(c, net="" if c.net == name else c.net) for c in before.copper]
    return replace(before.with_pad("U3:46", net=""), rows=rows, copper=tuple(copper))


@pytest.mark.parametrize("moves", [TRADE, OPENS, DROPS], ids=["trade", "opens", "drops"])
@pytest.mark.parametrize("mode", ["keep", "rip"])
@pytest.mark.parametrize("shape", SHAPES)
def test_it_is_the_file_that_another_writer_made(shape: str, mode: str, moves: Moves) -> None:
    before = scene(shape)
    assert delivered(before, moves, mode) == exchange(before, moves, rip=mode == "rip").text()


@pytest.mark.parametrize("shape", ["middle", "new"])
def test_a_private_name_that_has_no_row_gets_one_at_the_end(shape: str) -> None:
    before = one_bare(scene(shape))
    assert delivered(before, OPENS, "keep") == exchange(before, OPENS).text()


def test_without_private_names_an_opened_pin_has_no_net_list() -> None:
    """Its teardrop is on net 0, whose name is empty."""
    before = nothing_private(scene("middle"))
    after = delivered(before, DROPS, "keep")
    pad = after[after.index(b'(pad "43"') :]
    assert b"(net" not in pad[: pad.index(b"\n")]
    assert b'(zone (net 0) (net_name "")' in after


def test_a_fan_out_without_net_list_gets_one() -> None:
    before = nothing_private(scene("new"))
    before = before.with_copper(8, owner="U3:46")
    moves = {"U3:46": "/LED_A", "U3:43": None}
    after = delivered(before, moves, "keep")
    (arc,) = (line for line in after.split(b"\n") if line.startswith(b"\t(arc"))
    assert arc.endswith(b' (net "/LED_A"))')


NETLISTS = {"D": NETLIST_D, "E": NETLIST_E, "EDIF": SMALL}


@pytest.mark.parametrize("kind", NETLISTS)
@settings(max_examples=40)
@given(st.data())
def test_any_pins_on_any_nets_of_a_netlist(kind: str, data: st.DataObject) -> None:
    """The gate reads what was written and finds what was meant; nets grow, shrink, fall empty."""
    file = netlist_file(Named("n", NETLISTS[kind]))
    nets = [None, *dict.fromkeys(node.net for node in file.netlist.nodes if node.net is not None)]
    fixed = getattr(file.spans, "fixed", {})
    free = [node for node in range(len(file.netlist.nodes)) if node not in fixed]
    new = data.draw(st.dictionaries(st.sampled_from(free), st.sampled_from(nets)))
    new = {n: net for n, net in new.items() if net != file.netlist.nodes[n].net}
    written = write_netlist(file.data, file.spans, file.netlist, new)
    assert bool(new) == (written != file.data)


BOARDS = {**ALL, "records": LIST, **{shape: scene(shape).text() for shape in SHAPES}}


@pytest.mark.parametrize("kind", BOARDS)
@settings(max_examples=25)
@given(st.data())
def test_any_exchange_of_nets_of_a_board(kind: str, data: st.DataObject) -> None:
    """The same for boards; a net without pads is none, so that nets only trade places."""
    file = board_file(Named("b", BOARDS[kind]))
    pins = [index for index, pin in enumerate(file.board.pins) if not pin.fault]
    chosen = data.draw(st.lists(st.sampled_from(pins), unique=True, max_size=6))
    had = [file.board.pins[pin].net for pin in chosen]
    has = data.draw(st.permutations(had))
    new = {pin: net for pin, was, net in zip(chosen, had, has, strict=True) if net != was}
    mode = data.draw(st.sampled_from(Mode))
    after, copper = recopper.carry(file.board, new, mode)
    written = write_board(file.data, file.spans, file.board, after, copper)
    assert bool(new) == (written != file.data)


def test_names_that_do_not_fit_the_columns_are_shortened_and_stay_apart() -> None:
    """The list reads back with the same nets by the same pins."""
    data = MIDDLE.replace(b"/LED_A", b"/A VERY LONG NAME OF A NET").replace(b"/SONDE_TX", b"NNAME7")
    for old, new in ((b'"U3"', b'"CONTROLLER1"'), (b'"J7"', b'"CONTROLLER2"'), (b'"R5"', b'"-"')):
        data = data.replace(old, new)
    data = data.replace(b'(pad "EP"', b'(pad "GROUND1"', 1).replace(b'(pad "EP"', b'(pad "GROUND2"')
    file = BoardFile(data, *read_board(data))
    made = exported(file)
    found = read_ipc356(made.data)[0]
    assert [pad.net != NONE for pad in found.pads] == [pad.net != NONE for pad in file.board.pads]
    names = [found.net_name(pad.net) for pad in found.pads]
    assert names == [file.board.net_name(pad.net) for pad in file.board.pads]
    short = dict(made.shortened)
    assert (short["CONTROLLER1"], short["CONTROLLER2"]) == ("CONTRO", "CONTR1")
    assert (short["GROUND1"], short["GROUND2"]) == ("GROU", "GRO1")
    assert len(short["-"]) == 1


@pytest.mark.parametrize("carried", [False, True])
def test_a_private_row_that_nobody_carried_is_taken_again(carried: bool) -> None:
    """The table has a row for the pin that opens, and keeps the one of the pin that gains a net."""
    before = scene("middle")
    name = "unconnected-(U3-IO_B0-Pad41)"
    before = replace(before, rows=(*before.rows, name)) if carried else before
    after = delivered(before, OPENS, "keep")
    numbers = re.findall(rb'\(net (\d+) "%s"' % re.escape(name).encode(), after)
    assert len(set(numbers)) == 1
    assert (b"IO_B5-Pad46" in after) == carried


def test_a_list_that_moves_a_torn_pin_is_refused() -> None:
    """One of its pads has no net list; whatever is written, it is no exchange."""
    pads = ALL["old"].split(b"(pad EP")
    assert len(pads) == 3
    at = pads[2].index(b"(net ")
    torn = pads[2][:at] + pads[2][pads[2].index(b")", at) + 1 :]
    file = board_file(Named("b", b"(pad EP".join([*pads[:2], torn])))
    changes = ChangeList((), (Swap(1, (Move("U3", "EP", "", "GND", None),)),), "ignore")
    with pytest.raises(GateError):
        deliver_board(file, changes)
