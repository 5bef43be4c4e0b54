"""The corpus is what its script writes, and the boards in it make sense.

Read here through sexpdata (tests/cases/plain.py), not through renet.
"""

from __future__ import annotations

import subprocess
import sys
from functools import cache
from itertools import combinations
from pathlib import Path

import pytest
from cases.plain import PlainBoard, PlainPad, read_plain, read_plain_netlist
from conftest import CORPUS, ROOT

BOARDS = sorted(CORPUS.glob("*/*.kicad_pcb"))
BUOYS = [path for path in BOARDS if path.stem.startswith("buoy")]
SUPPLIES = {"GND", "+3V3", "+3V3A"}


@cache
def board(path: Path) -> PlainBoard:
    return read_plain(path)


def named(path: Path) -> str:
    return path.stem


def test_the_script_writes_exactly_these_files() -> None:
    command = [sys.executable, str(ROOT / "scripts" / "make_corpus"), "--check"]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_every_version_of_the_file_is_there() -> None:
    assert {board(path).version for path in BOARDS} == {20171130, 20211014, 20241229, 20260206}
    assert b"\r\n" in (CORPUS / "boards" / "buoy_crlf.kicad_pcb").read_bytes()


@pytest.mark.parametrize("path", BOARDS, ids=named)
def test_board_and_netlist_agree(path: Path) -> None:
    nets = read_plain_netlist(path.with_suffix(".net"))
    pads = {(pad.ref, pad.number): pad.net for pad in board(path).pads if pad.number}
    assert {pin: net for pin, net in pads.items() if net} == nets


def partition(path: Path) -> set[frozenset[tuple[str, str]]]:
    """Pins by net, whatever the nets are called; pins alone on their net are left out."""
    groups: dict[str, set[tuple[str, str]]] = {}
    for pad in board(path).pads:
        if pad.net:
            groups.setdefault(pad.net, set()).add((pad.ref, pad.number))
    return {frozenset(pins) for pins in groups.values() if len(pins) > 1}


def test_all_versions_of_the_buoy_mean_the_same() -> None:
    first, *others = (partition(path) for path in BUOYS)
    assert len(BUOYS) == 5
    assert all(other == first for other in others)
    places = [
        {(p.ref, p.number, round(p.x, 6), round(p.y, 6)) for p in board(x).pads} for x in BUOYS
    ]
    assert all(other == places[0] for other in places)


@pytest.mark.parametrize("path", BOARDS, ids=named)
def test_mated_pins_carry_the_same_nets(path: Path) -> None:
    """Common practice, no source: the net of a mated pin has one name on both boards."""
    probe = {
        p.number: p.net for p in board(CORPUS / "boards" / "probe.kicad_pcb").pads if p.ref == "J1"
    }
    here = {p.number: p.net for p in board(path).pads if p.ref in ("J7", "J1") and p.number}
    shared = [n for n in probe if n not in ("1",)]
    if path.stem == "probe":
        assert here == probe
    else:
        assert {n: here[n] for n in shared} == {n: probe[n] for n in shared}


Point = tuple[float, float]
Line = tuple[Point, Point]


def tree_lines(points: list[Point]) -> list[Line]:
    """A minimum spanning tree, grown from the first point."""
    inside, lines = [points[0]], []
    left = points[1:]
    while left:
        a, b = min(
            ((p, q) for p in inside for q in left),
            key=lambda e: (e[0][0] - e[1][0]) ** 2 + (e[0][1] - e[1][1]) ** 2,
        )
        lines.append((a, b))
        inside.append(b)
        left.remove(b)
    return lines


def crosses(one: Line, two: Line) -> bool:
    def side(line: Line, p: Point) -> float:
        (ax, ay), (bx, by) = line
        return (bx - ax) * (p[1] - ay) - (by - ay) * (p[0] - ax)

    return side(one, two[0]) * side(one, two[1]) < 0 and side(two, one[0]) * side(two, one[1]) < 0


def tangle(pads: list[PlainPad]) -> tuple[int, int]:
    """Connections and crossings of these pads' nets, copper left out."""
    groups: dict[str, list[Point]] = {}
    for pad in pads:
        groups.setdefault(pad.net, []).append((pad.x, pad.y))
    lines = [(net, line) for net, points in groups.items() for line in tree_lines(points)]
    pairs = combinations(lines, 2)
    return len(lines), sum(a[0] != b[0] and crosses(a[1], b[1]) for a, b in pairs)


def test_the_sonde_connector_is_badly_tangled() -> None:
    pads = [
        pad
        for pad in board(CORPUS / "demo" / "buoy.kicad_pcb").pads
        if pad.net.startswith("/SONDE_") or pad.net in ("/D0", "/D1", "/D2", "/D3")
    ]
    connections, crossings = tangle(pads)
    assert 20 <= connections <= 26
    assert crossings >= 40


def test_the_controller_has_spare_ports_and_fanned_out_ones() -> None:
    pads = [p for p in board(CORPUS / "demo" / "buoy.kicad_pcb").pads if p.ref == "U1"]
    spare = [p for p in pads if p.net.startswith("unconnected-(")]
    assert len(pads) == 100
    assert len(spare) >= 20
    assert all(p.type == "bidirectional+no_connect" and p.function.startswith("IO_") for p in spare)
