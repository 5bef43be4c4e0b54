"""Sixty files that are wrong in one place each: the place is named, and what was expected.

A row is the kind of file, the text that is damaged, what it becomes, what the
message says, and the line and column that it names.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
import sexpdata
from cases.buoys import MIDDLE, NETLIST_E

from renet.errors import InputError
from renet.read.board import read_board
from renet.read.netlist import read_netlist
from renet.read.rules import read_rules
from renet.read.swaps import read_swaps

RULES = b"""[board]
horizontal = [1]

[[pool]]
part = "U3"
pins = ["1-4"]
cost_mm = 0.5

[[weight]]
nets = ["/CLK"]
factor = 4.0

[[signal]]
nets = ["/A"]
kind = "fast"

[[unit]]
tuples = [["A:1", "A:2"], ["B:1", "B:2"]]
"""
SWAPS = b"""(renet_swaps (version 1)
  (source (kind board) (file "b") (sha256 "00"))
  (copper keep)
  (left (net "/A") (tracks 1) (vias 2) (fills 3))
  (swap 1
    (alone (crossings -1) (overlaps 0) (over_pads 0) (length_mm -3.5))
    (move (part "U3") (pin "2") (name "A") (was "/A") (is "/B"))
    (move (part "U3") (pin "3") (name "B") (was "/B") (is "/A"))))
"""
READ: dict[str, tuple[Callable[[bytes], Any], bytes]] = {
    "board": (read_board, MIDDLE),
    "netlist": (read_netlist, NETLIST_E),
    "rules": (read_rules, RULES),
    "swaps": (read_swaps, SWAPS),
}
BAD: list[tuple[str, bytes, bytes, str, str]] = [
    ("board", b"(kicad_pcb", b"(kicad_sch", "expected a board or a netlist", "1:2"),
    ("board", b"(kicad_pcb", b"kicad_pcb", "expected '('", "1:1"),
    ("board", b"(kicad_pcb", b"[kicad_pcb", "expected '('", "1:1"),
    ("board", b'(net 1 "GND")', b'(net x "GND")', "needs a number and a name", "28:8"),
    ("board", b'(net 1 "GND")', b"(net 1)", "needs a number and a name", "28:8"),
    ("board", b'(net 1 "GND")', b'(net 0 "GND")', "stands twice", "28:8"),
    ("board", b'(net 1 "GND")', b'(net 2 "GND")', "stands twice", "29:8"),
    (
        "board",
        b"(net 2) (tstamp 5aa0)",
        b"(net 77) (tstamp 5aa0)",
        "is not in the net table",
        "87:71",
    ),
    ("board", b"(net 2) (tstamp 5aa0)", b"(net) (tstamp 5aa0)", "expected a net number", "87:70"),
    (
        "board",
        b"(net 2) (tstamp 5aa0)",
        b"(net 1 2 3) (tstamp 5aa0)",
        "expected a net number",
        "87:71",
    ),
    ("board", b"(at 20 10 90)", b"(at 20 x 90)", "expected a decimal number", "36:12"),
    ("board", b"(at 20 10 90)", b"(at 20)", "expected a decimal number", "36:11"),
    ("board", b"(at 20 10 90)", b"(at nan 10 90)", "expected a decimal number", "36:9"),
    ("board", b"(at 20 10 90)", b"(at 9000 10 90)", "wider than 2 m", "46:5"),
    ("board", b"(at 30 20)", b"", "has no", "61:3"),
    ("board", b"(at -3 -1 90)", b"", "has no", "44:5"),
    ("board", b"(start 21 13)", b"(start 21)", "expected a decimal number", "87:21"),
    ("board", b"(start 21 13)", b"(start 21 1,3)", "expected a decimal number", "87:22"),
    ("board", b"(start 21 13)", b"", "has no", "87:3"),
    ("board", b"(mid 43.535534 1.464466)", b"(mid 43.5)", "with 2 decimal numbers", "85:3"),
    ("board", b'"/LED_A")\n  (net 4', b'"/LED_A)\n  (net 4', "quote", "30:10"),
    ("board", b"(size 2 1)", b"(size 2 1", "inside the list", "1:1"),
    ("board", b"(size 2 1)", b"(size 2 1))", "is a parenthesis or a quote missing", "72:3"),
    ("netlist", b"(export", b"(import", "expected a board or a netlist", "1:2"),
    ("netlist", b"(export", b"# (export", "older kind", "1:1"),
    ("netlist", b'(ref "U3") (pin "2")', b'(ref "U3")', "pin", "33:7"),
    ("netlist", b'(ref "U3") (pin "2")', b'(pin "2")', "ref", "33:7"),
    ("netlist", b'(ref "U3") (pin "2")', b'(ref "U3") (pin "1")', "in two nets", "33:18"),
    ("netlist", b'(name "/SONDE TX")', b"", "name", "32:5"),
    ("netlist", b'"/SONDE TX"', b'"/SONDE TX', "string", "32:27"),
    ("netlist", b'"/SONDE TX"', b'"\xff"', "not valid UTF-8", "32:28"),
    ("rules", b"[[pool]]", b"[[pol]]", 'did you mean "pool"', "4:3"),
    ("rules", b"part =", b"prat =", 'did you mean "part"', "5:1"),
    ("rules", b'part = "U3"\n', b"", "add a line such as part =", "4:1"),
    ("rules", b'"U3"', b"3", "write it like", "5:1"),
    ("rules", b'["1-4"]', b'"1-4"', "write it like", "6:1"),
    ("rules", b'["1-4"]', b"[]", "write it like", "6:1"),
    ("rules", b"0.5", b"-1", "write it like", "7:1"),
    ("rules", b"0.5", b"nan", "write it like", "7:1"),
    ("rules", b"0.5", b"true", "write it like", "7:1"),
    ("rules", b"4.0", b"0", "write it like", "11:1"),
    ("rules", b"[1]", b"[0]", "write it like", "2:1"),
    ("rules", b'"fast"', b'"loud"', "write it like", "15:1"),
    ("rules", b'["A:1", "A:2"]', b"[]", "write it like", "18:1"),
    ("rules", b'"fast"', b'"fast', "not TOML", "15:13"),
    ("rules", b'kind = "fast"', b'kind "fast"', "not TOML: Expected '='", "15:6"),
    ("rules", b'"fast"', b'"\xff"', "not UTF-8", "15:9"),
    ("swaps", b"(renet_swaps", b"(other", "renet_swaps", "1:1"),
    ("swaps", b"(version 1)", b"(version 2)", "expected 1", "1:14"),
    ("swaps", b"(version 1)", b"", "expected an entry (version 1)", "1:1"),
    ("swaps", b"(version 1)", b'(version "1")', "expected one whole number", "1:14"),
    ("swaps", b"(kind board)", b"(kind bread)", "expected one of the words board, netlist", "2:11"),
    (
        "swaps",
        b"(copper keep)",
        b"(copper cut)",
        "expected one of the words keep, rip, ignore",
        "3:3",
    ),
    ("swaps", b"(copper keep)", b"(tin keep)", "expected one of version, source", "3:3"),
    ("swaps", b"(tracks 1)", b"", "lacks tracks", "4:3"),
    ("swaps", b"(tracks 1)", b"(tracks 1.5)", "expected a whole number", "4:28"),
    ("swaps", b"(swap 1", b"(swap", "expected one number of the swap", "5:3"),
    ("swaps", b"(swap 1", b"(swap 0", "expected 1 or more", "5:3"),
    ("swaps", b"-3.5", b"nan", "expected a number", "6:65"),
    ("swaps", b'(pin "2")', b"", "lacks pin", "7:5"),
    ("swaps", b'(pin "2")', b"(pin 2)", "expected one string in quotes", "7:23"),
    ("swaps", b'(pin "2")', b'(pin "3")', "moved twice", "8:5"),
    ("swaps", b'(pin "2")', b'(pin "2") (pin "2")', 'repeated entry "pin"', "7:33"),
    ("swaps", b'(pin "2")', b'(pin "2") 7', "expected only lists", "7:5"),
]


def test_there_are_sixty_of_them() -> None:
    assert len(BAD) >= 60
    assert len({row[:3] for row in BAD}) == len(BAD)


@pytest.mark.parametrize("kind", READ)
def test_undamaged_they_are_read(kind: str) -> None:
    read, data = READ[kind]
    read(data)


def test_another_reader_finds_the_same_moves() -> None:
    """sexpdata, a general reader of S-expressions, sees the moves that our reader sees."""
    document = sexpdata.loads(SWAPS.decode(), nil=None, true=None)
    (swap,) = (e for e in document[1:] if e[0].value() == "swap")
    moves = [[pair[1] for pair in e[1:]] for e in swap[2:] if e[0].value() == "move"]
    assert moves == [list(move) for move in read_swaps(SWAPS).moves]


@pytest.mark.parametrize(("kind", "was", "is_", "said", "place"), BAD)
def test_is_refused_with_place_and_expectation(
    kind: str, was: bytes, is_: bytes, said: str, place: str
) -> None:
    read, data = READ[kind]
    assert was in data
    damaged = data.replace(was, is_, 1)
    with pytest.raises(InputError) as caught:
        read(damaged)
    fault = caught.value
    assert said in f"{fault.what}; {fault.do}"
    assert f"{fault.line}:{fault.column}" == place
