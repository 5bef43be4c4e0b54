"""A design as a board file of one version."""

from __future__ import annotations

import math
from collections import Counter
from itertools import pairwise

from corpus_maker.design import Arc, Design, NetClass, Points, Track, Via, Zone, mm
from corpus_maker.fills import STROKE
from corpus_maker.naming import Naming, num
from corpus_maker.part_writer import part_tree
from corpus_maker.sexpr import Name, Tree, text
from corpus_maker.versions import MAKER, ROOT, Version

TECHNICAL = (
    ("B.Paste", 34, 15), ("F.Paste", 35, 13), ("B.SilkS", 36, 7), ("F.SilkS", 37, 5),
    ("B.Mask", 38, 3), ("F.Mask", 39, 1), ("Dwgs.User", 40, 17), ("Cmts.User", 41, 19),
    ("Edge.Cuts", 44, 25), ("B.CrtYd", 46, 29), ("F.CrtYd", 47, 31), ("B.Fab", 48, 33),
    ("F.Fab", 49, 35),
)  # fmt: skip
"""Layers other than copper: name, number up to 2024, number since."""


def board_text(design: Design, version: Version) -> str:
    """The whole file."""
    return text(board_tree(design, version), version.layout)


def board_tree(design: Design, version: Version) -> Tree:
    """The whole file as a tree."""
    naming = Naming(design, version)
    tree: Tree = [ROOT, ["version", str(version.number)], *_maker(version)]
    tree += _general(naming)
    tree += [["paper" if not version.old else "page", Name("A4")], _layers(naming), _setup(naming)]
    if version.table:
        tree += [["net", str(n), Name(name)] for name, n in naming.numbers.items()]
    if version.classes:
        tree += [_net_class(naming, one) for one in design.classes]
    seen: Counter[str] = Counter()
    for part in design.parts:
        tree.append(part_tree(naming, part, seen[part.ref]))
        seen[part.ref] += 1
    tree += _drawing(naming)
    tree += _copper(naming)
    tree += [_zone(naming, zone) for zone in design.zones if _wanted(naming, zone)]
    if version.properties:
        tree.append(["embedded_fonts", "no"])
    return tree


def _maker(version: Version) -> list[Tree]:
    if version.old:
        return [["host", MAKER, "1"]]
    if version.properties:
        return [["generator", Name(MAKER)], ["generator_version", Name("1")]]
    return [["generator", MAKER]]


def _general(naming: Naming) -> list[Tree]:
    design, thickness = naming.design, ["thickness", num(mm(1.6))]
    if not naming.version.old:
        return [["general", thickness]]
    return [
        [
            "general",
            thickness,
            ["drawings", "5"],
            ["tracks", str(len(design.tracks) + len(design.vias) + 4 * len(design.arcs))],
            ["zones", "0"],
            ["modules", str(len(design.parts))],
            ["nets", str(len(naming.numbers))],
        ]
    ]


def _layers(naming: Naming) -> Tree:
    version, count = naming.version, naming.design.layers
    tree: Tree = ["layers"]
    for index in range(count):
        kind = "signal" if index in (0, count - 1) else "power"
        number = version.copper_number(index, count)
        tree.append([str(number), naming.layer(index), kind])
    for name, before, since in TECHNICAL:
        tree.append([str(since if version.step == 2 else before), Name(name), "user"])
    return tree


def _setup(naming: Naming) -> Tree:
    """Design settings: a stack-up where the version has one, sizes where it has not."""
    if naming.version.old:
        sizes = (
            ("last_trace_width", 0.2), ("trace_clearance", 0.15), ("zone_clearance", 0.2),
            ("trace_min", 0.15), ("via_size", 0.6), ("via_drill", 0.3), ("via_min_size", 0.5),
        )  # fmt: skip
        return ["setup", *([word, num(mm(size))] for word, size in sizes)]
    return ["setup", _stackup(naming), ["pad_to_mask_clearance", num(mm(0.05))]]


def _stackup(naming: Naming) -> Tree:
    count = naming.design.layers
    gaps = {2: (1.51,), 4: (0.2, 1.06, 0.2)}[count]
    tree: Tree = ["stackup"]
    for index in range(count):
        copper = ["thickness", num(mm(0.035))]
        tree.append(["layer", naming.layer(index), ["type", Name("copper")], copper])
        if index < count - 1:
            kind = "core" if gaps[index] > 0.5 else "prepreg"
            tree.append([
                "layer", Name(f"dielectric {index + 1}"), ["type", Name(kind)],
                ["thickness", num(mm(gaps[index]))], ["material", Name("FR4")],
                ["epsilon_r", "4.3"], ["loss_tangent", "0.02"],
            ])  # fmt: skip
    return [*tree, ["copper_finish", Name("ENIG")], ["dielectric_constraints", "no"]]


def _net_class(naming: Naming, one: NetClass) -> Tree:
    sizes = (
        ("clearance", one.clearance), ("trace_width", one.width), ("via_dia", one.via),
        ("via_drill", one.drill), ("uvia_dia", mm(0.3)), ("uvia_drill", mm(0.1)),
    )  # fmt: skip
    members = sorted(naming.net_name(net) for net in one.nets)
    return [
        "net_class", Name(one.name), Name(""),
        *([word, num(size)] for word, size in sizes),
        *(["add_net", Name(net)] for net in members),
    ]  # fmt: skip


def _drawing(naming: Naming) -> list[Tree]:
    """The board's edge and a line of text."""
    width, height = naming.design.size
    corners = ((0, 0), (width, 0), (width, height), (0, height), (0, 0))
    edge: Tree = ["layer", Name("Edge.Cuts")]
    trees: list[Tree] = []
    for i, (a, b) in enumerate(pairwise(corners)):
        line: Tree = ["gr_line", naming.xy("start", *a), naming.xy("end", *b)]
        trees.append([*line, *_stroke(naming, edge, mm(0.1)), *naming.ident("edge", i)])
    font: Tree = ["font", ["size", "1.2", "1.2"], ["thickness", "0.2"]]
    at = naming.xy("at", width // 2, height - mm(1.2))
    layer: Tree = ["layer", Name("F.SilkS")]
    label = 'hull 8"' if not naming.version.old else '8"-hull'
    ids = naming.ident("label")
    trees.append(["gr_text", Name(label), at, layer, *ids, ["effects", font]])
    return trees


def _stroke(naming: Naming, layer: Tree, width: int) -> list[Tree]:
    if naming.version.properties:
        return [["stroke", ["width", num(width)], ["type", "solid"]], layer]
    return [layer, ["width", num(width)]]


def _copper(naming: Naming) -> list[Tree]:
    design = naming.design
    trees = [_segment(naming, track, i) for i, track in enumerate(design.tracks)]
    for i, arc in enumerate(design.arcs):
        if naming.version.arcs:
            trees.append(_arc(naming, arc, i))
        else:
            trees += [_segment(naming, t, f"arc {i} {j}") for j, t in enumerate(_chords(arc))]
    return trees + [_via(naming, via, i) for i, via in enumerate(design.vias)]


def _segment(naming: Naming, track: Track, key: object) -> Tree:
    ends = [naming.xy("start", track.x1, track.y1), naming.xy("end", track.x2, track.y2)]
    rest = [["width", num(track.width)], ["layer", naming.layer(track.layer)]]
    return ["segment", *ends, *rest, *naming.net(track.net), *naming.ident("track", key)]


def _arc(naming: Naming, arc: Arc, key: object) -> Tree:
    points = (("start", arc.start), ("mid", arc.mid), ("end", arc.end))
    rest = [["width", num(arc.width)], ["layer", naming.layer(arc.layer)]]
    places = [naming.xy(word, *at) for word, at in points]
    return ["arc", *places, *rest, *naming.net(arc.net), *naming.ident("arc", key)]


def _chords(arc: Arc, pieces: int = 4) -> list[Track]:
    """A quarter turn as short straight tracks (for versions without curves)."""
    centre = (arc.start[0], arc.end[1])
    radius = abs(arc.start[1] - arc.end[1])
    sign = 1 if arc.end[0] > arc.start[0] else -1
    points = [arc.start]
    for i in range(1, pieces):
        turn = math.pi / 2 * i / pieces
        x = centre[0] + round(sign * radius * math.sin(turn))
        points.append((x, centre[1] - round(radius * math.cos(turn))))
    points.append(arc.end)
    return [Track(arc.net, arc.layer, *a, *b, arc.width) for a, b in pairwise(points)]


def _via(naming: Naming, via: Via, key: object) -> Tree:
    layers: Tree = ["layers", naming.layer(0), naming.layer(-1)]
    sizes: list[Tree] = [["size", num(via.size)], ["drill", num(via.drill)]]
    at = naming.xy("at", via.x, via.y)
    return ["via", at, *sizes, layers, *naming.net(via.net), *naming.ident("via", key)]


def _wanted(naming: Naming, zone: Zone) -> bool:
    """Teardrops are areas of their own only since 2022."""
    return zone.kind != "teardrop" or naming.version.properties


def _zone(naming: Naming, zone: Zone) -> Tree:
    version = naming.version
    tree: Tree = ["zone"]
    if version.table:
        name = naming.net_name(zone.net)
        tree += [["net", str(naming.numbers[name])], ["net_name", Name(name)]]
    else:
        tree += naming.net(zone.net) if zone.net else []
    tree += [["layer", naming.layer(zone.layer)], *naming.ident("zone", zone.name)]
    if not version.old and zone.kind != "teardrop":
        tree.append(["name", Name(zone.name)])
    tree.append(["hatch", "edge" if zone.kind != "teardrop" else "none", num(mm(0.5))])
    tree += _zone_habits(naming, zone)
    tree.append(["polygon", _points(naming, zone.outline)])
    for fill in zone.fills:
        where: list[Tree] = [] if version.old else [["layer", naming.layer(zone.layer)]]
        tree.append(["filled_polygon", *where, _points(naming, fill)])
    return tree


def _zone_habits(naming: Naming, zone: Zone) -> list[Tree]:
    """Clearances, and what the area is for."""
    gap: Tree = ["clearance", num(mm(0.2))]
    trees: list[Tree] = []
    if zone.kind == "teardrop":
        trees += [["priority", "30000"], ["attr", ["teardrop", ["type", "padvia"]]]]
        gap = ["clearance", "0"]
    trees += [["connect_pads", "yes", gap]]
    thin = zone.kind == "teardrop"
    trees.append(["min_thickness", num(mm(0.0254) if thin else STROKE)])
    if naming.version.says_thin:
        trees.append(["filled_areas_thickness", "no"])
    if zone.kind == "keepout":
        trees.append(_keepout(naming))
    fill: Tree = ["fill", ["thermal_gap", "0.3"], ["thermal_bridge_width", "0.3"]]
    if zone.kind != "keepout":
        fill.insert(1, "yes")
    return [*trees, fill]


def _keepout(naming: Naming) -> Tree:
    words = ["tracks", "vias", "copperpour"]
    if not naming.version.old:
        words = ["tracks", "vias", "pads", "copperpour", "footprints"]
    return [
        "keepout",
        *([w, "allowed" if w in ("pads", "footprints") else "not_allowed"] for w in words),
    ]


def _points(naming: Naming, points: Points) -> Tree:
    return ["pts", *(naming.xy("xy", *point) for point in points)]
