"""A board or netlist read the plain way, through sexpdata: slow, obvious, no code of renet's.

Millimetres as floats.  Only what a check of copper and nets needs: pads, tracks,
vias, fills, each with the name of its net ("" for none).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import sexpdata

Tree = list[Any]


class PlainPad(NamedTuple):
    """A pad; ``layers`` are names as written, ``kind`` smd, thru_hole ..."""

    ref: str
    number: str
    kind: str
    shape: str
    x: float
    y: float
    angle: float
    size: tuple[float, float]
    layers: tuple[str, ...]
    net: str
    function: str
    type: str


class PlainTrack(NamedTuple):
    """A straight or curved track as a polyline."""

    points: tuple[tuple[float, float], ...]
    width: float
    layer: str
    net: str


class PlainVia(NamedTuple):
    """A via."""

    x: float
    y: float
    size: float
    net: str


class PlainFill(NamedTuple):
    """A filled polygon of an area; ``grow`` is half the pen that drew it."""

    points: tuple[tuple[float, float], ...]
    grow: float
    layer: str
    net: str
    teardrop: bool


class PlainPart(NamedTuple):
    """A part with its pads and its corners of the room it takes (courtyard), in its frame."""

    ref: str
    x: float
    y: float
    angle: float
    layer: str
    room: tuple[tuple[float, float], ...]


class PlainBoard(NamedTuple):
    """A whole board."""

    version: int
    copper: tuple[str, ...]
    nets: tuple[str, ...]
    parts: tuple[PlainPart, ...]
    pads: tuple[PlainPad, ...]
    tracks: tuple[PlainTrack, ...]
    vias: tuple[PlainVia, ...]
    fills: tuple[PlainFill, ...]


def tree_of(path: Path) -> Tree:
    """The file as nested lists."""
    loaded = sexpdata.loads(path.read_text(encoding="utf-8"), nil=None, true=None)
    assert isinstance(loaded, list)
    return loaded


def children(tree: Tree, word: str) -> Iterator[Tree]:
    """Child lists that begin with a word."""
    return (x for x in tree if isinstance(x, list) and x and str(x[0]) == word)


def child(tree: Tree, word: str) -> Tree:
    """The first such child, or an empty list."""
    return next(children(tree, word), [])


def _text(tree: Tree, word: str, index: int = 1) -> str:
    found = child(tree, word)
    return str(found[index]) if len(found) > index else ""


def _point(tree: Tree) -> tuple[float, float]:
    return float(tree[1]), float(tree[2])


class _Reader:
    """Net names by number where the file numbers its nets."""

    def __init__(self, tree: Tree) -> None:
        self.tree = tree
        self.names = {int(n[1]): str(n[2]) for n in children(tree, "net")}

    def net(self, tree: Tree) -> str:
        """The net of a pad, track, via or area; private nets are kept by name."""
        found = child(tree, "net")
        if not found:
            return ""
        numbered = isinstance(found[1], int) and bool(self.names)
        return self.names[found[1]] if numbered else str(found[1])


def read_plain(path: Path) -> PlainBoard:
    """Read a board file."""
    reader = _Reader(tree_of(path))
    tree = reader.tree
    parts = [*children(tree, "module"), *children(tree, "footprint")]
    layers = child(tree, "layers")[1:]
    copper = tuple(str(x[1]) for x in layers if str(x[2]) in ("signal", "power", "mixed"))
    pads = tuple(pad for part in parts for pad in _pads(reader, part))
    found = {reader.net(x) for part in parts for x in children(part, "pad")} - {""}
    return PlainBoard(
        int(child(tree, "version")[1]),
        copper,
        tuple(reader.names.values()) or tuple(sorted(found)),
        tuple(_part(part) for part in parts),
        pads,
        tuple(_tracks(reader)),
        tuple(_via(reader, via) for via in children(tree, "via")),
        tuple(_fills(reader)),
    )


def _reference(part: Tree) -> str:
    for word in ("property", "fp_text"):
        for text in children(part, word):
            if str(text[1]).lower() == "reference":
                return str(text[2])
    return ""


def _place(part: Tree) -> tuple[float, float, float]:
    at = child(part, "at")
    return float(at[1]), float(at[2]), float(at[3]) if len(at) > 3 else 0.0


def _turn(angle: float, x: float, y: float) -> tuple[float, float]:
    cos, sin = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return x * cos + y * sin, y * cos - x * sin


def _part(part: Tree) -> PlainPart:
    corners = []
    for word in ("fp_line", "fp_rect"):
        for line in children(part, word):
            if _text(line, "layer").endswith("CrtYd"):
                corners += [_point(child(line, "start")), _point(child(line, "end"))]
    xs, ys = [x for x, _ in corners] or [0.0], [y for _, y in corners] or [0.0]
    box = ((min(xs), min(ys)), (max(xs), min(ys)), (max(xs), max(ys)), (min(xs), max(ys)))
    return PlainPart(_reference(part), *_place(part), _text(part, "layer"), box)


def _pads(reader: _Reader, part: Tree) -> Iterator[PlainPad]:
    fx, fy, angle = _place(part)
    for pad in children(part, "pad"):
        at = child(pad, "at")
        dx, dy = _turn(angle, float(at[1]), float(at[2]))
        own = float(at[3]) if len(at) > 3 else 0.0
        yield PlainPad(
            _reference(part), str(pad[1]), str(pad[2]), str(pad[3]), fx + dx, fy + dy, own,
            _point(child(pad, "size")), tuple(map(str, child(pad, "layers")[1:])),
            reader.net(pad), _text(pad, "pinfunction"), _text(pad, "pintype"),
        )  # fmt: skip


def _tracks(reader: _Reader) -> Iterator[PlainTrack]:
    for word, stops in (("segment", ("start", "end")), ("arc", ("start", "mid", "end"))):
        for track in children(reader.tree, word):
            points = tuple(_point(child(track, stop)) for stop in stops)
            if word == "arc":
                points = _bend(*points)
            width = float(child(track, "width")[1])
            yield PlainTrack(points, width, _text(track, "layer"), reader.net(track))


def _bend(
    a: tuple[float, float], m: tuple[float, float], b: tuple[float, float]
) -> tuple[tuple[float, float], ...]:
    """An arc through three points as sixteen chords."""
    (ax, ay), (mx, my), (bx, by) = a, m, b
    twice = 2 * (ax * (my - by) + mx * (by - ay) + bx * (ay - my))
    sa, sm, sb = ax * ax + ay * ay, mx * mx + my * my, bx * bx + by * by
    cx = (sa * (my - by) + sm * (by - ay) + sb * (ay - my)) / twice
    cy = (sa * (bx - mx) + sm * (ax - bx) + sb * (mx - ax)) / twice
    start, middle, end = (math.atan2(y - cy, x - cx) for x, y in (a, m, b))
    sweep = (end - start) % math.tau
    if (middle - start) % math.tau > sweep:
        sweep -= math.tau
    radius = math.hypot(ax - cx, ay - cy)
    turns = [start + sweep * i / 16 for i in range(17)]
    return tuple((cx + radius * math.cos(t), cy + radius * math.sin(t)) for t in turns)


def _via(reader: _Reader, via: Tree) -> PlainVia:
    return PlainVia(*_point(child(via, "at")), float(child(via, "size")[1]), reader.net(via))


def _fills(reader: _Reader) -> Iterator[PlainFill]:
    """Fills; the pen counts where the zone does not say that there was none, up to 2025."""
    version = int(child(reader.tree, "version")[1])
    for zone in children(reader.tree, "zone"):
        thin = bool(child(zone, "filled_areas_thickness")) or version >= 20250000
        grow = 0.0 if thin else float(child(zone, "min_thickness")[1]) / 2
        teardrop = bool(child(child(zone, "attr"), "teardrop"))
        for fill in children(zone, "filled_polygon"):
            points = tuple(_point(p) for p in children(child(fill, "pts"), "xy"))
            layer = _text(fill, "layer") or _text(zone, "layer")
            yield PlainFill(points, grow, layer, reader.net(zone), teardrop)


def read_plain_netlist(path: Path) -> dict[tuple[str, str], str]:
    """(reference, pin) -> net name of a netlist file."""
    nets = child(tree_of(path), "nets")
    return {
        (_text(node, "ref"), _text(node, "pin")): _text(net, "name")
        for net in children(nets, "net")
        for node in children(net, "node")
    }
