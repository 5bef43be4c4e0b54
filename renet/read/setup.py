"""Small things at the head of a board: version, thickness, stack-up, old net classes."""

from __future__ import annotations

import re

from renet.atoms import ATOM
from renet.bulk import decimal_nm
from renet.model import NONE, NetClass, StackLayer
from renet.read.layers import LayerTable
from renet.read.leaves import leaves
from renet.read.lists import texts
from renet.read.slots import last_slot
from renet.read.spans import ClassSpans, Span
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


def read_classes(top: Family) -> tuple[tuple[NetClass, ...], tuple[ClassSpans, ...]]:
    """Old-style net classes, and where their member lists stand."""
    tree = top.tree
    family = tree.family(top.having(b"net_class")[0])
    lists, owner = family.having(b"add_net")
    values = tree.inners(lists, b"add_net")
    starts, ends = tree.leads(tree.start[lists]).tolist(), tree.end[lists].tolist()
    members: list[list[tuple[str, Span]]] = [[] for _ in family.of]
    for of, name, *span in zip(owner.tolist(), texts(tree, values), starts, ends, strict=True):
        members[of].append((name, (span[0], span[1])))
    classes, spans = [], []
    for index, mine in zip(family.of.tolist(), members, strict=True):
        start, end = tree.span(index)
        found = ATOM.match(tree.data, tree.inner(index)[0])
        name = tree.text(*found.span()) if found else ""
        head = leaves(tree.data[start + 1 : mine[0][1][0] if mine else end - 1])
        clearance, track, via, drill = (_number(head.get(field)) for field in _FIELDS)
        nets = tuple(net for net, _ in mine)
        classes.append(NetClass(name, clearance, track, via, drill, nets))
        slot = last_slot(tree, index, b"add_net")
        spans.append(ClassSpans(name, (start, end), tuple(mine), slot))
    return tuple(classes), tuple(spans)


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
