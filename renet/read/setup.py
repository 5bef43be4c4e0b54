"""Small things at the head of a board: version, thickness, stack-up, old net classes."""

from __future__ import annotations

import re

from renet.atoms import ATOM
from renet.decimals import decimal_nm
from renet.model import NONE, NetClass, StackLayer
from renet.read.layers import LayerTable
from renet.read.leaves import leaves
from renet.read.lists import texts
from renet.syntax import Family, Tree

_NEXT_SHEET = re.compile(rb"(?<=\s)addsublayer(?=[\s)]|$)")
_FIELDS = (b"clearance", b"trace_width", b"via_dia", b"via_drill")


def read_version(tree: Tree) -> int:
    """The file's version, 0 where it gives none that is a number."""
    text = _word(tree, tree.child(0, b"version")).strip(b'"')
    return int(text) if text.isdigit() and len(text) < 10 else 0


def read_thickness(tree: Tree) -> int:
    """The board's thickness, 0 where it is not given."""
    general = tree.child(0, b"general")
    return _length(tree, general, b"thickness")


def read_stackup(tree: Tree, layers: LayerTable) -> tuple[StackLayer, ...]:
    """The layers from the first copper to the last, dielectric ones between them.

    A dielectric of several sheets gives one entry for each.
    """
    setup = tree.child(0, b"setup")
    stack = tree.child(setup, b"stackup") if setup != NONE else NONE
    if stack == NONE:
        return ()
    rows = tree.having(tree.children(stack), b"layer").tolist()
    found = [sheet for row in rows for sheet in _sheets(tree, row, layers)]
    copper = [index for index, sheet in enumerate(found) if sheet.copper != NONE]
    return tuple(found[copper[0] : copper[-1] + 1]) if copper else ()


def read_classes(top: Family) -> tuple[NetClass, ...]:
    """Old-style net classes."""
    tree, lists = top.tree, top.having(b"net_class")[0]
    if not len(lists):
        return ()
    family = tree.family(lists)
    added, owner = family.having(b"add_net")
    members: list[list[str]] = [[] for _ in lists]
    for of, name in zip(owner.tolist(), texts(tree, tree.inners(added, b"add_net")), strict=True):
        members[of].append(name)
    stop = tree.end[lists] - 1
    stop[owner[::-1]] = tree.start[added[::-1]]
    classes = []
    for index, end, nets in zip(lists.tolist(), stop.tolist(), members, strict=True):
        found = ATOM.match(tree.data, tree.inner(index)[0])
        name = tree.text(*found.span()) if found else ""
        head = leaves(tree.data[int(tree.start[index]) + 1 : end])
        clearance, track, via, drill = (_number(head.get(field)) for field in _FIELDS)
        classes.append(NetClass(name, clearance, track, via, drill, tuple(nets)))
    return tuple(classes)


def _sheets(tree: Tree, row: int, layers: LayerTable) -> list[StackLayer]:
    """The sheets of one row of the stack-up, which it parts with a bare word."""
    start, end = tree.inner(row)
    found = ATOM.match(tree.data, start, end)
    if not found:
        return []
    name, copper = tree.text(*found.span()), layers.id_of(found[0])
    sheets = []
    for text in _NEXT_SHEET.split(tree.data[found.end() : end]):
        values = leaves(text)
        er = _number(values.get(b"epsilon_r")) / 1_000_000
        sheets.append(StackLayer(name, copper, _number(values.get(b"thickness")), er))
    return sheets


def _word(tree: Tree, index: int) -> bytes:
    """What stands in a list after its keyword, b"" for list -1."""
    return tree.data[slice(*tree.inner(index))] if index != NONE else b""


def _length(tree: Tree, parent: int, keyword: bytes) -> int:
    """A length that stands in a child of ``parent``, 0 where it is absent."""
    return _number(_word(tree, tree.child(parent, keyword))) if parent != NONE else 0


def _number(text: bytes | None) -> int:
    """The first number of a text in nanometres (millionths), 0 where there is none."""
    return decimal_nm(text.split()[0])[0] if text and text.split() else 0
