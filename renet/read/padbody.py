"""Layers and shape of every pad, each different text of geometry looked at once."""

from __future__ import annotations

import re
from typing import NamedTuple

import numpy as np

from renet.model import BoolArray, IntArray, Shape
from renet.read.layers import LayerTable
from renet.read.lists import distinct_raws
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
    tree, chosen = family.tree, _choose(family)
    codes, texts = distinct_raws(tree, _stretches(tree, chosen))
    known: dict[tuple[bytes, int | bytes], Body] = {}
    found = []
    rows = zip(kinds, codes.tolist(), chosen.simple.tolist(), strict=True)
    for row, (kind, code, simple) in enumerate(rows):
        text = texts[code] if simple else _text(tree, chosen, row)
        key = kind, code if simple else text
        body = known.get(key)
        if body is None:
            plain = text if simple else _plain_text(tree, chosen, row)
            body = known[key] = _body(tree, int(family.of[row]), (kind, text), plain, layers)
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


def _stretches(tree: Tree, chosen: _Chosen) -> IntArray:
    """From where the geometry of each pad begins to where it ends; (0, 0) where there is none."""
    spans = np.zeros((len(chosen.simple), 2), dtype=np.int64)
    some = np.diff(chosen.first).nonzero()[0]
    spans[some, 0] = tree.start[chosen.lists[chosen.first[some]]]
    spans[some, 1] = tree.end[chosen.lists[chosen.first[some + 1] - 1]]
    return spans


def _text(tree: Tree, chosen: _Chosen, row: int) -> bytes:
    """The geometry of one pad, joined."""
    return _joined(tree, chosen.lists[chosen.first[row] : chosen.first[row + 1]])


def _plain_text(tree: Tree, chosen: _Chosen, row: int) -> bytes:
    """The plain lists of one pad, joined."""
    mine = slice(int(chosen.first[row]), int(chosen.first[row + 1]))
    return _joined(tree, chosen.lists[mine][chosen.plain[mine]])


def _joined(tree: Tree, lists: IntArray) -> bytes:
    return b" ".join(tree.data[slice(*tree.span(index))] for index in lists.tolist())


def _body(tree: Tree, pad: int, key: tuple[bytes, bytes], plain: bytes, layers: LayerTable) -> Body:
    """Layers and shape from the word for the shape and all text, and from its ``plain`` lists."""
    kind, text = key
    form = geometry(plain)
    if form is None:
        raise tree.fault(int(tree.start[pad]), "a pad has no size", "give it a (size W H) list")
    if kind == b"custom":
        anchor = _ANCHOR.search(text)
        kind = anchor[1] if anchor else b"rect"
    more = pieces(tree, pad) if b"primitives" in text or b"padstack" in text else ()
    return Body(layers.mask_of(form.layers), pad_shape(kind, form, more))
