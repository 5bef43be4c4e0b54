"""The command: files in, file out, one line for what is wrong."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import CORPUS

from renet.cli import run
from renet.read.rules import read_rules

BOARD = CORPUS / "demo" / "buoy.kicad_pcb"
NETLIST = CORPUS / "demo" / "buoy.net"


def test_draft_then_draft_again(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "buoy.rules.toml"
    assert run(["rules", str(BOARD), "--netlist", str(NETLIST), "-o", str(out)]) == 0
    first = out.read_bytes()
    assert read_rules(first).pools
    assert run(["rules", str(BOARD), "--netlist", str(NETLIST), "-o", str(out)]) == 0
    assert out.read_bytes() == first
    assert "nothing to add" in capsys.readouterr().out


def test_untangle_takes_the_draft(tmp_path: Path) -> None:
    out = tmp_path / "draft.toml"
    assert run(["rules", str(BOARD), "-o", str(out), "-q"]) == 0
    done = str(tmp_path / "done")
    command = ["untangle", str(BOARD), "--rules", str(out), "-o", done, "--iterations", "50", "-q"]
    assert run(command) == 0


def test_explain_prints_and_writes_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["rules", str(BOARD), "--explain", "U1:NRST"]) == 0
    assert "is kept: a reset pin by its name" in capsys.readouterr().out


def test_a_table_of_functions_is_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = tmp_path / "functions.csv"
    table.write_text("part,pin,function\nU1,28,UART2_TX\nU1,97,UART2_RX\nU1,24,UART3_TX\n")
    out = tmp_path / "rules.toml"
    assert run(["rules", str(BOARD), "--functions", str(table), "-o", str(out)]) == 0
    (record,) = read_rules(out.read_bytes()).peripherals
    assert (set(record.nets), record.instances) == ({"/SONDE_TX", "/SONDE_RX"}, ("UART2",))


@pytest.mark.parametrize(
    ("extra", "words"),
    [
        ([], "needs a file to write or a pin to explain"),
        (["--explain", "U1:NRTS"], 'has no pin "NRTS"'),
        (["--explain", "U1"], "names no pin"),
        (["--schematic", str(NETLIST), "-o", "x.toml"], "no S-expression schematic"),
    ],
)
def test_what_is_wrong_in_one_line(
    extra: list[str], words: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["rules", str(BOARD), *extra]) == 2
    said = capsys.readouterr().err
    assert words in said and said.count("\n") == 1


def test_an_input_is_never_overwritten(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    copy = tmp_path / "buoy.kicad_pcb"
    copy.write_bytes(BOARD.read_bytes())
    assert run(["rules", str(copy), "-o", str(copy)]) == 2
    assert copy.read_bytes() == BOARD.read_bytes()
