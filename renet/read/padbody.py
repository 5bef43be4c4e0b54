"""Layers and shape of every pad, each different text of geometry looked at once."""

from __future__ import annotations

import re
from typing import NamedTuple

import numpy as np

from renet.model import BoolArray, IntArray, Shape
from renet.read.layers import LayerTable
from renet.read.padshape import geometry, pad_shape
from renet.read.pieces import pieces
from renet.syntax import Family, Tree

_PLAIN = (
    b"size",
    b"drill",
    b"layers",
    b"roundrect_rratio",
    b"rect_delta",
    b"chamfer_ratio",
    b"chamfer",
)
_ANCHOR = re.compile(rb"\(\s*anchor\s+\"?(\w+)")
_COMPLEX = (b"options", b"primitives", b"padstack")
_NEUTRAL = (b"property", b"remove_unused_layers", b"keep_end_layers")
"""Lists that stand among the geometry and say nothing of it."""


class Body(NamedTuple):
    """What the geometry of a pad comes to."""

    layers: int
    shape: Shape


class _Chosen(NamedTuple):
    """The lists of geometry of all pads; those of pad i are first[i] .. first[i + 1] - 1.

    ``plain`` tells the lists that hold no other, ``simple`` the pads whose
    geometry stands in one piece and has plain lists only.
    """

    lists: IntArray
    plain: BoolArray
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
            plain = key[1] if chosen.simple[row] else _plain_text(family.tree, chosen, row)
            body = known[key] = _body(family.tree, int(family.of[row]), key, plain, layers)
        found.append(body)
    return found


def _choose(family: Family) -> _Chosen:
    """Find the geometry of every pad."""
    wanted = np.zeros(len(family.kids), dtype=np.uint8)
    simple = np.ones(len(family.of), dtype=bool)
    for keyword in _PLAIN + _NEUTRAL:
        wanted[family.where(keyword)] = 1
    for keyword in _COMPLEX:
        where = family.where(keyword)
        wanted[where] = 2
        simple[family.owner[where]] = False
    chosen = wanted.nonzero()[0]
    owner = family.owner[chosen]
    first = np.searchsorted(owner, np.arange(len(family.of) + 1))
    gaps = (np.diff(chosen) > 1) & (np.diff(owner) == 0)
    simple[owner[:-1][gaps]] = False
    return _Chosen(family.kids[chosen], wanted[chosen] == 1, first, simple)


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


def _plain_text(tree: Tree, chosen: _Chosen, row: int) -> bytes:
    """The plain lists of one pad, joined."""
    mine = slice(int(chosen.first[row]), int(chosen.first[row + 1]))
    lists = chosen.lists[mine][chosen.plain[mine]].tolist()
    return b" ".join(tree.data[slice(*tree.span(index))] for index in lists)


def _body(tree: Tree, pad: int, key: tuple[bytes, bytes], plain: bytes, layers: LayerTable) -> Body:
    """Layers and shape from all text of the geometry and from its ``plain`` lists."""
    kind, text = key
    form = geometry(plain)
    if form is None:
        raise tree.fault(int(tree.start[pad]), "a pad has no size", "give it a (size W H) list")
    if kind == b"custom":
        anchor = _ANCHOR.search(text)
        kind = anchor[1] if anchor else b"rect"
    more = pieces(tree, pad) if b"primitives" in text or b"padstack" in text else ()
    return Body(layers.mask_of(form.layers), pad_shape(kind, form, more))
