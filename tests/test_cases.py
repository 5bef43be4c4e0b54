"""The text-edit cases against sexpdata: the same lists, and only the intended nets change."""

from __future__ import annotations

from pathlib import Path

import pytest
import sexpdata
from cases.boardtext import BoardText, Edit, Node, parse, splice
from cases.late import add_connector
from cases.plain import PlainBoard, read_plain
from cases.scramble import busiest, pool_rules, scramble
from conftest import CORPUS

BOARDS = sorted(CORPUS.glob("*/*.kicad_pcb"))


def counted(tree: object) -> int:
    return 1 + sum(counted(x) for x in tree) if isinstance(tree, list) else 0


def lists(node: Node) -> int:
    return 1 + sum(lists(child) for child in node.children)


@pytest.mark.parametrize("path", BOARDS, ids=lambda p: p.stem)
def test_as_many_lists_as_the_general_purpose_reader_finds(path: Path) -> None:
    data = path.read_bytes()
    assert lists(parse(data)) == counted(sexpdata.loads(data.decode(), nil=None, true=None))


def test_a_quote_inside_a_bare_atom_opens_no_string() -> None:
    root = parse(b'(a (text user 0.96" (at 1 2)) (b "x \\" ) y"))')
    assert [child.atoms[0] for child in root.children] == ["text", "b"]
    assert root.children[1].atoms == ["b", 'x " ) y']


def test_splice_refuses_overlapping_edits() -> None:
    assert splice(b"abcdef", [Edit(4, 5, b"X"), Edit(1, 2, b"YY")]) == b"aYYcdXf"
    with pytest.raises(ValueError, match="overlap"):
        splice(b"abcdef", [Edit(1, 3, b""), Edit(2, 4, b"")])


def pin_nets(board: PlainBoard) -> dict[tuple[str, str], str]:
    return {(pad.ref, pad.number): pad.net for pad in board.pads if pad.number}


@pytest.mark.parametrize("path", BOARDS, ids=lambda p: p.stem)
def test_scrambling_deals_out_the_same_nets(path: Path, tmp_path: Path) -> None:
    text = BoardText(path.read_bytes())
    ref, pins = busiest(text)
    (tmp_path / "b").write_bytes(scramble(text, ref, pins, 3))
    before, after = pin_nets(read_plain(path)), pin_nets(read_plain(tmp_path / "b"))
    changed = {pin for pin in before if before[pin] != after[pin]}
    assert ref == "U1"
    assert before.keys() == after.keys()
    assert len(changed) > len(pins) / 2
    assert changed <= {(ref, pin) for pin in pins}
    assert sorted(before[ref, pin] for pin in pins) == sorted(after[ref, pin] for pin in pins)


@pytest.mark.parametrize("path", BOARDS, ids=lambda p: p.stem)
def test_a_late_connector_takes_open_pins_to_new_nets(path: Path, tmp_path: Path) -> None:
    text = BoardText(path.read_bytes())
    spare = [pad.number for pad in text.pads if pad.ref == "U1" and pad.private][:12]
    late = add_connector(text, "U1", spare, 5)
    (tmp_path / "b").write_bytes(late.data)
    before, after = read_plain(path), read_plain(tmp_path / "b")
    old, new = pin_nets(before), pin_nets(after)
    header = {pin: net for pin, net in new.items() if pin[0] == late.ref}
    taken = {pin: new[pin] for pin in old if new[pin] != old[pin]}
    assert {pin[1] for pin in taken} == set(spare) and {pin[0] for pin in taken} == {"U1"}
    assert sorted(header.values()) == sorted(taken.values()) == sorted(late.nets)
    assert all(not p.type.endswith("+no_connect") for p in after.pads if p.net in late.nets)
    xs = [p.x for p in before.pads]
    assert all(p.x < min(xs) or p.x > max(xs) for p in after.pads if p.ref == late.ref)
    assert (b"\r\n" in late.data) == (late.data.count(b"\r\n") == late.data.count(b"\n"))


def test_a_pin_with_a_net_shares_it_with_the_header() -> None:
    text = BoardText((CORPUS / "demo" / "buoy.kicad_pcb").read_bytes())
    late = add_connector(text, "U1", ["28", "97"], 1)
    assert set(late.nets) == {"/SONDE_TX", "/SONDE_RX"}
    nets = [pad.net for pad in BoardText(late.data).pads if pad.ref == late.ref]
    assert set(nets) == {"/SONDE_TX", "/SONDE_RX"}


def test_the_rules_name_exactly_the_pins() -> None:
    assert pool_rules('U"1', ["A1", "7"]) == b'[[pool]]\npart = "U\\"1"\npins = ["A1", "7"]\n'
