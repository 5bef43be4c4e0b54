"""Where a list that is not there yet would stand, after the example of its neighbours."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from renet.model import IntArray
from renet.syntax import Tree

Span = tuple[int, int]
NOWHERE: Span = (-1, -1)

_MODELS = 40
_BEFORE_NET = (b"at", b"size", b"rect_delta", b"drill", b"property", b"layers")


class Slot(NamedTuple):
    """Where a new list is put, and the white space that goes in front of it."""

    offset: int
    lead: bytes


def pad_slot(tree: Tree, nodes: IntArray, nets: IntArray, pad: int) -> Slot:
    """Where a pad gets its net list.

    The order of a pad's children differs from version to version, so the
    nearest pads that have a net list show it: the new list goes after the last
    child of a kind that stands before the net there, with the white space of the
    nearest.  Where no pad has one it goes after the geometry.
    """
    with_net = np.flatnonzero(nets[:, 0] >= 0)
    if not len(with_net):
        return _after(tree, nodes[pad], frozenset(_BEFORE_NET), b" ")
    near = with_net[np.argsort(np.abs(with_net - pad), kind="stable")[:_MODELS]].tolist()
    before = frozenset(
        tree.keyword(kid)
        for model in near
        for kid in _children(tree, nodes[model])
        if tree.start[kid] < nets[model, 0]
    )
    start = int(nets[near[0], 0])
    return _after(tree, nodes[pad], before, tree.data[tree.lead(start) : start])


def last_slot(tree: Tree, index: int, keyword: bytes) -> Slot:
    """Where one more child with this keyword goes: after the last of its kind.

    Where there is none yet it goes after the last child, else at the list's end.
    """
    kids = tree.children(index)
    alike = tree.having(kids, keyword)
    if not len(kids):
        return Slot(int(tree.end[index]) - 1, b" ")
    last = int((alike if len(alike) else kids)[-1])
    start = int(tree.start[last])
    return Slot(int(tree.end[last]), tree.data[tree.lead(start) : start])


def _children(tree: Tree, node: IntArray) -> list[int]:
    index = int(np.searchsorted(tree.start, node[0]))
    return [int(kid) for kid in tree.children(index)]


def _after(tree: Tree, node: IntArray, before: frozenset[bytes], lead: bytes) -> Slot:
    """After the last child of ``node`` whose keyword is in ``before``."""
    fitting = [kid for kid in _children(tree, node) if tree.keyword(kid) in before]
    end = int(tree.end[fitting[-1]]) if fitting else tree.lead(int(node[1]) - 1)
    return Slot(end, lead)
