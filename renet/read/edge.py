"""The board's edge: lines, arcs and outlines on the edge layer, as polylines."""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np

from renet.geometry import place
from renet.read.layers import EDGE
from renet.read.leaves import Piece
from renet.read.outlines import Point, arc, circle, curve, rectangle, sweep
from renet.read.parts import PartRows
from renet.syntax import Tree

Line = tuple[Point, ...]

_EDGE = re.compile(re.escape(EDGE))
_KINDS = (b"line", b"arc", b"circle", b"rect", b"poly", b"curve")
_ON_BOARD = {b"gr_" + kind: kind for kind in _KINDS}
_IN_PART = {b"fp_" + kind: kind for kind in _KINDS}


def read_edge(tree: Tree, parts: PartRows) -> dict[int, Line]:
    """The pieces of the edge by their lists, in file order; those of footprints are placed."""
    found: dict[int, Line] = {}
    for index in _on_edge(tree):
        word, depth = tree.keyword(index), int(tree.depth[index])
        if depth == 1 and word in _ON_BOARD:
            line = _polyline(Piece(tree, index), _ON_BOARD[word])
        elif depth == 2 and word in _IN_PART:
            line = _placed(tree, parts, index, _polyline(Piece(tree, index), _IN_PART[word]))
        else:
            continue
        if len(line) > 1:
            found[index] = tuple(line)
    return found


def _on_edge(tree: Tree) -> Iterator[int]:
    """All lists that have a ``(layer ...)`` child naming the edge layer, in file order."""
    data = tree.data
    hits = [found.start() for found in _EDGE.finditer(data)]
    if not hits:
        return
    # The hit is the list's only value, so the last list begun before it is the one.
    lists = np.unique(np.searchsorted(tree.start, hits, side="right") - 1)
    lists = tree.having(lists[lists > 0], b"layer")
    spans = tree.inners(lists, b"layer").tolist()
    for index, (start, end) in zip(lists.tolist(), spans, strict=True):
        if data[start:end].strip(b'"') == EDGE:
            yield tree.parent(index)


def _polyline(piece: Piece, kind: bytes) -> list[Point]:
    """One piece in the frame it is written in."""
    if kind in (b"poly", b"curve"):
        line = piece.corners()
        if kind == b"curve":
            return curve(line) if len(line) == 4 else line
        return line + line[:1]
    end = piece.point(b"end")
    if kind == b"circle":
        return circle(piece.point(b"center"), end)
    start = piece.point(b"start")
    if kind == b"rect":
        return [*rectangle(start, end), start]
    return [start, end] if kind == b"line" else _arc(piece, start, end)


def _arc(piece: Piece, start: Point, end: Point) -> list[Point]:
    """An arc through three points, or by centre, first point and angle in old files."""
    if piece.word(b"mid"):
        return arc(start, piece.point(b"mid"), end)
    return sweep(start, end, piece.numbers(b"angle", 1)[0] / 1_000_000)


def _placed(tree: Tree, parts: PartRows, index: int, line: list[Point]) -> list[Point]:
    """A polyline of a footprint on the board."""
    part = int(np.searchsorted(parts.lists, tree.parent(index)))
    x, y, angle = int(parts.x[part]), int(parts.y[part]), float(parts.angle[part])
    return list(place(line, x, y, angle))
