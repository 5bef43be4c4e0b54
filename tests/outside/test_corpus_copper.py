"""The corpus's copper, checked with shapely: no shorts, nothing loose, nothing on top of another.

Source of geometry: the general-purpose library shapely; of the distance kept, the
router's own rule (0.15 mm), common practice for such boards, no source.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest
import shapely
from cases.plain import PlainBoard, PlainPad, PlainPart, read_plain
from conftest import CORPUS
from shapely import affinity
from shapely.geometry import LineString, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

BOARDS = sorted(CORPUS.glob("*/*.kicad_pcb"))
CLEARANCE = 0.15 - 1e-3
LATE = ("/SONDE_", "/D", "/VBATT")
"""Nets of the late connector, not routed (the battery's only towards it)."""

OPEN_SUPPLY = {("probe", "GND"), ("buoy_two_layers", "GND"), ("buoy_two_layers", "+3V3")}
"""On two layers tracks cut the poured ground, and the supply has not reached J7 yet."""


class Item(NamedTuple):
    layer: str
    net: str
    shape: BaseGeometry
    what: str


def pad_shape(pad: PlainPad) -> BaseGeometry:
    w, h = pad.size
    if pad.shape in ("circle", "oval"):
        short = min(w, h) / 2
        core = LineString([(short - w / 2, short - h / 2), (w / 2 - short, h / 2 - short)])
        shape: BaseGeometry = core.buffer(short)
    else:
        shape = box(-w / 2, -h / 2, w / 2, h / 2)
    turned = affinity.rotate(shape, -pad.angle, origin=(0, 0))
    return affinity.translate(turned, pad.x, pad.y)


def fill_shape(points: Iterable[tuple[float, float]], grow: float) -> BaseGeometry:
    """Even-odd area of a polygon that may touch itself."""
    return shapely.make_valid(Polygon(list(points))).buffer(grow)


@cache
def items(path: Path) -> tuple[Item, ...]:
    board = read_plain(path)
    found: list[Item] = []
    for pad in board.pads:
        layers = [x for x in pad.layers if x in board.copper]
        layers = layers or (list(board.copper) if "*.Cu" in pad.layers else [])
        shape, label = pad_shape(pad), f"pad {pad.ref}.{pad.number} {pad.x} {pad.y}"
        found += [Item(layer, pad.net or label, shape, label) for layer in layers]
    for track in board.tracks:
        shape = LineString(track.points).buffer(track.width / 2)
        found.append(Item(track.layer, track.net or "loose", shape, f"track {track.points}"))
    for via in board.vias:
        disc = Point(via.x, via.y).buffer(via.size / 2)
        label = f"via {via.x} {via.y}"
        found += [Item(layer, via.net or "loose", disc, label) for layer in board.copper]
    for fill in board.fills:
        shape = fill_shape(fill.points, fill.grow)
        found.append(Item(fill.layer, fill.net, shape, f"fill {fill.net}"))
    return tuple(found)


def same_net(a: Item, b: Item) -> bool:
    """Old files give the fan-out of an open pin no net, like the pin itself."""
    return a.net == b.net or ("loose" in (a.net, b.net) and "pad U1" in a.net + b.net)


@pytest.mark.parametrize("path", BOARDS, ids=lambda p: p.stem)
def test_copper_of_different_nets_keeps_its_distance(path: Path) -> None:
    found = items(path)
    for layer in sorted({item.layer for item in found}):
        here = [item for item in found if item.layer == layer]
        tree = shapely.STRtree([item.shape for item in here])
        near = tree.query([item.shape for item in here], predicate="dwithin", distance=CLEARANCE)
        close = [(here[a], here[b]) for a, b in near.T if a < b]
        faults = [(a.what, b.what) for a, b in close if not same_net(a, b)]
        assert faults == [], layer


def joined(found: list[Item]) -> list[set[str]]:
    """Labels of items that hang together; a pad or via joins its layers."""
    parent = {item.what: item.what for item in found}

    def root(label: str) -> str:
        while parent[label] != label:
            label = parent[label]
        return label

    for i, a in enumerate(found):
        for b in found[:i]:
            if a.layer == b.layer and a.shape.intersects(b.shape):
                parent[root(a.what)] = root(b.what)
    groups: dict[str, set[str]] = {}
    for label in parent:
        groups.setdefault(root(label), set()).add(label)
    return list(groups.values())


@pytest.mark.parametrize("path", BOARDS, ids=lambda p: p.stem)
def test_routed_nets_hang_together_and_late_ones_do_not(path: Path) -> None:
    board = read_plain(path)
    nets = {pad.net for pad in board.pads if pad.net and "unconnected-" not in pad.net}
    apart = {
        net: groups
        for net in sorted(nets)
        if len(groups := [g for g in joined([x for x in items(path) if x.net == net])
                          if any(label.startswith("pad") for label in g)]) > 1
    }  # fmt: skip
    late = {net for net in nets if net.startswith(LATE)}
    open_ground = {net for net in nets if (path.stem, net) in OPEN_SUPPLY}
    if path.stem == "probe":
        late = {net for net in nets if net.startswith(("/SONDE", "/ELECTRODE_C"))}
    assert set(apart) - open_ground == late


@pytest.mark.parametrize("path", BOARDS, ids=lambda p: p.stem)
def test_track_ends_are_on_copper(path: Path) -> None:
    """An end is on a pad, a via, or another track of its net and layer."""
    board = read_plain(path)
    for track in board.tracks:
        others = [
            item.shape
            for item in items(path)
            if item.layer == track.layer and item.what != f"track {track.points}"
            and (item.net == track.net or not track.net) and not item.what.startswith("fill")
        ]  # fmt: skip
        for end in (track.points[0], track.points[-1]):
            assert any(shape.distance(Point(end)) < 1e-6 for shape in others), (track, end)


def room(part: PlainPart) -> BaseGeometry:
    turned = affinity.rotate(Polygon(part.room), -part.angle, origin=(0, 0))
    return affinity.translate(turned, part.x, part.y)


@pytest.mark.parametrize("path", BOARDS, ids=lambda p: p.stem)
def test_parts_do_not_overlap(path: Path) -> None:
    board: PlainBoard = read_plain(path)
    for i, one in enumerate(board.parts):
        for two in board.parts[:i]:
            if one.layer == two.layer:
                assert room(one).intersection(room(two)).area < 1e-6, (one.ref, two.ref)
