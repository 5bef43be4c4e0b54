"""The board's edge: lines, arcs and outlines on the edge layer, as polylines."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from renet.atoms import decode
from renet.model import IntArray
from renet.read.layers import EDGE
from renet.read.outlines import Point, arc, circle, curve, rectangle, sweep
from renet.read.parts import PartRows, placed
from renet.read.pieces import corners, numbers, point
from renet.syntax import Tree

Line = tuple[Point, ...]

_KINDS = (b"line", b"arc", b"circle", b"rect", b"poly", b"curve")
_ON_BOARD = {b"gr_" + kind: kind for kind in _KINDS}
_IN_PART = {b"fp_" + kind: kind for kind in _KINDS}


def read_edge(tree: Tree, parts: PartRows) -> dict[int, Line]:
    """The pieces of the edge by their lists, in file order; those of footprints are placed."""
    found: dict[int, Line] = {}
    for index in _on_edge(tree):
        word = tree.keyword(index)
        if word in _ON_BOARD:
            line = _polyline(tree, index, _ON_BOARD[word])
        elif word in _IN_PART and int(tree.depth[index]) == 2:
            line = _placed(tree, parts, index, _polyline(tree, index, _IN_PART[word]))
        else:
            continue
        if len(line) > 1:
            found[index] = tuple(line)
    return found


def _on_edge(tree: Tree) -> Iterator[int]:
    """All lists that have a ``(layer ...)`` child naming the edge layer, in file order."""
    data = tree.data
    at = data.find(EDGE)
    hits = []
    while at >= 0:
        hits.append(at)
        at = data.find(EDGE, at + len(EDGE))
    for index in dict.fromkeys(tree.around(np.array(hits, dtype=np.int64)).tolist()):
        start, end = tree.inner(index)
        if tree.keyword(index) == b"layer" and decode(data[start:end]) == EDGE.decode():
            yield tree.parent(index)


def _polyline(tree: Tree, index: int, kind: bytes) -> list[Point]:
    """One piece in the frame it is written in."""
    if kind in (b"poly", b"curve"):
        line = corners(tree, index)
        if kind == b"curve":
            return curve(line) if len(line) == 4 else line
        return line + line[:1]
    end = point(tree, index, b"end")
    if kind == b"circle":
        return circle(point(tree, index, b"center"), end)
    start = point(tree, index, b"start")
    if kind == b"rect":
        return [*rectangle(start, end), start]
    return [start, end] if kind == b"line" else _arc(tree, index, start, end)


def _arc(tree: Tree, index: int, start: Point, end: Point) -> list[Point]:
    """An arc through three points, or by centre, first point and angle in old files."""
    if tree.child(index, b"mid") >= 0:
        return arc(start, point(tree, index, b"mid"), end)
    (angle,) = numbers(tree, index, b"angle", 1)
    return sweep(start, end, angle / 1_000_000)


def _placed(tree: Tree, parts: PartRows, index: int, line: list[Point]) -> list[Point]:
    """A polyline of a footprint on the board."""
    part = int(np.searchsorted(parts.lists, tree.parent(index)))
    flat: IntArray = np.array(line, dtype=np.int64).reshape(-1, 2)
    x, y = placed(parts, np.full(len(flat), part), flat[:, 0], flat[:, 1])
    return list(zip(x.tolist(), y.tolist(), strict=True))
