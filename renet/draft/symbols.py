"""What a schematic's embedded symbols say of their pins: names, types, alternate functions.

A library pin may carry ``(alternate NAME TYPE STYLE)`` entries; a placed symbol
names the one that was chosen, ``(pin NUMBER ... (alternate NAME))``.  From memory
of the format; a file without them simply says nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from renet.errors import InputError
from renet.model import NONE
from renet.syntax import Tree, parse

ROOT = b"kicad_sch"


class SymbolPin(NamedTuple):
    """A pin of a placed symbol; ``functions`` are its alternates, ``chosen`` one of them or ""."""

    ref: str
    number: str
    name: str
    type: str
    functions: tuple[str, ...]
    chosen: str


class _LibraryPin(NamedTuple):
    name: str
    type: str
    functions: tuple[str, ...]


def read_symbols(data: bytes) -> tuple[SymbolPin, ...]:
    """The pins of all placed symbols, in the order of the file; InputError where it is none."""
    tree = parse(data)
    if tree.keyword(0) != ROOT:
        raise InputError(
            "this is no S-expression schematic", "give the schematic files of the board"
        )
    tops = tree.children(0).tolist()
    library: dict[str, dict[str, _LibraryPin]] = {}
    for holder in (index for index in tops if tree.keyword(index) == b"lib_symbols"):
        for symbol in _having(tree, holder, b"symbol"):
            library[_first(tree, symbol)] = dict(_library_pins(tree, symbol))
    placed = (index for index in tops if tree.keyword(index) == b"symbol")
    return tuple(pin for index in placed for pin in _placed_pins(tree, index, library))


def _library_pins(tree: Tree, symbol: int) -> Iterator[tuple[str, _LibraryPin]]:
    for unit in (symbol, *_having(tree, symbol, b"symbol")):
        for pin in _having(tree, unit, b"pin"):
            functions = tuple(_first(tree, alt) for alt in _having(tree, pin, b"alternate"))
            name = _value(tree, pin, b"name")
            found = _LibraryPin("" if name == "~" else name, _first(tree, pin).lower(), functions)
            yield _value(tree, pin, b"number"), found


def _placed_pins(
    tree: Tree, index: int, library: dict[str, dict[str, _LibraryPin]]
) -> Iterator[SymbolPin]:
    entry = _value(tree, index, b"lib_name") or _value(tree, index, b"lib_id")
    chosen = {
        _first(tree, pin): _value(tree, pin, b"alternate") for pin in _having(tree, index, b"pin")
    }
    for ref in _references(tree, index):
        for number, pin in library.get(entry, {}).items():
            yield SymbolPin(ref, number, pin.name, pin.type, pin.functions, chosen.get(number, ""))


def _references(tree: Tree, index: int) -> list[str]:
    """Every reference the symbol stands for; the property where no instance says one."""
    found = [
        _value(tree, path, b"reference")
        for holder in _having(tree, index, b"instances")
        for project in _having(tree, holder, b"project")
        for path in _having(tree, project, b"path")
    ]
    if not found:
        for field in _having(tree, index, b"property"):
            values = [tree.text(atom.start, atom.end) for atom in tree.values(field)]
            if values[:1] == ["Reference"]:
                found += values[1:2]
    return sorted({ref for ref in found if ref})


def _having(tree: Tree, index: int, keyword: bytes) -> list[int]:
    return [child for child in tree.children(index).tolist() if tree.keyword(child) == keyword]


def _first(tree: Tree, index: int) -> str:
    atoms = tree.values(index) if index != NONE else []
    return tree.text(atoms[0].start, atoms[0].end) if atoms else ""


def _value(tree: Tree, index: int, keyword: bytes) -> str:
    return _first(tree, tree.child(index, keyword))
