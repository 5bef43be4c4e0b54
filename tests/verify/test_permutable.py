"""Permutable ports: two readings that share no code, the rules they make, and the whole job."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from cases.edif import gates, header
from hypothesis import given
from hypothesis import strategies as st

from renet import cli
from renet.model import Node
from renet.permuted import permuted
from renet.pipeline import Inputs, Named, survey
from renet.read.edif import read_edif
from renet.read.ipc356 import read_ipc356
from renet.rules import Pool, Rules, Unit
from renet.verify import Expect, verify_edif
from renet.verify.permutable import with_declared
from renet.verify.seats import Seat

PORTS = ["A", "B", "C", "E", "F", "G", "D"]


def group(inside: st.SearchStrategy[str]) -> st.SearchStrategy[str]:
    words = st.sampled_from(["permutable", "nonPermutable"])
    return st.builds(lambda w, row: f"({w} {' '.join(row)})", words, st.lists(inside, max_size=4))


refs = st.sampled_from([*PORTS, "(member D 1)", "nobody"]).map(lambda name: f"(portRef {name})")
groups = group(st.recursive(refs | st.just("stray"), group, max_leaves=8))


def cell(text: str) -> bytes:
    """A board of one part whose interface says ``text``; its port D is an array of two."""
    ports = " ".join(f"(port {name})" for name in PORTS[:-1])
    return (
        f"(edif x (edifVersion 2 0 0) (library p (cell c (cellType GENERIC) (view v (viewType "
        f"NETLIST) (interface {ports} (port (array D 2)) {text})))) (library t (cell b (cellType "
        "GENERIC) (view v (viewType NETLIST) (interface) (contents (instance U1 (viewRef v "
        "(cellRef c (libraryRef p)))))))) (design x (cellRef b (libraryRef t))))"
    ).encode()


def seats_of(nodes: tuple[Node, ...]) -> list[Seat]:
    return [
        Seat(0, n.ref, n.pin, "", "", (), True, False, n.net, n.net) for n in nodes
    ]  # fmt: skip


def second(data: bytes, rules: Rules | None = None) -> Rules:
    nodes = read_edif(data)[0].nodes
    return with_declared(rules or Rules(), data, seats_of(nodes), dict(enumerate(nodes)))


@given(st.lists(groups, max_size=4))
def test_both_readings_declare_the_same(texts: list[str]) -> None:
    data = cell(" ".join(texts))
    spans = read_edif(data)[1]
    found = second(data)
    pools = [pool.pins for pool in found.pools]
    units = [(list(unit.tuples), unit.inner) for unit in found.units]
    kept = {word for keep in found.keeps for word in keep.pins}
    trades = spans.trades[0][1] if spans.trades else None
    assert pools == list(trades.pools if trades else [])
    assert units == [
        ([tuple(f"U1:{pin}" for pin in row) for row in unit.tuples], unit.inner)
        for unit in (trades.units if trades else ())
    ]
    assert kept == {f"U1:{pin}" for pin in (trades.kept if trades else ())}


@pytest.mark.parametrize(
    ("text", "pools", "units", "kept"),
    [
        ("(permutable (portRef A) (portRef B))", [("A", "B")], [], []),
        ("(permutable (portRef A))", [], [], []),
        ("(nonPermutable (portRef A) (portRef B))", [], [], ["A", "B"]),
        (
            "(permutable (nonPermutable (portRef A) (portRef B))"
            " (nonPermutable (portRef C) (portRef E)))",
            [], [((("A", "B"), ("C", "E")), ())], [],
        ),
        (
            "(permutable (permutable (portRef A) (portRef B)) (permutable (portRef C)(portRef E)))",
            [], [((("A", "B"), ("C", "E")), ((1, 2),))], [],
        ),
        (
            "(permutable (nonPermutable (permutable (portRef A) (portRef B)) (portRef F))"
            " (nonPermutable (permutable (portRef C) (portRef E)) (portRef G)))",
            [], [((("A", "B", "F"), ("C", "E", "G")), ((1, 2),))], [],
        ),
        (
            "(permutable (nonPermutable (portRef A) (permutable (portRef B) (portRef C)))"
            " (nonPermutable (portRef E)))",
            [("B", "C")], [], ["A", "E"],
        ),
        ("(permutable (portRef D) (nonPermutable (portRef A) (portRef B)))",
         [], [((("D[0]", "D[1]"), ("A", "B")), ())], []),
        ("(permutable (portRef A) (portRef B)) (permutable (portRef B) (portRef C))",
         [("A", "B")], [], []),
    ],
)  # fmt: skip
def test_what_may_trade(text: str, pools: object, units: object, kept: object) -> None:
    trades = dict(read_edif(cell(text))[1].trades)
    found = trades.get("U1")
    assert [*(found.pools if found else ())] == pools
    assert [tuple(unit) for unit in (found.units if found else ())] == units
    assert [*(found.kept if found else ())] == kept


@pytest.mark.parametrize(
    ("text", "absent", "pools", "units"),
    [
        ("(permutable (portRef A) (portRef B))", "", [("A", "B")], []),
        ("(permutable (portRef A) (portRef B))", "B", [], []),
        ("(permutable (portRef A) (portRef B)) (permutable (portRef B) (portRef C))", "",
         [("A", "B")], []),
        ("(permutable (portRef A) (portRef B)) (permutable (nonPermutable (portRef B) (portRef C))"
         " (nonPermutable (portRef E) (portRef F)))", "", [("A", "B")], []),
        ("(permutable (nonPermutable (portRef A) (portRef B)) (nonPermutable (portRef C) "
         "(portRef E)))", "", [], [(("U1:A", "U1:B"), ("U1:C", "U1:E"))]),
    ],
)  # fmt: skip
def test_what_verify_takes_for_groups(
    text: str, absent: str, pools: list[object], units: list[object]
) -> None:
    """A pin is in one group at most, and a group has two rows that are whole on the board."""
    data = cell(text)
    nodes = read_edif(data)[0].nodes
    met = {index: node for index, node in enumerate(nodes) if node.pin != absent}
    found = with_declared(Rules(), data, seats_of(nodes), met)
    assert [pool.pins for pool in found.pools] == pools
    assert [unit.tuples for unit in found.units] == units


def test_an_instance_in_another_view_of_the_board_is_none_of_its_parts() -> None:
    """A drawing beside the netlist, with a symbol whose cell is not there."""
    drawing = (
        b"(cell b (cellType GENERIC) (view d (viewType SCHEMATIC) (interface) (contents"
        b" (instance G (viewRef v (cellRef nowhere)))))"
    )
    data = cell("(permutable (portRef A) (portRef B))")
    data = data.replace(b"(cell b (cellType GENERIC)", drawing)
    assert b"nowhere" in data
    assert [pool.part for pool in second(data).pools] == ["U1"]


def test_a_part_that_the_rules_speak_of_is_left_to_them() -> None:
    data = gates()
    board = read_ipc356(header(data))[0]
    declared = read_edif(data)[1].trades
    assert [unit.inner for unit in permuted(Rules(), declared, board).units] == [((1, 2),)]
    mine = Rules(pools=(Pool("U1", ("1", "2")),))
    assert permuted(mine, declared, board) == mine
    theirs = second(data, mine)
    assert (theirs.pools, theirs.units) == (mine.pools, ())
    units = Rules(units=(Unit((("U1:1",), ("U1:2",))),))
    assert permuted(units, declared, board) == units
    assert second(data, units).units == units.units


def test_what_is_not_permutable_stays_whatever_the_rules_say() -> None:
    data = gates()
    rules = b'[[pool]]\npart = "U1"\npins = ["1", "2", "14"]\n'
    inputs = Inputs(Named("b", header(data)), Named("n", data), Named("r", rules))
    scene = survey(inputs)
    assert {(scene.board.pin_label(pin), why) for pin, why in scene.freedom.kept} == {
        ("U1:14", "the netlist calls it nonPermutable")
    }


def exchanged(data: bytes, one: str, other: str) -> bytes:
    """The netlist with two portRefs exchanged."""
    a, b = (f"(portRef {pin.split(':')[1]} (instanceRef {pin.split(':')[0]}))".encode()
            for pin in (one, other))  # fmt: skip
    assert data.count(a) == data.count(b) == 1
    return data.replace(a, b"@").replace(b, a).replace(b"@", b)


@pytest.mark.parametrize(
    ("swaps", "good"),
    [
        ([], True),
        ([("U1:I1", "U1:I2")], True),
        ([("U1:I1", "U1:I4"), ("U1:I2", "U1:I5"), ("U1:O3", "U1:O6")], True),
        ([("U1:I1", "U1:I5"), ("U1:I2", "U1:I4"), ("U1:O3", "U1:O6")], True),
        ([("U1:I1", "U1:I4")], False),
        ([("U1:O3", "U1:O6")], False),
        ([("U1:V14", "U1:I1")], False),
    ],
)
def test_verify_permits_what_the_netlist_declares(swaps: list[tuple[str, str]], good: bool) -> None:
    data = after = gates()
    for one, other in swaps:
        after = exchanged(after, one, other)
    assert verify_edif(data, after, Expect(Rules())).ok == good


def test_the_whole_job_with_the_netlists_own_freedom(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """No rules file at all: untangle moves gates, verify and apply permit that and no more."""
    data = gates()
    board, netlist, out = tmp_path / "g.d356", tmp_path / "g.edf", tmp_path / "out"
    board.write_bytes(header(data))
    netlist.write_bytes(data)

    def call(*args: object) -> int:
        return cli.run([*map(str, args)])

    assert call("untangle", board, "--netlist", netlist, "-o", out, "--json") == 0
    record = json.loads(capsys.readouterr().out)
    assert record["after"]["crossings"] < record["before"]["crossings"]
    assert record["moved_pins"] == 6
    swaps, new, edf = out / "g.swaps", out / "g.d356", out / "g.edf"
    assert call("verify", board, new, "--netlist", netlist) == 0
    assert call("verify", netlist, edf, "--netlist", netlist) == 0
    empty = tmp_path / "none.toml"
    empty.write_bytes(b"")
    assert call("verify", netlist, edf, "--rules", empty) == 0
    assert call("verify", board, new, "--rules", empty) == 1
    assert call("verify", board, new, "--rules", empty, "--netlist", netlist) == 0
    again = tmp_path / "again"
    asked = ["--rules", empty, "--netlist", netlist, "--hand-over", tmp_path / "hand"]
    assert call("apply", swaps, board, "-o", again, *asked) == 0
    handed = b"".join(path.read_bytes() for path in sorted((tmp_path / "hand").iterdir()))
    assert b"the permutable groups of U1" in handed
    assert again.read_bytes() == new.read_bytes()
    assert call("apply", swaps, board, "-o", tmp_path / "no", "--rules", empty) == 3
    assert call("apply", swaps, netlist, "-o", tmp_path / "n", "--rules", empty) == 0
    empty.write_bytes(b'[[pool]]\npart = "U1"\npins = ["1", "2"]\n')
    assert call("apply", swaps, netlist, "-o", tmp_path / "no", "--rules", empty) == 3
    assert not (tmp_path / "no").exists()
