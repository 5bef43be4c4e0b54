"""The lines of an IPC-D-356A file, told apart but not yet understood.

A record has 80 columns: operation 1-3, net 4-17, reference 21-26, a dash, pin
28-31, and from column 32 what is known of the place.  Writers keep the first
31 columns and are careless with the rest (short lines, a missing dash, a broken
mask field), so those are read by position and the rest by its letters.
Columns: layout agrees with published test records; the standard itself was not
seen.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from renet.scan import fault

NET, PART, PIN, PLACE = slice(3, 17), slice(20, 26), slice(26, 31), 31

_LATEST = 46
_OPERATION = re.compile(rb"[03][0-6]7")
_AT = re.compile(
    rb"(?:A *(\d\d?))? *X *([+-]? *\d{1,7}) *Y *([+-]? *\d{1,7})"
    rb"(?: *X(\d{1,5}))?(?: *Y(\d{1,5}))?(?: *R(\d{1,3}))?"
)
_HOLE = re.compile(rb"D *(\d{1,5})")
_UNITS = re.compile(rb"P *UNITS +(\S+)(?: +(\S+))?")
_ALIAS = re.compile(rb"[PC] +(NNAME\S*) +(\S.*)")
_INDENTED = re.compile(rb"\s+3[12]7.{14}")

_COLUMNS = "write it with blanks, each field in its columns"

_WORDS = {b"SI": b"1", b"METRIC": b"1", b"ENGLISH": b"0"}


class Units(NamedTuple):
    """Nanometres of one unit of length; whether angles are degrees, else hundredths of a radian.

    That radians are given in hundredths is a guess from the three digits they have.
    """

    step: int
    degrees: bool


_SCALES = {b"0": Units(2540, True), b"1": Units(1000, True), b"2": Units(2540, False)}


class Record(NamedTuple):
    """One point of the board as its line has it; lengths in units of the file.

    ``start`` is the offset of the line; ``net``, ``part`` and ``pin`` are
    stripped.  ``access`` is 0 for both sides, else a layer from 1; -1 not given.
    """

    start: int
    operation: bytes
    net: bytes
    part: bytes
    pin: bytes
    access: int
    x: int
    y: int
    width: int
    height: int
    angle: int
    hole: int


class Lines(NamedTuple):
    """A whole file: its records in order, the long names behind short ones, the units."""

    records: list[Record]
    aliases: dict[bytes, bytes]
    units: Units


def lines_of(data: bytes) -> Lines:
    """All records of a file; InputError with the line where one has no place.

    Where no line gives units, they are 0.0001 in and degrees (common practice, no source).
    """
    if b"\r" in data and b"\n" not in data:
        what = "its lines end with carriage returns only"
        raise fault(data, 0, what, "save it with line feeds")
    records: list[Record] = []
    aliases: dict[bytes, bytes] = {}
    units: Units | None = None
    for start, line in _lines(data):
        if _OPERATION.match(line):
            record = _record(data, start, line)
            if record is not None:
                records.append(record)
        elif line[:1] in (b"P", b"C"):
            named = _ALIAS.match(line)
            given = _UNITS.match(line)
            if named:
                name = named[2].rstrip()
                if aliases.setdefault(named[1], name) != name:
                    what = f"{named[1].decode('latin-1')} stands for two names"
                    raise fault(data, start, what, "export the file again")
            elif given:
                said = _units(data, start, given)
                if units not in (None, said):
                    raise fault(data, start, "other units than before", "give them once")
                units = said
        elif line[:3] == b"999":
            break
        elif _INDENTED.match(line):
            raise fault(data, start, "a record that does not begin in column 1", _COLUMNS)
    return Lines(records, aliases, units or _SCALES[b"0"])


def _lines(data: bytes) -> Iterator[tuple[int, bytes]]:
    start = 0
    for line in data.split(b"\n"):
        yield start, line
        start += len(line) + 1


def _units(data: bytes, start: int, given: re.Match[bytes]) -> Units:
    word = given[2] if given[1] == b"CUST" and given[2] else given[1]
    word = _WORDS.get(word, b"0" if word == b"CUST" else word)
    if word not in _SCALES:
        what = f"unknown units {word[:20].decode('latin-1')}"
        raise fault(data, start, what, "write P  UNITS CUST 0, 1 or 2")
    return _SCALES[word]


def _record(data: bytes, start: int, line: bytes) -> Record | None:
    """The record of a line; None for a continuation without a place of its own."""
    if b"\t" in line:
        if b"\t" in line[:PLACE]:
            what = "a tab among columns 4 to 31, which go by position"
            raise fault(data, start, what, _COLUMNS)
        line = line.replace(b"\t", b" ")
    at = _AT.search(line, PLACE)
    operation = line[:3]
    if at is None or at.start() > _LATEST:  # further right stand sizes, not places
        if operation[:1] == b"0":
            return None
        what = "a record without X and Y from column 32 on"
        raise fault(data, start, what, "export the file again")
    hole = _HOLE.search(line, PLACE, at.start())
    return Record(
        start,
        operation,
        line[NET].strip(),
        line[PART].strip(),
        line[PIN].strip().removeprefix(b"-").strip(),
        -1 if at[1] is None else int(at[1]),
        int(at[2].replace(b" ", b"")),
        int(at[3].replace(b" ", b"")),
        int(at[4] or 0),
        int(at[5] or 0),
        int(at[6] or 0),
        int(hole[1]) if hole else 0,
    )
