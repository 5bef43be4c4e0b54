"""Checks a channel plan from its JSON and the board file alone, with shapely; no code of renet's.

Returns complaints in words; an empty list is a plan without conflicts.  Millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any, NamedTuple

from cases.plain import PlainPad, read_plain
from shapely import LineString, Point, STRtree, box
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

EPS = 2e-6
CUSTOM_REACH = 1.5
Record = dict[str, Any]


class Thing(NamedTuple):
    """A piece of copper: its core, half its thickness, layers (None: all), net, what it is."""

    core: BaseGeometry
    half: float
    layers: frozenset[str] | None
    net: str
    what: str
    planned: bool


def pad_shape(pad: PlainPad) -> BaseGeometry:
    """No more than the pad's copper: corners that may be round are taken as round."""
    wide, high = pad.size
    if pad.shape in ("circle", "custom", "trapezoid"):
        return Point(pad.x, pad.y).buffer(min(wide, high) / 2)
    found = box(pad.x - wide / 2, pad.y - high / 2, pad.x + wide / 2, pad.y + high / 2)
    if pad.shape in ("oval", "roundrect"):
        round_ = min(wide, high) / 2
        inner = box(
            pad.x - wide / 2 + round_, pad.y - high / 2 + round_,
            pad.x + wide / 2 - round_, pad.y + high / 2 - round_,
        )  # fmt: skip
        found = inner.buffer(round_ * (1 - 1e-9))
    return rotate(found, -pad.angle, origin=(pad.x, pad.y))


def most_of_pad(pad: PlainPad) -> BaseGeometry:
    """No less than the pad's copper: square corners, and room for what a custom pad may add."""
    wide, high = pad.size
    found = box(pad.x - wide / 2, pad.y - high / 2, pad.x + wide / 2, pad.y + high / 2)
    grow = CUSTOM_REACH if pad.shape in ("custom", "trapezoid") else EPS
    return rotate(found, -pad.angle, origin=(pad.x, pad.y)).buffer(grow)


def pad_layers(pad: PlainPad, copper: list[str]) -> frozenset[str]:
    """The copper layers of a pad, wildcards resolved."""
    if pad.kind in ("thru_hole", "np_thru_hole"):
        return frozenset(copper)
    found = set(pad.layers) & set(copper)
    if "*.Cu" in pad.layers:
        found = set(copper)
    if "F&B.Cu" in pad.layers:
        found |= {copper[0], copper[-1]}
    return frozenset(found)


def complaints(path: Path, record: Record, ripped: Iterable[str]) -> list[str]:
    """Everything that is wrong with the plan; copper of ``ripped`` nets is not there."""
    board = read_plain(path)
    copper, gone = list(board.copper), set(ripped)
    standing = [
        Thing(pad_shape(p), 0.0, pad_layers(p, copper), p.net, f"pad {p.ref}:{p.number}", False)
        for p in board.pads
        if p.kind != "np_thru_hole" and pad_layers(p, copper)
    ]
    standing += [
        Thing(LineString(t.points), t.width / 2, frozenset({t.layer}), t.net, "track", False)
        for t in board.tracks
        if t.net not in gone
    ]
    standing += [
        Thing(Point(v.x, v.y), v.size / 2, None, v.net, "via", False)
        for v in board.vias
        if v.net not in gone
    ]
    planned = planned_things(record)
    found = too_close([*planned, *standing], record["clearance_mm"])
    for route in record["routes"]:
        own = [thing for thing in standing if thing.net == route["net"]]
        own += [
            Thing(
                most_of_pad(p), 0.0, pad_layers(p, copper), p.net, f"pad {p.ref}:{p.number}", False
            )
            for p in board.pads
            if p.net == route["net"] and pad_layers(p, copper)
        ]
        found += broken(route, own, copper)
    return found


def by_hand(path: Path, record: Record) -> list[bool]:
    """Per connection whether the file's own tracks and vias join it on the planned layers."""
    board = read_plain(path)
    copper = list(board.copper)
    things: dict[str, list[Thing]] = {}
    for p in board.pads:
        if layers := pad_layers(p, copper):
            name = f"pad {p.ref}:{p.number}"
            things.setdefault(p.net, []).append(
                Thing(most_of_pad(p), 0.0, layers, p.net, name, False)
            )
    for t in board.tracks:
        if t.layer in record["directions"]:
            track = Thing(LineString(t.points), t.width / 2, frozenset({t.layer}), t.net, "", False)
            things.setdefault(t.net, []).append(track)
    for v in board.vias:
        via = Thing(Point(v.x, v.y), v.size / 2, None, v.net, "", False)
        things.setdefault(v.net, []).append(via)
    return [
        not broken(
            {**route, "state": "routed", "pieces": [], "vias": []}, things[route["net"]], copper
        )
        for route in record["routes"]
    ]


def planned_things(record: Record) -> list[Thing]:
    """Every piece and via of the plan."""
    found = []
    for route in record["routes"]:
        for p in route["pieces"]:
            line = LineString([(p["x1_mm"], p["y1_mm"]), (p["x2_mm"], p["y2_mm"])])
            half, layers = record["track_mm"] / 2, frozenset({p["layer"]})
            found.append(Thing(line, half, layers, route["net"], "piece", True))
        for v in route["vias"]:
            at = Point(v["x_mm"], v["y_mm"])
            found.append(Thing(at, record["via_mm"] / 2, None, route["net"], "planned via", True))
    return found


def too_close(things: list[Thing], clearance: float) -> list[str]:
    """Pairs of different nets, one of them planned, with less than the clearance between them."""
    tree = STRtree([thing.core for thing in things])
    widest = max((thing.half for thing in things), default=0.0)
    found = []
    for one in things:
        if not one.planned:
            continue
        reach = one.half + widest + clearance
        for index in tree.query(one.core, predicate="dwithin", distance=reach).tolist():
            other = things[index]
            if other.net == one.net and other.net:
                continue
            if one.layers and other.layers and not one.layers & other.layers:
                continue
            gap = one.core.distance(other.core) - one.half - other.half
            if gap < clearance - EPS:
                found.append(
                    f"{one.what} of {one.net} and {other.what} of {other.net}: {gap:.6f} mm "
                    f"at {one.core.centroid.x:.3f} {one.core.centroid.y:.3f}"
                )
    return found


def broken(route: Record, own: Sequence[Thing], copper: list[str]) -> list[str]:
    """Whether a routed connection, with standing copper of its net, joins its two pads."""
    if route["state"] != "routed":
        return [f"{route['net']} is blocked but drawn"] if route["pieces"] or route["vias"] else []
    every = frozenset(copper)
    nodes = [(thing.core.buffer(thing.half + EPS), thing.layers or every) for thing in own]
    for p in route["pieces"]:
        line = LineString([(p["x1_mm"], p["y1_mm"]), (p["x2_mm"], p["y2_mm"])])
        nodes.append((line, frozenset({p["layer"]})))
    nodes += [(Point(v["x_mm"], v["y_mm"]), every) for v in route["vias"]]
    names = [f"pad {end['part']}:{end['pin']}" for end in (route["a"], route["b"])]
    ends = [{i for i, thing in enumerate(own) if thing.what == name} for name in names]
    reached, todo = set(ends[0]), list(ends[0])
    while todo:
        at, layers = nodes[todo.pop()]
        for index, (other, on) in enumerate(nodes):
            if index not in reached and layers & on and at.distance(other) <= EPS:
                reached.add(index)
                todo.append(index)
    return [] if reached & ends[1] else [f"{route['net']} is not connected"]


def steps_against(record: Record) -> float:
    """Share of the planned length that runs against the direction of its layer."""
    good = bad = 0.0
    for route in record["routes"]:
        for p in route["pieces"]:
            dx, dy = abs(p["x2_mm"] - p["x1_mm"]), abs(p["y2_mm"] - p["y1_mm"])
            way = record["directions"][p["layer"]]
            straight = dy == 0 if way == "h" else dx == 0
            good, bad = (good + dx + dy, bad) if straight else (good, bad + math.hypot(dx, dy))
    return bad / (good + bad) if good + bad else 0.0


def pads_apart(route: Record) -> float:
    """The distance of the pads of a route, over and up, in mm."""
    a, b = route["a"], route["b"]
    return float(abs(a["x_mm"] - b["x_mm"]) + abs(a["y_mm"] - b["y_mm"]))
