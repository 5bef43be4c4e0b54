"""Sound files of every kind, to be damaged: small ones written by hand, and the corpus."""

from __future__ import annotations

import json
from pathlib import Path
from typing import NamedTuple

from cases.buoys import ALL, NETLIST_D, NETLIST_E
from cases.edif import BLOCKS, gates
from cases.edif import SMALL as EDIF
from cases.records import LIST as RECORDS

from renet.changes import ChangeList, Move, Source, Swap
from renet.report.swaps import swaps_text

ROOT = Path(__file__).resolve().parent.parent.parent
RULES = b"""[board]
horizontal = [1]
vertical = [-1]

[[pool]]
part = "U3"
pins = ["1-4"]
keep = ["1"]
cost_mm = 0.5

[[unit]]
tuples = [["J7:1", "J7:2"]]
reversible = true

[[keep]]
nets = ["GND*"]

[[offers]]
part = "U3"
pins = ["2", "3", "4"]
functions = ["UART1_TX", "PWM"]

[[needs]]
nets = ["/SONDE_TX"]
functions = ["UART1_TX"]

[[weight]]
nets = ["/SONDE_TX"]
factor = 4.0

[[apart]]
nets = ["/SONDE_TX"]
others = ["/LED_A"]
distance_mm = 0.1
"""
SET = b"""[[board]]
name = "main"
file = "main.kicad_pcb"
rules = "main.rules.toml"

[[board]]
name = "probe"
file = "probe.kicad_pcb"

[[mate]]
a = "main:J7"
b = "probe:J7"
map = "straight"
"""
FUNCTIONS = b"part,pin,function\nU3,2,UART1_TX\nU3,3,PWM\nU3,4,UART1_TX\n"
SHEET = b"""(kicad_sch (version 20231120) (generator "buoyboard") (uuid "a")
  (lib_symbols (symbol "buoy:MCU4" (symbol "MCU4_1_1"
    (pin bidirectional line (at -10.16 2.54 0) (length 2.54) (name "IO_A2") (number "2"))
    (pin bidirectional line (at -10.16 0 0) (length 2.54) (name "IO_A3") (number "3")))))
  (wire (pts (xy 90 97.46) (xy 80 97.46)) (uuid "w1"))
  (label "SONDE_TX" (at 80 97.46 0) (uuid "l1"))
  (label "LED_A" (at 89.84 100 0) (uuid "l2"))
  (no_connect (at 10 10) (uuid "n"))
  (symbol (lib_id "buoy:MCU4") (at 100 100 0) (unit 1) (uuid "s1")
    (property "Reference" "U3" (at 0 0 0))
    (instances (project "buoy" (path "/a" (reference "U3") (unit 1))))))
"""


def _list(part: str, one: tuple[str, str], other: tuple[str, str]) -> ChangeList:
    """Two pins (number, net) of a part trade their nets."""
    moves = (Move(part, *_move(one, other)), Move(part, *_move(other, one)))
    return ChangeList((Source("board", "buoy.board", "0" * 64),), (Swap(1, moves),))


def _move(pin: tuple[str, str], to: tuple[str, str]) -> tuple[str, str, str, str]:
    return pin[0], f"IO_A{pin[0]}", pin[1], to[1]


# What is applied to each kind of design.
LISTS = {
    "board": _list("U3", ("2", "/SONDE_TX"), ("3", "/LED_A")),
    "netlist": _list("U3", ("2", "/SONDE_TX"), ("3", "/LED_A")),
    "records": _list("U3", ("2", "/SONDE_TX"), ("3", "/SONDE/CALIBRATION_LEAK")),
    "edif": _list("RN1", ("1", "D0#"), ("2", "D1")),
}
SET_LIST = json.dumps({
    "schema": "renet/set-swaps/1",
    "lists": [{"board": "main", "file": "main.swaps", "sha256": "00"},
              {"board": "probe", "file": "probe.swaps", "sha256": "11"}],
    "mates": [], "notes": ["pin 1 meets pin 1"],
}, indent=1).encode()  # fmt: skip
TINY_OLD = b"""(kicad_pcb (version 4)
  (layers (0 Top signal) (31 Bottom signal))
  (net 0 "") (net 1 /SONDE_TX) (net 2 /LED_A)
  (module buoy:MCU4 (layer Top) (at 10 10 90) (fp_text reference U3 (at 0 0) (layer Top))
    (pad 2 smd rect (at 0 1 90) (size 1 1) (layers Top) (net 1 /SONDE_TX))
    (pad 3 smd rect (at 0 3 90) (size 1 1) (layers Top) (net 2 /LED_A)))
  (module buoy:R (layer Top) (at 20 10) (fp_text reference R5 (at 0 0) (layer Top))
    (pad 1 thru_hole oval (at 0 1) (size 1 1) (drill 0.5) (layers *.Cu) (net 2 /LED_A))
    (pad 2 smd rect (at 0 3) (size 1 1) (layers Top) (net 1 /SONDE_TX))))
"""
TINY_NEW = b"""(kicad_pcb (version 20260206)
  (layers (0 "F.Cu" signal) (2 "B.Cu" signal))
  (footprint "buoy:MCU4" (layer "F.Cu") (at 10 10 90)
    (property "Reference" "U3" (at 0 0) (layer "F.Cu"))
    (pad "2" smd rect (at 0 1 90) (size 1 1) (layers "F.Cu") (net "/SONDE_TX"))
    (pad "3" smd rect (at 0 3 90) (size 1 1) (layers "F.Cu") (net "/LED_A")))
  (footprint "buoy:R" (layer "F.Cu") (at 20 10)
    (property "Reference" "R5" (at 0 0) (layer "F.Cu"))
    (pad "1" thru_hole oval (at 0 1) (size 1 1) (drill 0.5) (layers "*.Cu") (net "/LED_A"))
    (pad "2" smd rect (at 0 3) (size 1 1) (layers "F.Cu") (net "/SONDE_TX")))
  (segment (start 1 1) (end 2 2) (width 0.2) (layer "F.Cu") (net "/LED_A")))
"""


class Case(NamedTuple):
    """A file: its kind, a name, and every byte."""

    kind: str
    name: str
    data: bytes


def small_cases() -> list[Case]:
    """The files written by hand."""
    boards = {**ALL, "tiny-old": TINY_OLD, "tiny-new": TINY_NEW}
    one = {
        "netlist-D": NETLIST_D,
        "netlist-E": NETLIST_E,
        "edif": EDIF,
        "edif-gates": gates(),
        "edif-blocks": BLOCKS,
        "records": RECORDS,
        "rules": RULES,
        "set": SET,
        "setlist": SET_LIST,
        "sheet": SHEET,
        "functions": FUNCTIONS,
    }
    cases = [Case("board", name, data) for name, data in boards.items()]
    cases += [Case(name.partition("-")[0], name, data) for name, data in one.items()]
    lists = {"swaps": LISTS["board"], "swaps-edif": LISTS["edif"]}
    return cases + [
        Case("swaps", name, swaps_text(changes).encode()) for name, changes in lists.items()
    ]


def corpus_cases() -> list[Case]:
    """Every file of the corpus."""
    kinds = {
        ".kicad_pcb": "board",
        ".net": "netlist",
        ".toml": "rules",
        ".kicad_sch": "sheet",
        ".edf": "edif",
        ".d356": "records",
    }
    found = sorted(path for path in (ROOT / "corpus").rglob("*") if path.suffix in kinds)
    return [Case(_kind(path, kinds), path.name, path.read_bytes()) for path in found]


def _kind(path: Path, kinds: dict[str, str]) -> str:
    plain = path.suffix != ".toml" or path.name.endswith(".rules.toml")
    return kinds[path.suffix] if plain else "set"
