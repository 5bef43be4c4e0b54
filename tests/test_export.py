"""Lists of records through the commands, and the same job whatever the board is written in."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from cases.edif import edif_of
from cases.record_rules import RULES
from conftest import CORPUS

from renet import cli
from renet.changes import Move
from renet.copper import Mode
from renet.export import exported
from renet.pipeline import Inputs, Named, Options, board_file, untangle
from renet.read.edif import read_edif
from renet.read.netlist import read_netlist

DEMO = CORPUS / "demo"
BOARD, NETLIST = DEMO / "buoy.kicad_pcb", DEMO / "buoy.net"


def named(path: Path) -> Named:
    return Named(path.name, path.read_bytes())


def moves(board: Named, netlist: Named | None) -> list[Move]:
    inputs = Inputs(board, netlist, Named("rules", RULES))
    job = untangle(inputs, Options(mode=Mode.IGNORE))
    return sorted(move._replace(name="") for move in job.changes.moves)


OPEN = CORPUS / "standards"
RECORDS, EDIF = OPEN / "buoy.d356", OPEN / "buoy.edf"


@pytest.fixture(scope="module")
def listed() -> Named:
    return Named("buoy.d356", exported(board_file(named(BOARD))).data)


def test_the_same_moves_whatever_the_board_is_written_in() -> None:
    """All mixtures; rules by pin number, plane nets left out by name, no copper, all pads.

    The lists of the corpus are written by a script that knows nothing of renet.
    """
    wanted = moves(named(BOARD), named(NETLIST))
    assert len(wanted) > 10
    for board in (BOARD, RECORDS):
        for netlist in (None, NETLIST, EDIF):
            assert moves(named(board), named(netlist) if netlist else None) == wanted


def test_our_own_list_of_a_board_gives_the_same_moves(listed: Named) -> None:
    assert moves(listed, None) == moves(named(BOARD), named(NETLIST))


def test_names_in_capitals_and_cut_make_no_other_moves() -> None:
    """A list whose long names are cut, one from the left and one from the right."""
    data, edif = RECORDS.read_bytes(), EDIF.read_bytes()
    for ref, long in ((b"U1", b"controller_U1"), (b"J7", b"Sonde_J7")):
        cut = long.upper()[:6] if ref == b"U1" else long.upper()[-6:]
        data = data.replace(b"   " + ref.ljust(6) + b"-", b"   " + cut + b"-")
        edif = edif.replace(b"(instance " + ref + b" ", b"(instance " + long + b" ")
        edif = edif.replace(b"(instanceRef " + ref + b")", b"(instanceRef " + long + b")")
    rules = RULES.replace(b'"U1"', b'"CONTRO"')
    inputs = Inputs(Named("b.d356", data), Named("b.edf", edif), Named("rules", rules))
    job = untangle(inputs, Options(mode=Mode.IGNORE))
    met = job.scene.met.agreement
    assert met.called == {"CONTRO": "controller_U1", "NDE_J7": "Sonde_J7"}
    assert (met.differs, met.absent) == ({}, ())
    found = sorted(move._replace(name="") for move in job.changes.moves)
    wanted = moves(named(RECORDS), named(EDIF))
    assert [move._replace(part="U1") for move in found] == wanted
    assert job.netlist is not None
    before = nets(edif)
    moved = {node: net for node, net in nets(job.netlist).items() if before[node] != net}
    assert moved == {("controller_U1", move.pin): move.is_ for move in wanted}


def nets(data: bytes) -> dict[tuple[str, str], str | None]:
    return {(node.ref, node.pin): node.net for node in read_edif(data)[0].nodes}


def call(capsys: pytest.CaptureFixture[str], *args: object) -> tuple[int, str, str]:
    code = cli.run([str(arg) for arg in args])
    out, err = capsys.readouterr()
    return code, out, err


def test_the_commands_take_a_list_of_records(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    source, rules, after = (tmp_path / name for name in ("b.d356", "b.rules.toml", "after.d356"))
    rules.write_bytes(RULES)
    code, out, _ = call(capsys, "export", "--ipc356", BOARD, "-o", source)
    assert (code, out) == (0, f"{source}: 331 pads on 80 nets\n")
    code, out, _ = call(capsys, "inspect", source)
    assert code == 0 and "says nothing of copper: all connections count as open" in out
    assert not json.loads(call(capsys, "inspect", source, "--json")[1])["copper_known"]
    code, out, _ = call(capsys, "untangle", source, "-o", tmp_path / "out")
    assert code == 0 and "says nothing of copper" in out
    made, swaps = tmp_path / "out" / "b.d356", tmp_path / "out" / "b.swaps"
    assert call(capsys, "apply", swaps, source, "-o", after)[0] == 0
    assert after.read_bytes() == made.read_bytes() != source.read_bytes()
    assert call(capsys, "diff", source, after)[0] == 1
    assert call(capsys, "verify", source, after, "--swaps", swaps)[0] == 0
    assert call(capsys, "verify", source, after, "--rules", rules)[0] == 0
    assert call(capsys, "verify", source, BOARD, "--rules", rules)[0] == 2
    assert call(capsys, "export", "--ipc356", made, "-o", tmp_path / "again.d356")[0] == 0


def test_a_sketch_needs_a_file_with_drawings(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, listed: Named
) -> None:
    source = tmp_path / "b.d356"
    source.write_bytes(listed.data)
    code, _, err = call(capsys, "channels", source, "--sketch", tmp_path / "s.d356")
    assert code == 2 and "no layer for drawings" in err


def test_rules_are_drafted_and_channels_planned_from_a_list(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, listed: Named
) -> None:
    source = tmp_path / "b.d356"
    source.write_bytes(listed.data)
    assert call(capsys, "rules", source, "-o", tmp_path / "draft.toml")[0] == 0
    assert b"[[pool]]" in (tmp_path / "draft.toml").read_bytes()
    code, out, _ = call(capsys, "channels", source)
    assert code == 0 and "111 open connections" in out


def test_export_needs_a_format(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    code, _, err = call(capsys, "export", BOARD, "-o", tmp_path / "x")
    assert code == 2 and "give --ipc356" in err


def test_permutable_ports_free_pins_without_a_rules_file(listed: Named) -> None:
    plain = read_netlist(NETLIST.read_bytes())[0]
    pins = "".join(f"(portRef &{pin})" for pin in range(55, 65))
    cell = b"(cell CU1 (cellType GENERIC) (view v (viewType NETLIST) (interface "
    data = edif_of(plain)
    assert cell in data
    edif = data.replace(cell, cell + f"(permutable {pins}) ".encode())
    job = untangle(Inputs(listed, Named("buoy.edf", edif)), Options(mode=Mode.IGNORE))
    assert job.changes.moves
    assert {move.part for move in job.changes.moves} == {"U1"}
    assert all(55 <= int(move.pin) <= 64 for move in job.changes.moves)


def test_the_commands_take_an_edif_netlist(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, listed: Named
) -> None:
    source, net, rules = (tmp_path / name for name in ("b.d356", "b.edf", "b.rules.toml"))
    source.write_bytes(listed.data)
    net.write_bytes(edif_of(read_netlist(NETLIST.read_bytes())[0]))
    rules.write_bytes(RULES)
    out, swaps = tmp_path / "out", tmp_path / "out" / "b.swaps"
    assert call(capsys, "untangle", source, "--netlist", net, "-o", out)[0] == 0
    assert call(capsys, "apply", swaps, net, "-o", tmp_path / "new.edf")[0] == 0
    assert (tmp_path / "new.edf").read_bytes() == (out / "b.edf").read_bytes()
    assert call(capsys, "diff", net, out / "b.edf")[0] == 1
    assert call(capsys, "verify", net, out / "b.edf", "--swaps", swaps)[0] == 0
    assert call(capsys, "verify", net, net, "--swaps", swaps)[0] == 1
    returned = ["verify", source, "--netlist", out / "b.edf", "--swaps", swaps]
    assert call(capsys, *returned)[0] == 0
