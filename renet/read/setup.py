"""Small things at the head of a board: version, thickness, stack-up, old net classes."""

from __future__ import annotations

from renet.bulk import decimal_nm
from renet.model import NONE, NetClass, StackLayer
from renet.read.layers import LayerTable
from renet.read.pieces import word
from renet.read.slots import last_slot
from renet.read.spans import ClassSpans
from renet.syntax import Family, Tree

_FIELDS = (b"clearance", b"trace_width", b"via_dia", b"via_drill")


def read_version(tree: Tree) -> int:
    """The file's version, 0 where it gives none that is a number."""
    text = word(tree, tree.child(0, b"version")).strip(b'"')
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


def read_classes(tree: Tree, top: Family) -> tuple[tuple[NetClass, ...], tuple[ClassSpans, ...]]:
    """Old-style net classes, and where their member lists stand."""
    classes, spans = [], []
    for index in top.having(b"net_class")[0].tolist():
        atoms = tree.values(index)
        name = tree.text(atoms[0].start, atoms[0].end) if atoms else ""
        members = tuple(
            (tree.text(*tree.inner(kid)), (tree.lead(int(tree.start[kid])), int(tree.end[kid])))
            for kid in tree.having(tree.children(index), b"add_net").tolist()
        )
        clearance, track, via, drill = (_length(tree, index, field) for field in _FIELDS)
        nets = tuple(net for net, _ in members)
        classes.append(NetClass(name, clearance, track, via, drill, nets))
        slot = last_slot(tree, index, b"add_net")
        spans.append(ClassSpans(name, tree.span(index), members, slot))
    return tuple(classes), tuple(spans)


def _sheets(tree: Tree, row: int, layers: LayerTable) -> list[StackLayer]:
    """The sheets of one row of the stack-up; ``addsublayer`` atoms part them."""
    atoms = tree.values(row)
    if not atoms:
        return []
    raw = tree.data[atoms[0].start : atoms[0].end]
    name = tree.text(atoms[0].start, atoms[0].end)
    cuts = [atom.start for atom in atoms[1:]] + [int(tree.end[row])]
    kids = tree.children(row).tolist()
    sheets, begin = [], 0
    for cut in cuts:
        mine = [kid for kid in kids if begin < int(tree.start[kid]) < cut]
        values = {tree.keyword(kid): word(tree, kid) for kid in mine}
        thick, er = _number(values.get(b"thickness")), _number(values.get(b"epsilon_r"))
        sheets.append(StackLayer(name, layers.id_of(raw), thick, er / 1_000_000))
        begin = cut
    return sheets


def _length(tree: Tree, parent: int, keyword: bytes) -> int:
    """A length that stands in a child of ``parent``, 0 where it is absent."""
    return _number(word(tree, tree.child(parent, keyword))) if parent != NONE else 0


def _number(text: bytes | None) -> int:
    """The first number of a text in nanometres (millionths), 0 where there is none."""
    return decimal_nm(text.split()[0])[0] if text and text.split() else 0
