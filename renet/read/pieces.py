"""The drawn pieces of custom pads, and pads that differ from layer to layer."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from renet.geometry import points
from renet.model import NONE, Core
from renet.read.outlines import Point, arc, circle, curve, rectangle, strokes
from renet.read.padshape import geometry, pad_shape
from renet.syntax import Tree

_FILLED = frozenset({b"yes", b"solid"})
_OPEN = frozenset({b"no", b"none"})


def anchor_kind(tree: Tree, pad: int) -> bytes:
    """The basic shape of a custom pad, rect where it names none."""
    options = tree.child(pad, b"options")
    anchor = tree.child(options, b"anchor") if options != NONE else NONE
    return word(tree, anchor) or b"rect"


def pieces(tree: Tree, pad: int) -> Iterator[Core]:
    """Copper that a pad has besides its basic shape, not shifted by its offset."""
    drawn = tree.child(pad, b"primitives")
    for piece in [] if drawn == NONE else tree.children(drawn).tolist():
        yield from _piece(tree, piece)
    stack = tree.child(pad, b"padstack")
    for layer in [] if stack == NONE else tree.having(tree.children(stack), b"layer").tolist():
        yield from _on_layer(tree, layer)


def word(tree: Tree, index: int) -> bytes:
    """What stands in a list after its keyword, b"" for list -1."""
    if index == NONE:
        return b""
    start, end = tree.inner(index)
    return tree.data[start:end]


def numbers(tree: Tree, parent: int, keyword: bytes, count: int) -> tuple[int, ...]:
    """The first values of a child of ``parent`` in nanometres; InputError where it is missing."""
    index = tree.child(parent, keyword)
    if index == NONE:
        what = f"({tree.keyword(parent).decode('utf-8', 'replace')} lacks ({keyword.decode()} ...)"
        raise tree.fault(int(tree.start[parent]), what, "add it or remove the list")
    return tuple(tree.numbers(np.array([index]), keyword, count)[0].tolist())


def point(tree: Tree, parent: int, keyword: bytes) -> Point:
    """A child of ``parent`` that is a point."""
    x, y = numbers(tree, parent, keyword, 2)
    return x, y


def corners(tree: Tree, parent: int) -> list[Point]:
    """The points of the ``pts`` child of a list."""
    return [(x, y) for x, y in points(word(tree, tree.child(parent, b"pts"))).tolist()]


def _on_layer(tree: Tree, layer: int) -> Iterator[Core]:
    """The copper of a pad on one of its layers, where that is given apart."""
    start, end = tree.span(layer)
    form = geometry(tree.data[start + 1 : end - 1])
    if form is not None:
        yield from pad_shape(word(tree, tree.child(layer, b"shape")), form).cores


def _piece(tree: Tree, piece: int) -> Iterator[Core]:
    """One drawn piece as cores; text and unknown kinds are no copper that counts."""
    kind = tree.keyword(piece)
    pen = _pen(tree, piece)
    fill = word(tree, tree.child(piece, b"fill"))
    if kind == b"gr_poly":
        outline = corners(tree, piece)
        yield from _area(outline, pen, fill not in _OPEN)
    elif kind == b"gr_rect":
        outline = rectangle(point(tree, piece, b"start"), point(tree, piece, b"end"))
        yield from _area(outline, pen, fill in _FILLED or not pen)
    elif kind == b"gr_circle":
        center, on = point(tree, piece, b"center"), point(tree, piece, b"end")
        if fill in _FILLED or not pen:
            reach = np.hypot(on[0] - center[0], on[1] - center[1])
            yield Core((center,), round(float(reach)) + pen)
        else:
            yield from strokes(circle(center, on), pen)
    elif kind in (b"gr_line", b"gr_arc", b"gr_curve"):
        yield from strokes(_line(tree, piece, kind), pen)


def _line(tree: Tree, piece: int, kind: bytes) -> list[Point]:
    if kind == b"gr_curve":
        control = corners(tree, piece)
        return curve(control) if len(control) == 4 else control
    start, end = point(tree, piece, b"start"), point(tree, piece, b"end")
    if kind == b"gr_line" or tree.child(piece, b"mid") == NONE:
        return [start, end]
    return arc(start, point(tree, piece, b"mid"), end)


def _area(outline: list[Point], pen: int, filled: bool) -> Iterator[Core]:
    if len(outline) > 2 and filled:
        yield Core(tuple(outline), pen)
    elif outline:
        yield from strokes(outline + outline[:1], pen)


def _pen(tree: Tree, piece: int) -> int:
    """Half the width of the pen, rounded up."""
    holder = tree.child(piece, b"stroke")
    width = tree.child(piece if holder == NONE else holder, b"width")
    if width == NONE:
        return 0
    return (int(tree.numbers(np.array([width]), b"width", 1)[0, 0]) + 1) // 2
