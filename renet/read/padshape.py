"""Pad copper: from the words of a pad to cores in the pad's own frame.

A disc for circles, a capsule for ovals, a shrunk rectangle with a radius for
rounded ones, a polygon for the rest.  A custom pad is its anchor and its drawn
pieces; a pad that differs from layer to layer gets the copper of all of them,
which errs on the side of more.  Half sizes round up to whole nanometres.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from renet.decimals import decimal_nm
from renet.model import Core, Shape
from renet.read.leaves import leaves
from renet.read.outlines import Point, sweep

_QUARTER_CHORDS = 90.0
_DEFAULT_RATIO = 0.25


class Geometry(NamedTuple):
    """What the simple lists of a pad say, in nanometres; ratios are of the shorter side.

    ``layers`` is the text of its list of layers.
    """

    width: int
    height: int
    offset: Point
    delta: Point
    rounding: float
    chamfer: float
    cut: frozenset[bytes]
    layers: bytes


def geometry(text: bytes) -> Geometry | None:
    """Read the lists of one pad that hold no other list; None without a size."""
    values = leaves(text)
    size = _pair(values.get(b"size"))
    if size is None:
        return None
    return Geometry(
        width=abs(size[0]),
        height=abs(size[1]),
        offset=_pair(values.get(b"offset")) or (0, 0),
        delta=_pair(values.get(b"rect_delta")) or (0, 0),
        rounding=_ratio(values.get(b"roundrect_rratio")),
        chamfer=_ratio(values.get(b"chamfer_ratio")) if b"chamfer" in values else 0.0,
        cut=frozenset(values.get(b"chamfer", b"").split()),
        layers=values.get(b"layers", b"").strip(),
    )


def pad_shape(kind: bytes, form: Geometry, more: Iterable[Core] = ()) -> Shape:
    """The shape of a pad of ``kind``; ``more`` are drawn pieces, not yet shifted by the offset."""
    own = tuple(_shifted([_core(kind, form), *more], form.offset))
    return Shape(box_of(own), own)


def box_of(cores: tuple[Core, ...]) -> tuple[int, int, int, int]:
    """The bounding box (u0, v0, u1, v1) of all copper."""
    boxes = []
    for points, radius in cores:
        across, down = zip(*points, strict=True)
        low, high = (min(across) - radius, min(down) - radius), (max(across), max(down))
        boxes.append((*low, high[0] + radius, high[1] + radius))
    if len(boxes) == 1:
        return boxes[0]
    left, top, right, bottom = zip(*boxes, strict=True)
    return min(left), min(top), max(right), max(bottom)


def _core(kind: bytes, form: Geometry) -> Core:
    """The main piece of copper, centred on the origin."""
    short = min(form.width, form.height)
    if kind == b"circle":
        return Core(((0, 0),), _half(form.width))
    if kind == b"oval":
        return _rounded(form, _half(short))
    if kind == b"trapezoid":
        return Core(_trapezoid(form), 0)
    if kind == b"roundrect" and form.cut:
        return Core(_chamfered(form), 0)
    if kind == b"roundrect":
        return _rounded(form, min(_half(short), round(form.rounding * short)))
    return _rounded(form, 0)


def _rounded(form: Geometry, radius: int) -> Core:
    """A rectangle with round corners: its corners pulled in by the radius."""
    u, v = max(_half(form.width) - radius, 0), max(_half(form.height) - radius, 0)
    if not radius or (u and v):
        return Core(((-u, -v), (u, -v), (u, v), (-u, v)), radius)
    if not u and not v:
        return Core(((0, 0),), radius)
    return Core(((-u, -v), (u, v)), radius)


def _trapezoid(form: Geometry) -> tuple[Point, ...]:
    """A rectangle whose opposite sides differ by ``delta``.

    A delta along x makes the left and right sides differ, one along y the upper
    and lower.  (How the signs fall is from memory; no real file at hand has one.)
    """
    u, v = _half(form.width), _half(form.height)
    du, dv = form.delta[1] // 2, form.delta[0] // 2
    return ((-u - du, v + dv), (u + du, v - dv), (u - du, -v + dv), (-u + du, -v - dv))


def _chamfered(form: Geometry) -> tuple[Point, ...]:
    """A rectangle with some corners cut off and the others rounded."""
    short = min(form.width, form.height)
    u, v = _half(form.width), _half(form.height)
    cut, radius = round(form.chamfer * short), min(_half(short), round(form.rounding * short))
    found: list[Point] = []
    for name, sx, sy, first in _CORNERS:
        x, y = sx * u, sy * v
        if name in form.cut:
            ends = ((x - sx * cut, y), (x, y - sy * cut))
            found += ends if sx * sy < 0 else ends[::-1]
        elif radius:
            center = (x - sx * radius, y - sy * radius)
            on = (center[0] + first[0] * radius, center[1] + first[1] * radius)
            found += sweep(center, on, _QUARTER_CHORDS)
        else:
            found.append((x, y))
    return tuple(found)


_CORNERS = (
    (b"top_left", -1, -1, (-1, 0)),
    (b"top_right", 1, -1, (0, -1)),
    (b"bottom_right", 1, 1, (1, 0)),
    (b"bottom_left", -1, 1, (0, 1)),
)
"""Corners clockwise on screen, with the direction in which each one's round begins."""


def _shifted(cores: Iterable[Core], offset: Point) -> Iterator[Core]:
    dx, dy = offset
    if not dx and not dy:
        yield from cores
        return
    for core in cores:
        yield Core(tuple((x + dx, y + dy) for x, y in core.points), core.radius)


def _half(size: int) -> int:
    return (size + 1) // 2


def _pair(text: bytes | None) -> Point | None:
    """Two lengths; None where they are not there or no numbers."""
    if text is None:
        return None
    read = [decimal_nm(word) for word in text.split()[:2]]
    if len(read) < 2 or not all(length for _, length in read):
        return None
    return read[0][0], read[1][0]


def _ratio(text: bytes | None) -> float:
    """A ratio between 0 and 1/2; what cannot be read is the usual quarter."""
    words = text.split() if text else []
    if not words or not decimal_nm(words[0])[1]:
        return _DEFAULT_RATIO
    return min(max(float(words[0]), 0.0), 0.5)
