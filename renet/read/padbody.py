"""Layers and shape of every pad, each different text of geometry looked at once."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from renet.model import BoolArray, IntArray, Shape
from renet.read.layers import LayerTable
from renet.read.leaves import Piece
from renet.read.padshape import geometry, pad_shape
from renet.read.pieces import pieces
from renet.syntax import Family, Tree

_SIMPLE = (
    b"size",
    b"drill",
    b"layers",
    b"roundrect_rratio",
    b"rect_delta",
    b"chamfer_ratio",
    b"chamfer",
)
_COMPLEX = (b"options", b"primitives", b"padstack")
_NEUTRAL = (b"property", b"remove_unused_layers", b"keep_end_layers")
"""Lists that stand among the geometry and say nothing of it."""


class Body(NamedTuple):
    """What the geometry of a pad comes to."""

    layers: int
    shape: Shape


class _Chosen(NamedTuple):
    """The lists of geometry of all pads; those of pad i are first[i] .. first[i + 1] - 1."""

    lists: IntArray
    first: IntArray
    simple: BoolArray


def pad_bodies(family: Family, kinds: list[bytes], layers: LayerTable) -> list[Body]:
    """The body of each pad; ``kinds`` are the words for their shapes."""
    chosen = _choose(family)
    known: dict[tuple[bytes, bytes], Body] = {}
    found = []
    for row, key in enumerate(zip(kinds, _texts(family.tree, chosen), strict=True)):
        body = known.get(key)
        if body is None:
            simple = bool(chosen.simple[row])
            body = known[key] = _body(family.tree, int(family.of[row]), key, layers, simple)
        found.append(body)
    return found


def _choose(family: Family) -> _Chosen:
    """Find the geometry of every pad, and whether it stands in one piece and is simple."""
    wanted = np.zeros(len(family.kids), dtype=bool)
    simple = np.ones(len(family.of), dtype=bool)
    for keyword in _SIMPLE + _NEUTRAL:
        wanted[family.where(keyword)] = True
    for keyword in _COMPLEX:
        where = family.where(keyword)
        wanted[where] = True
        simple[family.owner[where]] = False
    chosen = wanted.nonzero()[0]
    owner = family.owner[chosen]
    first = np.searchsorted(owner, np.arange(len(family.of) + 1))
    gaps = (np.diff(chosen) > 1) & (np.diff(owner) == 0)
    simple[owner[:-1][gaps]] = False
    return _Chosen(family.kids[chosen], first, simple)


def _texts(tree: Tree, chosen: _Chosen) -> list[bytes]:
    """The geometry of each pad as text."""
    data, starts, ends = tree.data, tree.start[chosen.lists].tolist(), tree.end[chosen.lists]
    stops, first = ends.tolist(), chosen.first.tolist()
    found = []
    for begin, end, simple in zip(first, first[1:], chosen.simple.tolist(), strict=False):
        if begin == end:
            found.append(b"")
        elif simple:
            found.append(data[starts[begin] : stops[end - 1]])
        else:
            spans = zip(starts[begin:end], stops[begin:end], strict=True)
            found.append(b" ".join([data[start:stop] for start, stop in spans]))
    return found


def _body(tree: Tree, pad: int, key: tuple[bytes, bytes], layers: LayerTable, simple: bool) -> Body:
    """Layers and shape from the text of the geometry, and from the pad itself if that is more."""
    kind, text = key
    form = geometry(text if simple else _simple_text(tree, pad))
    if form is None:
        raise tree.fault(int(tree.start[pad]), "a pad has no size", "give it a (size W H) list")
    mask = layers.mask_of(form.layers)
    if simple:
        return Body(mask, pad_shape(kind, form))
    if kind == b"custom":
        kind = Piece(tree, pad).word(b"anchor") or b"rect"
    return Body(mask, pad_shape(kind, form, pieces(tree, pad)))


def _simple_text(tree: Tree, pad: int) -> bytes:
    """The simple lists of one pad, joined."""
    kids = [kid for kid in tree.children(pad).tolist() if tree.keyword(kid) in _SIMPLE]
    return b" ".join(tree.data[slice(*tree.span(kid))] for kid in kids)
