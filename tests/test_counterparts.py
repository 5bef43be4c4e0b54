"""Names in capitals or cut: what is taken for what, by two readings that share no code."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies.records import board_of

from renet import cli
from renet.agree import compare
from renet.counterparts import Key, counterparts, paired
from renet.model import Netlist, Node
from renet.read.ipc356 import VERSION
from renet.verify.seats import Seat, met_in


@pytest.mark.parametrize(
    ("ours", "theirs", "found", "doubt"),
    [
        (["U1"], ["U1"], {"U1": "U1"}, {}),
        (["MIC1"], ["Mic1"], {"MIC1": "Mic1"}, {}),
        (["CONNEC"], ["Connector7"], {"CONNEC": "Connector7"}, {}),
        (["CTOR_7"], ["Connector_7"], {"CTOR_7": "Connector_7"}, {}),
        (["CONNEC"], ["Connector7", "Connector8"], {}, {"CONNEC": ("Connector7", "Connector8")}),
        (["CONNEC", "NECTOR"], ["Connector"], {},
         {"CONNEC": ("Connector",), "NECTOR": ("Connector",)}),
        (["SENSOR", "CONNEC"], ["SENSOR", "SENSOR2", "Connector7"],
         {"SENSOR": "SENSOR", "CONNEC": "Connector7"}, {}),
        (["R1"], ["R10"], {}, {}),
        (["U1A"], ["u1a", "U1a"], {}, {"U1A": ("u1a", "U1a")}),
        (["sensor"], ["SENSORS"], {"sensor": "SENSORS"}, {}),
    ],
)  # fmt: skip
def test_a_longer_name_is_taken_where_there_is_but_one(
    ours: list[str], theirs: list[str], found: dict[str, str], doubt: dict[str, tuple[str, ...]]
) -> None:
    assert paired(ours, theirs, (6,)) == (found, doubt)


def test_names_are_cut_in_lists_of_records_only() -> None:
    theirs = [("Connector7", "1"), ("mic1", "a")]
    assert counterparts([("CONNEC", "1"), ("MIC1", "A")], theirs, False).of == {
        ("MIC1", "A"): ("mic1", "a")
    }


def test_pins_are_cut_as_well() -> None:
    ours = [("U1", "GPIO"), ("U1", "DATA"), ("U1", "4")]
    theirs = [("U1", "gpio_out"), ("U1", "data0"), ("U1", "data1"), ("U1", "4")]
    assert counterparts(ours, theirs, True).of == {
        ("U1", "4"): ("U1", "4"), ("U1", "GPIO"): ("U1", "gpio_out"),
    }  # fmt: skip


names = st.text("AaB1", min_size=1, max_size=8)
keys = st.lists(st.tuples(names, names), max_size=8)


@given(keys, keys, st.booleans())
def test_verify_takes_the_same_for_the_same(ours: list[Key], theirs: list[Key], cut: bool) -> None:
    seats = [Seat(0, *key, "", "", (), True, False, None, None) for key in dict.fromkeys(ours)]
    nodes = tuple(Node(*key, None, "", "") for key in dict.fromkeys(theirs))
    met = met_in(seats, Netlist("", (), nodes), cut)
    found = {(seats[i].ref, seats[i].number): (node.ref, node.pin) for i, node in met.items()}
    assert found == counterparts(ours, theirs, cut).of


@given(keys, keys)
def test_nobody_is_taken_twice(ours: list[Key], theirs: list[Key]) -> None:
    found = counterparts(ours, theirs, True).of
    assert len(set(found.values())) == len(found)
    assert set(found.values()) <= set(theirs)


def test_what_does_not_match_is_listed_and_kept() -> None:
    board = board_of(
        {"U1": {"1": "A", "2": "B"}, "CONNEC": {"1": "A", "2": None}, "R1": {"1": "B"}}
    )
    board = type(board)(**{f: getattr(board, f) for f in board.__slots__} | {"version": VERSION})
    nodes = [("U1", "1", "x"), ("U1", "2", "y"), ("Connector1", "1", "x"), ("Connector2", "1", "z"),
             ("R1", "1", "y")]  # fmt: skip
    netlist = Netlist("", (), tuple(Node(*node, "", "") for node in nodes))
    found = compare(board, netlist)
    assert found.differs == {2: "CONNEC could be Connector1 or Connector2 of the netlist"}
    assert found.unlisted == {3: "the netlist does not list this pin"}
    assert found.absent == ("Connector1", "Connector2")


RECORDS = b"""P  UNITS CUST 1
327A                SENSOR-1          A01X+010000Y-001000
327B                SENSOR-2          A01X+010000Y-002000
327C                SENSOR-3          A01X+010000Y-003000
327B                J1    -1          A01X+030000Y-001000
327A                J1    -2          A01X+030000Y-002000
327C                J1    -3          A01X+030000Y-003000
999
"""
NETLIST = b"""(export (version "E") (nets
  (net (code "1") (name "/A") (node (ref "Sensor_head") (pin "1")) (node (ref "J1") (pin "2")))
  (net (code "2") (name "/B") (node (ref "Sensor_head") (pin "2")) (node (ref "J1") (pin "1")))
  (net (code "3") (name "/C") (node (ref "Sensor_head") (pin "3")) (node (ref "J1") (pin "3")))))
"""


def test_the_whole_job_over_cut_names(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    files = {"b.d356": RECORDS, "b.net": NETLIST,
             "b.rules.toml": b'[[pool]]\npart = "SENSOR"\npins = ["1-3"]\n'}  # fmt: skip
    for name, data in files.items():
        (tmp_path / name).write_bytes(data)
    board, netlist, out = tmp_path / "b.d356", tmp_path / "b.net", tmp_path / "out"

    def call(*args: object) -> str:
        assert cli.run([*map(str, args)]) == 0, args
        return capsys.readouterr().out

    text = call("inspect", board, "--netlist", netlist)
    assert "called otherwise in the netlist: SENSOR is Sensor_head" in text
    call("untangle", board, "--netlist", netlist, "-o", out)
    swaps = out / "b.swaps"
    call("verify", netlist, out / "b.net", "--swaps", swaps)
    call(
        "verify", board, out / "b.d356", "--rules", tmp_path / "b.rules.toml", "--netlist", netlist
    )
    call("verify", board, "--netlist", out / "b.net", "--swaps", swaps)
    for pair in ((board, netlist), (netlist, board)):
        call("diff", *pair)
    call("apply", swaps, netlist, "-o", tmp_path / "new.net")
    assert (tmp_path / "new.net").read_bytes() == (out / "b.net").read_bytes()
    assert cli.run(["verify", str(board), "--netlist", str(netlist), "--swaps", str(swaps)]) == 1


def test_a_spare_pin_that_the_netlist_does_not_list_gets_no_net(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It could not be written there; without the netlist the pin is used."""
    spare = b"327N/C              SENSOR-4          A01X+010000Y-000500\n999"
    files = {"b.d356": RECORDS.replace(b"999", spare), "b.net": NETLIST,
             "b.rules.toml": b'[[pool]]\npart = "SENSOR"\npins = ["1-4"]\n'}  # fmt: skip
    for name, data in files.items():
        (tmp_path / name).write_bytes(data)
    command = ["untangle", str(tmp_path / "b.d356"), "-o", str(tmp_path / "out")]
    assert cli.run([*command, "--netlist", str(tmp_path / "b.net")]) == 0
    out = capsys.readouterr().out
    assert "1 x the netlist does not list this pin: SENSOR:4" in out
    assert "SENSOR:4 " not in out.partition("swap 1")[2]
