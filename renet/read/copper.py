"""Tracks and vias, in bulk: no step here costs a Python call per track."""

from __future__ import annotations

import numpy as np

from renet.model import BoolArray, IntArray, Tracks, Vias
from renet.read.families import Positions, Sizes
from renet.read.layers import LayerTable
from renet.read.lists import distinct_raws
from renet.read.nets import Carried
from renet.read.spans import CopperSpans
from renet.syntax import Family

_LOCKED_STATUS = 0x40000
"""The bit of the old hexadecimal status that means locked (from memory, not from a source)."""


def copper_spans(family: Family, carried: Carried) -> CopperSpans:
    """Where tracks or vias stand, and what they carry."""
    tree = family.tree
    node = np.stack([tree.start[family.of], tree.end[family.of]], axis=1)
    return CopperSpans(node, carried.value, carried.name)


def tracks_of(
    family: Family, at: Positions, sizes: Sizes, layers: LayerTable, net: IntArray
) -> Tracks:
    """The tracks of the model."""
    return Tracks(
        ends=np.concatenate([at.starts, at.ends], axis=1),
        mid=at.mids,
        curved=at.curved,
        width=sizes.widths,
        layer=_layer_ids(family, layers),
        net=net,
        locked=locked(family) | _old_locks(family),
    )


def vias_of(family: Family, at: Positions, sizes: Sizes, layers: LayerTable, net: IntArray) -> Vias:
    """The vias of the model; a drill that the file does not give is 0."""
    return Vias(
        at=at.vias,
        size=sizes.vias,
        drill=sizes.drills,
        layers=_layer_masks(family, layers),
        net=net,
        locked=locked(family) | _old_locks(family),
    )


def locked(family: Family) -> BoolArray:
    """Of each list, whether it is locked: by an atom of its own, or by a child that says so."""
    tree, lists = family.tree, family.first(b"locked")
    found = lists >= 0
    for row in np.flatnonzero(found).tolist():
        found[row] = not tree.data.startswith(b"no", tree.inner(int(lists[row]))[0])
    found[family.with_atom(b"locked")] = True
    return found


def _layer_ids(family: Family, layers: LayerTable) -> IntArray:
    codes, texts = _grouped(family, family.first(b"layer"), b"layer")
    return np.array([layers.id_of(text) for text in texts], dtype=np.int64)[codes]


def _layer_masks(family: Family, layers: LayerTable) -> IntArray:
    codes, texts = _grouped(family, family.first(b"layers"), b"layers")
    return np.array([layers.between(text) for text in texts], dtype=np.int64)[codes]


def _grouped(family: Family, lists: IntArray, keyword: bytes) -> tuple[IntArray, list[bytes]]:
    """The different texts in some lists; that of list -1 is empty."""
    tree = family.tree
    return distinct_raws(tree, tree.inners(lists, keyword))


def _old_locks(family: Family) -> BoolArray:
    """Which lists have the locked bit in their status."""
    lists, owner = family.having(b"status")
    if not len(lists):
        return np.zeros(len(family.of), dtype=bool)
    codes, texts = _grouped(family, lists, b"status")
    bits = [_status(text) & _LOCKED_STATUS != 0 for text in texts]
    found = np.zeros(len(family.of), dtype=bool)
    found[owner[np.array(bits, dtype=bool)[codes]]] = True
    return found


def _status(text: bytes) -> int:
    try:
        return int(text[:16], 16)
    except ValueError:
        return 0
