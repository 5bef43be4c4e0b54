"""Labels exchanged on the buoy's sheet: they make the old netlist with the moves done."""

from __future__ import annotations

import json
import re
from collections import defaultdict
from pathlib import Path

import pytest
from cases.plain import read_plain_netlist
from cases.review import DEMO, buoy_view
from hypothesis import given
from hypothesis import strategies as st

from renet import cli
from renet.annotate import annotate
from renet.changes import ChangeList, Move, Swap
from renet.errors import InputError
from renet.read.schematic import read_sheet
from renet.wiring import partition

SHEET = DEMO / "buoy.kicad_sch"
DATA = SHEET.read_bytes()
NETS = read_plain_netlist(DEMO / "buoy.net")

Key = tuple[str, str]
Groups = set[frozenset[Key]]


def groups(nets: dict[Key, str]) -> Groups:
    found: dict[str, set[Key]] = defaultdict(set)
    for key, net in nets.items():
        found[net].add(key)
    return {frozenset(keys) for keys in found.values() if len(keys) > 1}


def moved(nets: dict[Key, str], moves: tuple[Move, ...]) -> dict[Key, str]:
    after = {key: net for key, net in nets.items() if not net.startswith("unconnected-")}
    assert all(after.get((m.part, m.pin)) == m.was for m in moves)
    for move in moves:
        if move.is_ is None:
            del after[move.part, move.pin]
        else:
            after[move.part, move.pin] = move.is_
    return after


def netlist_of(data: bytes) -> Groups:
    return partition([read_sheet(data)])


def test_the_sheet_says_what_the_netlist_says() -> None:
    """Read through sexpdata on one side (tests/cases/plain.py), through renet on the other."""
    assert netlist_of(DATA) == groups(NETS)


def test_labels_before_and_the_list_give_labels_after() -> None:
    changes = buoy_view().changes
    found = annotate([DATA], changes)
    assert found.done == tuple(swap.id for swap in changes.swaps)
    assert found.undone == ()
    assert netlist_of(found.sheets[0]) == groups(moved(NETS, changes.moves))


@given(st.sets(st.integers(1, 9)))
def test_any_choice_of_swaps(ids: set[int]) -> None:
    changes = buoy_view().changes.only(frozenset(ids))
    found = annotate([DATA], changes)
    assert netlist_of(found.sheets[0]) == groups(moved(NETS, changes.moves))


def test_marks_move_with_open_pins_and_nothing_else_is_touched() -> None:
    changes = buoy_view().changes
    after = annotate([DATA], changes).sheets[0]
    opened = {(m.part, m.pin) for m in changes.moves if m.is_ is None}
    sheet = read_sheet(after)
    marks = {mark.at for mark in sheet.marks}
    assert {(p.ref, p.number) for p in sheet.pins if p.at in marks} >= opened
    assert len(sheet.marks) == len(read_sheet(DATA).marks)
    old = DATA[DATA.index(b"(lib_symbols") : DATA.index(b"(wire")]
    assert old in after
    assert after.count(b"(uuid") == DATA.count(b"(uuid") - len(opened), "one wire each is gone"


def test_nothing_to_do_changes_nothing() -> None:
    assert annotate([DATA], ChangeList((), ())).sheets == (DATA,)


def exchange(first: Key, second: Key) -> ChangeList:
    a, b = NETS[first], NETS[second]
    return ChangeList((), (Swap(1, (Move(*first, "", a, b), Move(*second, "", b, a))),))


def test_an_exchange_and_its_inverse_give_the_bytes_back() -> None:
    changes = exchange(("U1", "28"), ("U1", "75"))
    there = annotate([DATA], changes).sheets[0]
    assert there != DATA
    assert annotate([there], changes.inverse()).sheets[0] == DATA


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (b'(label "SONDE_TX"', b'(label "ELSEWHERE"', "its label says"),
        (b'(label "SONDE_TX"', b'(text "SONDE_TX"', "does not end in a label"),
        (b'(label "SONDE_TX"', b'(global_label "SONDE_TX"', "its label says"),
    ],
)
def test_a_pin_that_cannot_be_done_keeps_its_whole_swap(old: bytes, new: bytes, words: str) -> None:
    data = DATA.replace(old, new)
    two = exchange(("U1", "28"), ("U1", "75"))
    other = exchange(("U1", "57"), ("U1", "78"))
    changes = ChangeList((), (two.swaps[0], other.swaps[0]._replace(id=2)))
    found = annotate([data], changes)
    assert found.done == (2,)
    assert {(u.swap, u.part, u.pin) for u in found.undone} == {(1, "U1", "28"), (1, "U1", "75")}
    assert any(words in u.why for u in found.undone)
    assert netlist_of(found.sheets[0]) == netlist_of(
        annotate([data], ChangeList((), changes.swaps[1:])).sheets[0]
    )


def test_a_nameless_net_is_left_to_the_engineer() -> None:
    changes = exchange(("R5", "1"), ("R6", "1"))
    found = annotate([DATA], changes)
    assert found.sheets == (DATA,)
    assert "something else" in found.undone[0].why


def test_pins_that_are_on_no_sheet_are_named() -> None:
    changes = ChangeList((), (Swap(4, (Move("U77", "1", "", "/A", "/B"),)),))
    (undone,) = annotate([DATA], changes).undone
    assert (undone.swap, undone.part, undone.why) == (4, "U77", "it is on none of the sheets given")


def test_a_sheet_used_twice_is_left() -> None:
    path = re.search(rb'\(path "/[\w-]+"\s+\(reference "U1"\)', DATA)
    assert path
    twice = DATA.replace(path[0], path[0] + b' (unit 1)) (path "/x" (reference "U9")')
    found = annotate([twice], exchange(("U1", "28"), ("U1", "75")))
    assert found.sheets == (twice,)
    assert {u.why for u in found.undone} == {"its sheet is used more than once"}


def global_exchange(other: str, net: str) -> ChangeList:
    moves = (Move("U1", "28", "", "SONDE_TX", net), Move(other, "75", "", net, "SONDE_TX"))
    return ChangeList((), (Swap(1, moves),))


GLOBAL = DATA.replace(b'(label "SONDE_TX"', b'(global_label "SONDE_TX"')


def test_labels_of_different_kinds_do_not_trade_places() -> None:
    found = annotate([GLOBAL], global_exchange("U1", NETS["U1", "75"]))
    assert found.sheets == (GLOBAL,)
    assert {u.why for u in found.undone} == {"labels of different kinds would have to trade places"}


def second_sheet(kind: bytes) -> tuple[bytes, str]:
    """Another sheet of the same shape, all its references different; and the net of U1:75 there."""
    sheet = re.sub(rb'\(reference "(\w+)"\)', rb'(reference "X\1")', DATA)
    net = NETS["U1", "75"].removeprefix("/")
    label = b'(label "' + net.encode() + b'"'
    return sheet.replace(label, b"(" + kind + b' "' + net.encode() + b'"'), net


def test_global_labels_trade_places_across_sheets() -> None:
    other, net = second_sheet(b"global_label")
    found = annotate([GLOBAL, other], global_exchange("XU1", net))
    assert (found.done, found.undone) == ((1,), ())
    labels = [{label.text for label in read_sheet(data).labels} for data in found.sheets]
    assert found.sheets[0].count(b'"' + net.encode() + b'"') > DATA.count(
        b'"' + net.encode() + b'"'
    )
    assert "SONDE_TX" in labels[1]


def test_local_labels_do_not_trade_places_across_sheets() -> None:
    other, net = second_sheet(b"label")
    moves = (
        Move("U1", "28", "", "/SONDE_TX", f"/{net}"),
        Move("XU1", "75", "", f"/{net}", "/SONDE_TX"),
    )
    found = annotate([DATA, other], ChangeList((), (Swap(1, moves),)))
    assert found.sheets == (DATA, other)
    assert {u.why for u in found.undone} == {"its swap reaches over several sheets"}


def test_a_board_is_no_schematic() -> None:
    with pytest.raises(InputError, match="no S-expression schematic"):
        read_sheet(b"(something (version 1))")


def test_apply_writes_the_sheet_beside_the_board(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    board, run, out = DEMO / "buoy.kicad_pcb", tmp_path / "run", tmp_path / "out"
    assert cli.run(["untangle", str(board), "-o", str(run), "-q"]) == 0
    command = ["apply", str(run / "buoy.swaps"), str(board), "-o", str(out / "buoy.kicad_pcb")]
    assert cli.run([*command, "--schematic", str(SHEET), "--only", "1,2", "--json"]) == 0
    record = json.loads(capsys.readouterr().out)["schematic"]
    assert (record["done"], record["undone"]) == ([1, 2], [])
    changes = buoy_view().changes.only(frozenset({1, 2}))
    assert netlist_of((out / SHEET.name).read_bytes()) == groups(moved(NETS, changes.moves))
    assert SHEET.read_bytes() == DATA
