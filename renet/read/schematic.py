"""One sheet of an S-expression schematic: pins where wires meet them, wires, labels, marks.

Where a pin ends on the sheet (from memory of the format, not checked against a
document; every use is guarded by the label that has to stand there): library
symbols have y up, sheets y down; a symbol is turned counter-clockwise by its
angle, then mirrored on the sheet ("x" exchanges top and bottom, "y" left and
right), then moved to its place.  Unit 0 of a library symbol belongs to all units.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from renet.errors import InputError
from renet.geometry import place
from renet.model import NONE
from renet.read.spans import Span
from renet.syntax import Tree, parse

ROOT = b"kicad_sch"
LABELS = (b"label", b"global_label", b"hierarchical_label")
Point = tuple[int, int]

_UNIT = re.compile(r"_(\d{1,9})_(\d{1,9})\Z")


class SheetPin(NamedTuple):
    """A pin of a placed symbol.  ``uses`` is how many parts the symbol stands for."""

    ref: str
    number: str
    at: Point
    uses: int


class Wire(NamedTuple):
    """A straight wire; ``node`` begins with its leading white space."""

    a: Point
    b: Point
    node: Span


class Label(NamedTuple):
    """A label of any kind; ``text_at`` and ``xy`` are spans of its text and its place."""

    kind: bytes
    text: str
    at: Point
    node: Span
    text_at: Span
    xy: Span


class Mark(NamedTuple):
    """A no-connect mark, with the span of its place."""

    at: Point
    xy: Span


class Sheet(NamedTuple):
    """A sheet.  ``others`` are points at which something else joins: sheet pins, bus entries."""

    data: bytes
    pins: tuple[SheetPin, ...]
    wires: tuple[Wire, ...]
    labels: tuple[Label, ...]
    marks: tuple[Mark, ...]
    others: tuple[Point, ...]
    junctions: tuple[Point, ...]


def read_sheet(data: bytes) -> Sheet:
    """A sheet from its bytes; InputError where it is none."""
    tree = parse(data)
    if tree.keyword(0) != ROOT:
        raise InputError(
            "this is no S-expression schematic", "give the schematic files of the board"
        )
    lists = [(tree.keyword(index), index) for index in tree.children(0).tolist()]

    def named(*words: bytes) -> list[int]:
        return [index for word, index in lists if word in words]

    library = _library(tree, named(b"lib_symbols"))
    pins = [pin for index in named(b"symbol") for pin in _symbol(tree, index, library)]
    inner = [at for index in named(b"sheet") for at in _places(tree, index, b"pin")]
    return Sheet(
        data=data,
        pins=tuple(pins),
        wires=tuple(_wire(tree, index) for index in named(b"wire")),
        labels=tuple(_label(tree, index) for index in named(*LABELS)),
        marks=tuple(_mark(tree, index) for index in named(b"no_connect")),
        others=(*inner, *(_at(tree, i)[0] for i in named(b"bus_entry"))),
        junctions=tuple(_at(tree, index)[0] for index in named(b"junction")),
    )


class _Pin(NamedTuple):
    unit: int
    style: int
    number: str
    at: Point


def _library(tree: Tree, holders: list[int]) -> dict[str, list[_Pin]]:
    """The pins of every library symbol, in the symbol's own frame."""
    found: dict[str, list[_Pin]] = {}
    for holder in holders:
        for symbol in _having(tree, holder, b"symbol"):
            pins = found.setdefault(_first(tree, symbol), [])
            for unit in _having(tree, symbol, b"symbol"):
                which = _UNIT.search(_first(tree, unit))
                unit_no, style = (int(which[1]), int(which[2])) if which else (0, 0)
                for pin in _having(tree, unit, b"pin"):
                    number = _first(tree, tree.child(pin, b"number"))
                    pins.append(_Pin(unit_no, style, number, _at(tree, pin)[0]))
    return found


def _symbol(tree: Tree, index: int, library: dict[str, list[_Pin]]) -> Iterator[SheetPin]:
    """The pins of a placed symbol; none where its library symbol is not in the file."""
    name = tree.child(index, b"lib_name")
    entry = _first(tree, name if name != NONE else tree.child(index, b"lib_id"))
    unit, style = (_whole(tree, tree.child(index, word)) for word in (b"unit", b"convert"))
    mirror = tree.child(index, b"mirror")
    flips = _first(tree, mirror) if mirror != NONE else ""
    (x, y), angle = _at(tree, index)
    refs = _references(tree, index)
    for pin in library.get(entry, []):
        if pin.unit in (0, unit) and pin.style in (0, style):
            ((u, v),) = place([(pin.at[0], -pin.at[1])], 0, 0, angle)
            u, v = (-u if "y" in flips else u), (-v if "x" in flips else v)
            yield SheetPin(refs[0] if refs else "", pin.number, (x + u, y + v), len(refs))


def _references(tree: Tree, index: int) -> list[str]:
    """All references that a symbol stands for; several where its sheet is used repeatedly."""
    found = [
        _first(tree, reference)
        for instances in _having(tree, index, b"instances")
        for project in _having(tree, instances, b"project")
        for path in _having(tree, project, b"path")
        for reference in _having(tree, path, b"reference")
    ]
    for prop in [] if found else _having(tree, index, b"property"):
        words = [tree.text(a.start, a.end) for a in tree.values(prop)[:2]]
        if words[:1] == ["Reference"]:
            found += words[1:]
    return list(dict.fromkeys(found))


def _wire(tree: Tree, index: int) -> Wire:
    points = [_xy(tree, xy) for xy in _having(tree, tree.child(index, b"pts"), b"xy")]
    start, end = tree.span(index)
    if not points:
        raise tree.fault(start, "this wire has no points (pts (xy ...) ...)", "save the file anew")
    return Wire(points[0], points[-1], (tree.lead(start), end))


def _label(tree: Tree, index: int) -> Label:
    start, end = tree.span(index)
    atoms = tree.values(index)
    if not atoms:
        raise tree.fault(start, "this label has no text", "save the file anew")
    atom = atoms[0]
    text = tree.text(atom.start, atom.end)
    spot = _xy_span(tree, tree.child(index, b"at"))
    at = _at(tree, index)[0]
    return Label(tree.keyword(index), text, at, (start, end), (atom.start, atom.end), spot)


def _mark(tree: Tree, index: int) -> Mark:
    return Mark(_at(tree, index)[0], _xy_span(tree, tree.child(index, b"at")))


def _places(tree: Tree, index: int, keyword: bytes) -> list[Point]:
    return [_at(tree, child)[0] for child in _having(tree, index, keyword)]


def _having(tree: Tree, index: int, keyword: bytes) -> list[int]:
    if index == NONE:
        return []
    found: list[int] = tree.having(tree.children(index), keyword).tolist()
    return found


def _first(tree: Tree, index: int) -> str:
    """The first value of a list, "" where there is none."""
    atoms = tree.values(index) if index != NONE else []
    return tree.text(atoms[0].start, atoms[0].end) if atoms else ""


def _whole(tree: Tree, index: int) -> int:
    text = _first(tree, index)
    return int(text) if text.isdecimal() and len(text) < 10 else 1


def _at(tree: Tree, index: int) -> tuple[Point, float]:
    """A list's place and its angle."""
    spot = tree.child(index, b"at")
    if spot == NONE:
        raise tree.fault(tree.span(index)[0], "this has no place (at ...)", "save the file anew")
    x, y, angle = tree.numbers(np.array([spot]), b"at", 3, 2)[0].tolist()
    return (x, y), angle / 1e6


def _xy(tree: Tree, index: int) -> Point:
    x, y = tree.numbers(np.array([index]), b"xy", 2)[0].tolist()
    return x, y


def _xy_span(tree: Tree, index: int) -> Span:
    """From the first coordinate of a place to the end of the second."""
    atoms = tree.values(index)[:2]
    if len(atoms) < 2:
        what = "expected two coordinates in (at ...)"
        raise tree.fault(tree.span(index)[0], what, "save the file anew")
    return atoms[0].start, atoms[1].end
