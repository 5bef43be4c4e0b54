"""Tracks and vias, in bulk: no step here costs a Python call per track."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from renet.model import BoolArray, IntArray, Tracks, Vias
from renet.read.layers import LayerTable
from renet.read.nets import NetIds, NetNames
from renet.read.spans import CopperSpans
from renet.syntax import Family, Tree

_LOCKED_STATUS = 0x40000
"""The bit of the old hexadecimal status that means locked (from memory, not from a source)."""


@dataclass(frozen=True, slots=True)
class Rows:
    """Lists of one kind of copper, their children, and what they carry."""

    family: Family
    spans: CopperSpans

    def __len__(self) -> int:
        return len(self.family.of)


def copper_rows(tree: Tree, top: Family, names: NetNames, keywords: tuple[bytes, ...]) -> Rows:
    """All top-level lists with one of these keywords, in file order."""
    lists = top.kids[np.sort(np.concatenate([top.where(keyword) for keyword in keywords]))]
    family = tree.family(lists)
    value = tree.inners(family.first(b"net"), b"net")
    node = np.stack([tree.leads(tree.start[lists]), tree.end[lists]], axis=1)
    return Rows(family, CopperSpans(node, value, names.of_values(value)))


def tracks_of(
    tree: Tree, rows: Rows, layers: LayerTable, nets: NetIds, locked: BoolArray
) -> Tracks:
    """The tracks of the model; ``locked`` says of every list whether it is."""
    family = rows.family
    ends = [_points(tree, family, keyword) for keyword in (b"start", b"end")]
    mids = family.first(b"mid")
    curved = mids >= 0
    mid = np.where(curved[:, None], tree.numbers(mids, b"mid", 2), ends[0])
    widths = _required(tree, family, b"width")
    return Tracks(
        ends=np.concatenate(ends, axis=1),
        mid=mid,
        curved=curved,
        width=tree.numbers(widths, b"width", 1)[:, 0],
        layer=_layer_ids(tree, family.first(b"layer"), layers),
        net=nets.of(rows.spans.carried),
        locked=locked[family.of] | _old_locks(tree, family),
    )


def vias_of(tree: Tree, rows: Rows, layers: LayerTable, nets: NetIds, locked: BoolArray) -> Vias:
    """The vias of the model; a drill that the file does not give is 0."""
    family = rows.family
    sizes = _required(tree, family, b"size")
    return Vias(
        at=_points(tree, family, b"at"),
        size=tree.numbers(sizes, b"size", 1)[:, 0],
        drill=tree.numbers(family.first(b"drill"), b"drill", 1, least=0)[:, 0],
        layers=_layer_masks(tree, family.first(b"layers"), layers),
        net=nets.of(rows.spans.carried),
        locked=locked[family.of] | _old_locks(tree, family),
    )


def locked_lists(tree: Tree) -> BoolArray:
    """Of every list, whether it is locked: by a bare ``locked`` in it or a list that says so."""
    found = np.zeros(len(tree), dtype=bool)
    offsets = tree.bare(b"locked")
    around = tree.around(offsets)
    for offset, index in zip(offsets.tolist(), around.tolist(), strict=True):
        if int(tree.word[index]) != offset:
            found[index] = True
        elif index and not tree.data[slice(*tree.inner(index))].startswith(b"no"):
            found[tree.parent(index)] = True
    return found


def _required(tree: Tree, family: Family, keyword: bytes) -> IntArray:
    """The child of each list with this keyword, which all must have."""
    lists = family.first(keyword)
    missing = np.flatnonzero(lists < 0)
    if len(missing):
        index = int(family.of[missing[0]])
        what = f"a {tree.keyword(index).decode()} has no ({keyword.decode()} ...) list"
        raise tree.fault(int(tree.start[index]), what, "was the file edited by hand?")
    return lists


def _points(tree: Tree, family: Family, keyword: bytes) -> IntArray:
    return tree.numbers(_required(tree, family, keyword), keyword, 2)


def _layer_ids(tree: Tree, lists: IntArray, layers: LayerTable) -> IntArray:
    codes, texts = _grouped(tree, lists, b"layer")
    return np.array([layers.id_of(text) for text in texts], dtype=np.int64)[codes]


def _layer_masks(tree: Tree, lists: IntArray, layers: LayerTable) -> IntArray:
    codes, texts = _grouped(tree, lists, b"layers")
    return np.array([layers.between(text) for text in texts], dtype=np.int64)[codes]


def _grouped(tree: Tree, lists: IntArray, keyword: bytes) -> tuple[IntArray, list[bytes]]:
    """The different texts in some lists; that of list -1 is empty."""
    spans = np.maximum(tree.inners(lists, keyword), 0)
    return tree.bulk.groups(spans[:, 0], spans[:, 1])


def _old_locks(tree: Tree, family: Family) -> BoolArray:
    """Which lists have the locked bit in their status."""
    lists, owner = family.having(b"status")
    codes, texts = _grouped(tree, lists, b"status")
    bits = [_status(text) & _LOCKED_STATUS != 0 for text in texts]
    found = np.zeros(len(family.of), dtype=bool)
    if bits:
        found[owner[np.array(bits, dtype=bool)[codes]]] = True
    return found


def _status(text: bytes) -> int:
    try:
        return int(text[:16], 16)
    except ValueError:
        return 0
