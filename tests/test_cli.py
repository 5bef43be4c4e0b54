"""The commands as a user meets them: exit codes, one clear line, nothing half-written."""

from __future__ import annotations

import json
import os
import re
import shutil
from pathlib import Path

import pytest
from conftest import CORPUS

from renet import cli

DEMO = CORPUS / "demo"
BOARD, NETLIST, RULES = (DEMO / name for name in ("buoy.kicad_pcb", "buoy.net", "buoy.rules.toml"))


def call(capsys: pytest.CaptureFixture[str], *args: object) -> tuple[int, str, str]:
    code = cli.run([str(arg) for arg in args])
    out, err = capsys.readouterr()
    return code, out, err


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo, untangled once."""
    folder = tmp_path_factory.mktemp("done")
    args = ["untangle", BOARD, "--netlist", NETLIST, "-o", folder, "--quiet"]
    assert cli.run([str(arg) for arg in args]) == 0
    return folder


def test_untangle_writes_everything_and_says_what_is_left_to_do(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    before = {p.name: p.read_bytes() for p in DEMO.iterdir()}
    code, out, err = call(capsys, "untangle", BOARD, "--netlist", NETLIST, "-o", tmp_path)
    assert (code, err) == (0, "")
    for word in ("crossings", "schematic is not changed", "pins to edit", "written to"):
        assert word in out
    names = {p.name for p in tmp_path.iterdir()}
    assert {"buoy.kicad_pcb", "buoy.net", "buoy.csv", "buoy.swaps"} <= names
    assert {p.name: p.read_bytes() for p in DEMO.iterdir()} == before


def test_json_has_the_contract(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    code, out, _ = call(capsys, "untangle", BOARD, "-o", tmp_path, "--json")
    found = json.loads(out)
    assert code == 0
    assert found["schema"] == "renet/untangle/1"
    assert found["after"]["crossings"] < found["before"]["crossings"]
    assert found["bound"]["crossings"] <= found["after"]["crossings"]
    assert found["moved_pins"] == sum(len(swap["moves"]) for swap in found["swaps"])
    assert {"part", "pin", "name", "was", "is"} == set(found["swaps"][0]["moves"][0])
    assert all({"part", "pin", "why"} == set(kept) for kept in found["kept"])
    assert all(Path(path).is_file() for path in found["files"].values())


def test_inspect_json_has_the_contract(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = call(capsys, "inspect", BOARD, "--json")
    found = json.loads(out)
    assert code == 0
    assert found["schema"] == "renet/inspect/1"
    assert len(found["connections"]) > 0
    assert set(found["connections"][0]["a"]) == {"part", "pin", "x_mm", "y_mm"}
    assert found["left_out"][0]["why"]


def test_same_inputs_same_bytes(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, done: Path
) -> None:
    call(capsys, "untangle", BOARD, "--netlist", NETLIST, "-o", tmp_path, "--quiet")
    for path in done.iterdir():
        assert (tmp_path / path.name).read_bytes() == path.read_bytes()


def test_diff_shows_swaps_and_answers_no(capsys: pytest.CaptureFixture[str], done: Path) -> None:
    code, out, _ = call(capsys, "diff", done / "buoy.swaps")
    assert code == 1
    assert "swap 1" in out
    assert "alone" in out
    code, out, _ = call(capsys, "diff", BOARD, done / "buoy.kicad_pcb", "--json")
    listed = json.loads(out)
    code, out, _ = call(capsys, "diff", done / "buoy.swaps", "--json")
    assert moves(listed) == moves(json.loads(out))
    assert call(capsys, "diff", BOARD, BOARD)[0] == 0
    code, out, _ = call(capsys, "diff", NETLIST, done / "buoy.net", "--json")
    assert moves(json.loads(out)) == moves(listed)


def moves(record: dict) -> set[tuple]:  # type: ignore[type-arg]
    return {
        (m["part"], m["pin"], m["was"], m["is"]) for swap in record["swaps"] for m in swap["moves"]
    }


def test_apply_takes_some_and_verify_agrees(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, done: Path
) -> None:
    swaps = done / "buoy.swaps"
    whole = tmp_path / "whole.kicad_pcb"
    assert call(capsys, "apply", swaps, BOARD, "-o", whole)[0] == 0
    assert whole.read_bytes() == (done / "buoy.kicad_pcb").read_bytes()
    netlist = tmp_path / "whole.net"
    assert call(capsys, "apply", swaps, NETLIST, "-o", netlist)[0] == 0
    assert netlist.read_bytes() == (done / "buoy.net").read_bytes()
    part = tmp_path / "part.kicad_pcb"
    assert call(capsys, "apply", swaps, BOARD, "-o", part, "--only", "1,2")[0] == 0
    check = ("verify", BOARD, part, "--swaps", swaps)
    assert call(capsys, *check, "--only", "1,2")[0] == 0
    code, out, _ = call(capsys, *check)
    assert code == 1
    assert out.startswith("no:")
    assert call(capsys, "verify", BOARD, part, "--rules", RULES)[0] == 0
    assert call(capsys, "verify", BOARD, whole, "--rules", RULES, "--swaps", swaps)[0] == 0
    assert call(capsys, "verify", NETLIST, netlist, "--swaps", swaps)[0] == 0
    back = ("verify", BOARD, "--netlist", netlist, "--swaps", swaps)
    assert call(capsys, *back)[0] == 0
    assert call(capsys, "verify", BOARD, "--netlist", NETLIST, "--swaps", swaps)[0] == 1


def test_a_stale_list_is_refused_and_carried_over_on_demand(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, done: Path
) -> None:
    newer = tmp_path / "newer.kicad_pcb"
    newer.write_bytes(BOARD.read_bytes().replace(b"(thickness 1.6)", b"(thickness 1.7)", 1))
    out = tmp_path / "out.kicad_pcb"
    code, _, err = call(capsys, "apply", done / "buoy.swaps", newer, "-o", out)
    assert (code, out.exists()) == (2, False)
    assert "other content" in err
    args = ("apply", done / "buoy.swaps", newer, "-o", out, "--carry-over")
    assert call(capsys, *args)[0] == 0
    code, _, err = call(capsys, "apply", done / "buoy.swaps", out, "-o", tmp_path / "x")
    assert code == 2
    assert re.search(r"U1:\d+ is on", err)


def test_without_rules_nothing_moves(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    alone = tmp_path / "alone.kicad_pcb"
    shutil.copy(BOARD, alone)
    code, out, _ = call(capsys, "untangle", alone, "-o", tmp_path / "out")
    assert code == 0
    assert "renet rules" in out
    assert (tmp_path / "out" / "alone.kicad_pcb").read_bytes() == alone.read_bytes()
    assert "(swap " not in (tmp_path / "out" / "alone.swaps").read_text("utf-8")


def test_demo_unpacks_and_runs(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    code, out, _ = call(capsys, "demo", tmp_path / "demo")
    assert code == 0
    assert "unpacked" in out
    assert (tmp_path / "demo" / "untangled" / "buoy.swaps").is_file()


BAD = {
    "truncated": lambda d: d[: len(d) // 2],
    "unbalanced": lambda d: d + b")",
    "wrong root": lambda _: b"(poem (line 1))",
    "binary": lambda _: bytes(range(256)),
    "empty": lambda _: b"",
    "netlist for a board": lambda _: NETLIST.read_bytes(),
}


@pytest.mark.parametrize("kind", BAD)
def test_a_bad_board_gets_one_line_with_its_place(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, kind: str
) -> None:
    bad = tmp_path / "bad.kicad_pcb"
    bad.write_bytes(BAD[kind](BOARD.read_bytes()))
    out = tmp_path / "out"
    code, text, err = call(capsys, "untangle", bad, "--rules", RULES, "-o", out)
    assert (code, text, out.exists()) == (2, "", False)
    assert re.fullmatch(rf"renet: {re.escape(str(bad))}(:\d+:\d+)?: [^\n]+; [^\n]+\n", err)


def test_a_name_that_no_text_can_say(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """The change list would have to say it."""
    board = tmp_path / os.fsdecode(b"b\xff.kicad_pcb")
    try:
        board.write_bytes(BOARD.read_bytes())
    except OSError:
        pytest.skip("this file system has no such names")
    code, text, err = call(capsys, "untangle", board, "--rules", RULES, "-o", tmp_path / "out")
    assert (code, text) == (2, "")
    assert "its name is not UTF-8 text; rename the file" in err


def test_verify_names_the_file_that_cannot_be_read(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """BEFORE, the netlist given with a board, and the one that came back; AFTER is a finding."""
    swaps = tmp_path / "l.swaps"
    swaps.write_bytes(b'(renet_swaps (version 1) (source (kind board) (file "b") (sha256 "0")))')
    bad, torn = tmp_path / "bad.kicad_pcb", tmp_path / "bad.net"
    bad.write_bytes(BOARD.read_bytes()[:-9])
    torn.write_bytes(NETLIST.read_bytes()[:-9])
    for fault, *words in (
        (bad, bad, BOARD, "--rules", RULES),
        (torn, BOARD, BOARD, "--rules", RULES, "--netlist", torn),
        (torn, BOARD, "--netlist", torn, "--swaps", swaps),
    ):
        code, _, err = call(capsys, "verify", *words)
        assert code == 2
        assert re.match(rf"renet: {re.escape(str(fault))}:\d+:\d+: the (file|string)", err), err
    assert call(capsys, "verify", BOARD, bad, "--rules", RULES)[0] == 1


def test_bad_rules_name_file_line_and_the_nearest_name(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    rules = tmp_path / "r.toml"
    rules.write_text('[[pool]]\npart = "U1"\npins = ["IO_A1", "IO_ZZ"]\n', "utf-8")
    out = tmp_path / "out"
    code, _, err = call(capsys, "untangle", BOARD, "--rules", rules, "-o", out)
    assert (code, out.exists()) == (2, False)
    assert f"{rules}:3" in err
    assert "IO_ZZ" in err
    assert err.count("\n") == 1


def test_a_netlist_of_another_board(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    other = CORPUS / "boards" / "probe.net"
    code, _, err = call(capsys, "untangle", BOARD, "--netlist", other, "-o", tmp_path / "o")
    assert code == 2
    assert "another board" in err
    assert not (tmp_path / "o").exists()


def test_an_output_that_is_an_input(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    board = tmp_path / "b.kicad_pcb"
    shutil.copy(BOARD, board)
    code, _, err = call(capsys, "untangle", board, "--rules", RULES, "-o", tmp_path)
    assert code == 2
    assert "never overwritten" in err
    assert [p.name for p in tmp_path.iterdir()] == ["b.kicad_pcb"]


def test_an_output_folder_that_cannot_be(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    (tmp_path / "taken").write_bytes(b"")
    code, _, err = call(capsys, "untangle", BOARD, "-o", tmp_path / "taken" / "x")
    assert code == 2
    assert "cannot be written" in err


@pytest.mark.parametrize(
    "args",
    [
        ("untangle",),
        ("nonsense",),
        ("inspect", "none.kicad_pcb"),
        ("untangle", BOARD, "--copper", "melt"),
        ("untangle", BOARD, "--seed", "-1"),
        ("untangle", BOARD, "--seconds", "0"),
        ("diff", "a", "b", "c"),
        ("verify", BOARD, BOARD),
        ("verify", "--netlist", NETLIST),
        ("diff", BOARD),
    ],
)
def test_bad_usage_is_one_line_and_exit_code_2(
    capsys: pytest.CaptureFixture[str], args: tuple[object, ...]
) -> None:
    code, out, err = call(capsys, *args)
    assert (code, out) == (2, "")
    assert err.startswith("renet: ")
    assert err.count("\n") == 1


def test_picking_swaps_that_are_not_there(capsys: pytest.CaptureFixture[str], done: Path) -> None:
    for pick in (("--only", "99"), ("--without", "x"), ("--only", "1", "--without", "2")):
        code, _, err = call(capsys, "diff", done / "buoy.swaps", *pick)
        assert code == 2
        assert err.startswith("renet: ")


def test_an_internal_fault_is_one_line(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise ZeroDivisionError("by\nzero")

    monkeypatch.setattr("renet.pipeline.survey", fail)
    code, _, err = call(capsys, "inspect", BOARD)
    assert code == 3
    assert err.startswith("renet: internal error: ZeroDivisionError: by zero at test_cli.py:")
    assert err.count("\n") == 1


def test_the_frontier_leads_from_the_input_to_the_result(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, done: Path
) -> None:
    quick = ("--frontier", "--iterations", 100)
    code, out, _ = call(capsys, "untangle", BOARD, "-o", tmp_path, "--json", *quick)
    found = json.loads(out)
    assert code == 0
    rows, knee = found["frontier"]["rows"], found["frontier"]["knee"]
    first, last = rows[0], rows[-1]
    assert (first["moved_pins"], first["crossings"]) == (0, found["before"]["crossings"])
    assert (last["moved_pins"], last["crossings"]) == (
        found["moved_pins"],
        found["after"]["crossings"],
    )
    assert knee["max_moves"] in {row["max_moves"] for row in rows}
    assert "How many moved pins" in (tmp_path / "buoy.html").read_text("utf-8")
    assert "How many moved pins" not in (done / "buoy.html").read_text("utf-8")
    few = ("--max-moves", 4, *quick)
    code, out, _ = call(capsys, "untangle", BOARD, "-o", tmp_path / "few", *few)
    assert code == 0
    assert "how many moved pins buy how many crossings" in out
