"""What kind of part a part is, as far as the trading of its pins goes."""

from __future__ import annotations

import re

from renet.draft.connectors import is_connector
from renet.draft.evidence import Evidence, prefix
from renet.draft.shape import shape_of
from renet.draft.words import is_cell, is_port, pieces
from renet.model import Part

CONNECTOR, MODULE, ARRAY = "connector", "module", "array"
LOGIC, CONTROLLER, MEMORY = "programmable logic", "controller", "memory"
GATES, AMPLIFIER = "gates", "amplifier"
UNKNOWN, OTHER, SMALL, CRYSTAL = "unknown", "other", "small", "crystal"

_ARRAYS = frozenset({"RN", "RP", "RR", "RM", "RA", "RNET"})
_PLAIN_REF = re.compile(r"[A-Za-z]+\d{1,3}")  # a part number as reference begins with anything
_ARRAY_WORDS = re.compile(r"r_?array|r_?pack|r_?net|r_?matrix", re.IGNORECASE)
_GATES = re.compile(r"(?:^|[A-Z])74[A-Z]{0,5}(\d{2,4})(?![\dG])", re.IGNORECASE)
_AMPLIFIERS = re.compile(  # type numbers that many makers share, from memory
    r"(?:^|[A-Z])(324|358|07[24]|08[24]|290[24]|5532|4558)(?!\d)", re.IGNORECASE
)
_CRYSTAL = re.compile(r"\d+(\.\d+)?\s*[MK]HZ|XTAL|CRYSTAL|OSCILLATOR", re.IGNORECASE)
SECTION_INPUT = re.compile(r"(?:IN)?_?([A-D1-4]?)_?(?:IN)?([+-])")
FEWEST_PORTS = 6
FEWEST_PADS, FEWEST_SIGNALS = 20, 10


def kind_of(ev: Evidence, part: Part) -> str:
    """The kind of a part; a connector goes before everything else."""
    if len(part.pins) < 3:
        return CRYSTAL if _is_crystal(part) else SMALL
    if _is_crystal(part):
        return CRYSTAL
    array = prefix(part.ref) in _ARRAYS and _PLAIN_REF.fullmatch(part.ref)
    if array or _ARRAY_WORDS.search(part.footprint):
        return ARRAY
    if is_connector(ev, part):
        return CONNECTOR
    if gate_type(part) or _gate_names(ev, part):
        return GATES
    if amplifier_type(part) or _amplifier_names(ev, part):
        return AMPLIFIER
    if _is_memory(ev, part):
        return MEMORY
    return _programmable(ev, part)


def gate_type(part: Part) -> str:
    """The digits of a 74-series type number, "" for anything else."""
    found = _GATES.search(part.value)
    return found[1] if found else ""


def amplifier_type(part: Part) -> str:
    """The digits of a common amplifier's type number, "" for anything else."""
    found = _AMPLIFIERS.search(part.value) if len(part.pins) in (8, 9, 14) else None
    return found[1] if found else ""


def _amplifier_names(ev: Evidence, part: Part) -> bool:
    names = [ev.board.pins[pin].name for pin in part.pins]
    if names.count("+") >= 2 and names.count("-") == names.count("+"):
        return True
    plus = sum(bool(SECTION_INPUT.fullmatch(name) and name.endswith("+")) for name in names)
    minus = sum(bool(SECTION_INPUT.fullmatch(name) and name.endswith("-")) for name in names)
    return plus >= 2 and plus == minus


def _gate_names(ev: Evidence, part: Part) -> bool:
    """Pins A1, B1, Y1 to A4, B4, Y4, or with the number first."""
    names = {ev.board.pins[pin].name.upper() for pin in part.pins}
    every = [(f"A{i}", f"B{i}", f"Y{i}") for i in range(1, 5)]
    turned = [(f"{i}A", f"{i}B", f"{i}Y") for i in range(1, 5)]
    return any(set().union(*rows) <= names for rows in (every, turned))


def _is_crystal(part: Part) -> bool:
    if prefix(part.ref) in {"Y", "XTAL", "OSC"}:
        return True
    return len(part.pins) <= 6 and bool(_CRYSTAL.search(f"{part.value} {part.footprint}"))


def _is_memory(ev: Evidence, part: Part) -> bool:
    words = {w for p in part.pins for w in pieces(ev.board.pins[p].name, ev.board.pins[p].number)}
    words |= {ev.board.pins[p].name for p in part.pins}  # I/O3 is one word here
    data = sum(bool(re.fullmatch(r"(DQ|I/?O|D|Q)\d{1,2}", word)) for word in words)
    address = sum(bool(re.fullmatch(r"C?A\d{1,2}", word)) for word in words)
    return (data >= 4 and address >= 6) or sum(w.startswith("DQ") for w in words) >= 8


def _programmable(ev: Evidence, part: Part) -> str:
    entries = [ev.board.pins[pin] for pin in part.pins]
    ports = [pin for pin in entries if is_port(pin.name, pin.number)]
    known = sum(pin in ev.functions for pin in part.pins)
    if len(ports) + known >= FEWEST_PORTS:
        cells = sum(is_cell(pin.name, pin.number) for pin in entries)
        if _is_module(ev, part):
            return MODULE
        return LOGIC if 2 * cells > len(ports) else CONTROLLER
    nameless = sum(not pin.name for pin in entries) * 5 >= 4 * len(entries)
    signals = sum(ev.signal(pin) for pin in part.pins)
    big = len(entries) >= FEWEST_PADS and signals >= FEWEST_SIGNALS
    return UNKNOWN if nameless and big else OTHER


def _is_module(ev: Evidence, part: Part) -> bool:
    """Rows of through-hole pads further apart than any package with legs has them."""
    shape = shape_of(ev.board, part)
    all_through = shape.through and not (shape.rows and shape.gap < 15.5)
    return all_through and len(part.pins) < 100
