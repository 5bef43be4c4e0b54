"""Hand-over files of the buoy: true to the written board, inert, and taken by a C compiler."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
import subprocess
from functools import cache
from pathlib import Path

import pytest
from cases.review import DEMO, EVIL, buoy_view

from renet import cli
from renet.between import between, seats
from renet.changes import ChangeList, Move, Swap
from renet.pipeline import Named, Terms, apply_changes, design
from renet.report.deed import Deed, Files, deed_of
from renet.report.handover import hand_over
from renet.report.pinmaps import identifier
from renet.report.record import BLANKS, change_record

BOARD = DEMO / "buoy.kicad_pcb"


@cache
def deed(net: str = "/SONDE_TX", source: str = "buoy.kicad_pcb") -> Deed:
    data = (DEMO / source).read_bytes().replace(b'"/SONDE_TX"', f'"{net}"'.encode())
    file = Named(source, data)
    changes = buoy_view(net).changes
    done = apply_changes(changes, file, carry_over=True)
    rules = Named("buoy.rules.toml", (DEMO / "buoy.rules.toml").read_bytes())
    return deed_of(changes, Files(file, Named("new", done), Terms(rules)), "2031-05-04", "9.9")


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_the_pin_map_is_that_of_the_written_board(tmp_path: Path) -> None:
    out, folder = tmp_path / "new.kicad_pcb", tmp_path / "hand"
    swaps = tmp_path / "buoy.swaps"
    assert cli.run(["untangle", str(BOARD), "-o", str(tmp_path / "run"), "-q"]) == 0
    shutil.copy(tmp_path / "run" / "buoy.swaps", swaps)
    command = ["apply", str(swaps), str(BOARD), "-o", str(out), "--only", "1,2", "-q"]
    assert cli.run([*command, "--hand-over", str(folder)]) == 0
    written = seats(design(Named("new", out.read_bytes())))
    pins = json.loads((folder / "pins.json").read_text())["pins"]
    assert len(pins) == 100
    for pin in pins:
        assert written[pin["part"], pin["pin"]] == (pin["is"], pin["name"])
    listed = rows((folder / "was-is.csv").read_text())
    moved = between(design(Named("old", BOARD.read_bytes())), design(Named("n", out.read_bytes())))
    assert {(r["part"], r["pin"], r["was"], r["is"]) for r in listed} == {
        (m.part, m.pin, m.was or "", m.is_ or "") for m in moved.changes.moves
    }


def test_the_exchanges_end_where_the_list_ends() -> None:
    found = deed()
    nets = {key: seat.net for key, seat in found.pins.items()}
    for row in rows(hand_over(found)["exchanges.csv"]):
        one, two = (row["part"], row["pin"]), (row["with part"], row["with pin"])
        nets[one], nets[two] = nets[two], nets[one]
    assert nets == {key: seat.net for key, seat in found.after().items()}


def test_board_and_netlist_hand_over_the_same_pins() -> None:
    board, netlist = hand_over(deed()), hand_over(deed(source="buoy.net"))
    for name in ("was-is.csv", "exchanges.csv", "pins.h"):
        assert board[name].replace("new", "") == netlist[name].replace("new", "")


def test_the_record_has_its_fields_and_approves_nothing() -> None:
    record = change_record(deed())
    assert record["status"] == "not approved"
    assert all(record[blank] is None for blank in BLANKS)
    assert record["figures"]["before"] == buoy_view().before.figures._asdict()
    after = buoy_view().after
    assert after is not None
    assert record["figures"]["after"] == pytest.approx(after.figures._asdict(), abs=2e-6)
    first = record["changes"][0]
    assert first["rule"] == "[[pool]] line 11" and first["kind"] == "pin"
    ends = {f"{p}:{n}" for (p, n), seat in deed().after().items() if seat.net == first["is"]}
    assert set(first["other_ends"]) == ends - {f"{first['part']}:{first['pin']}"}
    assert len(first["other_ends"]) >= 1
    text = hand_over(deed())["change-record.md"]
    for words in ("not approved", "Originator: __", "Checker: __", "Approver: __", "2031-05-04"):
        assert words in text


def test_touched_test_points_and_connectors_are_listed() -> None:
    found = {(r["part"], r["kind"]) for r in rows(hand_over(deed())["test-points.csv"])}
    nets = {net for m in deed().changes.moves for net in (m.was, m.is_)} - {None}
    expected = {
        part
        for (part, _), seat in deed().after().items()
        if seat.net in nets and part.startswith(("TP", "J"))
    }
    assert {part for part, _ in found} == expected
    assert ("TP4", "test point") in found and ("J7", "connector") in found


def test_the_header_compiles(tmp_path: Path) -> None:
    compiler = shutil.which("cc")
    header = hand_over(deed(EVIL))["pins.h"]
    names = re.findall(r"^#define (\w+)", header, re.MULTILINE)
    assert len(names) == len(set(names))
    assert "#define U1_SONDE_CLK_PORT" in header
    (tmp_path / "pins.h").write_text(header)
    use = '#include "pins.h"\nconst char *pin = U1_SONDE_CLK_PIN;\nint bit = U1_SONDE_CLK_BIT;\n'
    (tmp_path / "use.c").write_text(use)
    if compiler:
        command = [compiler, "-std=c99", "-Wall", "-Werror", "-c", "use.c", "-o", "use.o"]
        subprocess.run(command, cwd=tmp_path, check=True)


def test_the_devicetree_fragment_says_it_is_a_template() -> None:
    text = hand_over(deed())["pins.dtsi.template"]
    assert text.startswith("/* TEMPLATE")
    assert text.count("{") == text.count("}")
    assert not re.search(r"^\s*function =", text, re.MULTILINE)


def test_hostile_names_stay_names() -> None:
    name = "*/ =cmd|x \\"
    changes = ChangeList((), (Swap(1, (Move("U1", "1", "=1", name, None),)),))
    pins = {("U1", "1"): ("=1", name)}
    from renet.between import Seat

    found = deed()._replace(
        changes=changes,
        pins={key: Seat(net, pin) for key, (pin, net) in pins.items()},
        parts={},
        permits={},
        figures=None,
    )
    for file, text in hand_over(found).items():
        if file.endswith(".csv"):
            assert not any(
                cell.startswith("=") for row in csv.reader(io.StringIO(text)) for cell in row
            )
        if file.endswith((".h", ".template")):
            assert text.count("/*") == text.count("*/")


@pytest.mark.parametrize(
    ("text", "name"), [("U1_/A-B", "U1_A_B"), ("1_x", "N_1_X"), ("~{RST}", "RST"), ("é", "N_")]
)
def test_identifiers_are_of_c(text: str, name: str) -> None:
    assert identifier(text) == name
