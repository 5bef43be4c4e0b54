"""The drawn pieces of custom pads, and pads that differ from layer to layer."""

from __future__ import annotations

import math
from collections.abc import Iterator

from renet.model import NONE, Core
from renet.read.leaves import Piece, leaves
from renet.read.outlines import Point, arc, circle, curve, rectangle, strokes, sweep
from renet.read.padshape import geometry, pad_shape
from renet.syntax import Tree

_FILLED = frozenset({b"yes", b"solid"})
_OPEN = frozenset({b"no", b"none"})


def pieces(tree: Tree, pad: int) -> Iterator[Core]:
    """Copper that a pad has besides its basic shape, not shifted by its offset."""
    drawn = tree.child(pad, b"primitives")
    for piece in [] if drawn == NONE else tree.children(drawn).tolist():
        yield from _piece(Piece(tree, piece))
    stack = tree.child(pad, b"padstack")
    for layer in [] if stack == NONE else tree.having(tree.children(stack), b"layer").tolist():
        yield from _on_layer(tree, layer)


def _on_layer(tree: Tree, layer: int) -> Iterator[Core]:
    """The copper of a pad on one of its layers, where that is given apart."""
    start, end = tree.span(layer)
    text = tree.data[start + 1 : end - 1]
    form = geometry(text)
    if form is not None:
        yield from pad_shape(leaves(text).get(b"shape", b"").strip(), form).cores


def _piece(piece: Piece) -> Iterator[Core]:
    """One drawn piece as cores; text and unknown kinds are no copper that counts."""
    kind, fill = piece.keyword, piece.word(b"fill")
    pen = (piece.numbers(b"width", 1)[0] + 1) // 2 if piece.word(b"width") else 0
    if kind == b"gr_poly":
        yield from _area(piece.corners(), pen, fill not in _OPEN)
    elif kind == b"gr_rect":
        outline = rectangle(piece.point(b"start"), piece.point(b"end"))
        yield from _area(outline, pen, fill in _FILLED or not pen)
    elif kind == b"gr_circle":
        center, on = piece.point(b"center"), piece.point(b"end")
        if fill in _FILLED or not pen:
            yield Core((center,), round(math.dist(center, on)) + pen)
        else:
            yield from strokes(circle(center, on), pen)
    elif kind in (b"gr_line", b"gr_arc", b"gr_curve"):
        yield from strokes(_line(piece), pen)


def _line(piece: Piece) -> list[Point]:
    if piece.keyword == b"gr_curve":
        control = piece.corners()
        return curve(control) if len(control) == 4 else control
    start, end = piece.point(b"start"), piece.point(b"end")
    if piece.keyword == b"gr_arc" and piece.word(b"mid"):
        return arc(start, piece.point(b"mid"), end)
    if piece.keyword == b"gr_arc":
        return sweep(start, end, piece.numbers(b"angle", 1)[0] / 1_000_000)
    return [start, end]


def _area(outline: list[Point], pen: int, filled: bool) -> Iterator[Core]:
    if len(outline) > 2 and filled:
        yield Core(tuple(outline), pen)
    elif outline:
        yield from strokes(outline + outline[:1], pen)
