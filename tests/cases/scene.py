"""A corner of the buoy's main board as hand-written files, and an exchange of its nets.

Written by string formatting alone, in three shapes: ``old`` (bare names, net
table, open pads without a net), ``middle`` (quoted, net table, private names and
marks) and ``new`` (no table, tabs).  Shares no code with renet.

U3 is the controller, J7 the sonde's late connector, RN1 a resistor array, R5 a
pull-down; which copper is whose fan-out is known because it was drawn that way.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

SHAPES = ("old", "middle", "new")
EMPTY = '""'
POINTS = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Pad:
    """A pad at (x, y) on the board; ``net`` "" is none, private names included."""

    ref: str
    number: str
    x: float
    y: float
    net: str
    name: str = ""
    type: str = "bidirectional"
    marked: bool = False

    @property
    def label(self) -> str:
        return f"{self.ref}:{self.number}"


@dataclass(frozen=True)
class Copper:
    """A track, arc, via, pour, teardrop or keep-out; ``owner`` is the pin whose fan-out it is."""

    kind: str
    points: POINTS
    net: str
    owner: str = ""
    layer: str = "F.Cu"
    locked: bool = False
    filled: bool = True
    name: str | None = None


@dataclass(frozen=True)
class Scene:
    """Everything in the file; ``rows`` is the net table in order."""

    shape: str
    rows: tuple[str, ...]
    pads: tuple[Pad, ...]
    copper: tuple[Copper, ...]

    def text(self) -> bytes:
        """The file."""
        return ("\n".join(_lines(self)) + "\n").encode()

    def pad(self, label: str) -> Pad:
        """The first pad of a pin."""
        return next(pad for pad in self.pads if pad.label == label)

    def net(self, label: str) -> str | None:
        """The net of a pin, None for none."""
        name = self.pad(label).net
        return None if not name or name.startswith("unconnected-(") else name

    def with_pad(self, label: str, **changes: object) -> Scene:
        """The scene with all pads of a pin changed."""
        pads = [replace(p, **changes) if p.label == label else p for p in self.pads]  # type: ignore[arg-type]
        return replace(self, pads=tuple(pads))

    def with_copper(self, index: int, **changes: object) -> Scene:
        """The scene with one piece of copper changed."""
        copper = list(self.copper)
        copper[index] = replace(copper[index], **changes)  # type: ignore[arg-type]
        return replace(self, copper=tuple(copper))

    def without_copper(self, *indices: int) -> Scene:
        """The scene without some pieces of copper."""
        left = [c for i, c in enumerate(self.copper) if i not in indices]
        return replace(self, copper=tuple(left))


def private(pad: Pad, shape: str) -> str:
    """The private name of an open pin; "" where the shape has none."""
    if shape == "old":
        return ""
    name = f"-{pad.name}" if pad.name else ""
    return f"unconnected-({pad.ref}{name}-Pad{pad.number})"


def _pads(shape: str) -> list[Pad]:
    """U3 left (41-48, 44 twice), J7 right, RN1 and J8 below, R5 far right."""
    signals = {
        "41": "/SONDE_TX",
        "42": "/SONDE_RX",
        "43": "/LED_A",
        "44": "/LED_B",
        "45": "",
        "46": "",
        "47": "/CARD_D0",
        "48": "GND",
    }
    pads = []
    for k, (number, net) in enumerate(signals.items()):
        pad = Pad("U3", number, 100, 100 + k, net, f"IO_B{k}")
        if number == "48":
            pad = replace(pad, name="VSS", type="power_in")
        pads.append(pad)
        if number == "44":
            pads.append(replace(pad, x=98))
    nets = ("/SONDE_TX", "/SONDE_RX", "/LED_A", "/LED_B", "GND")
    for k, net in enumerate(nets):
        pads.append(Pad("J7", str(k + 1), 110, 100 + k, net, f"Pin_{k + 1}", "passive"))
    for k, net in enumerate(("/A1", "/A2", "/B1", "/B2")):
        pads.append(Pad("RN1", "1278"[k], 100 + k % 2 * 2, 120 + k // 2 * 2, net, "", "passive"))
        pads.append(Pad("J8", str(k + 1), 110, 120 + k, net, f"Pin_{k + 1}", "passive"))
    pads += [Pad("R5", "1", 130, 106, "/CARD_D0", "", "passive")]
    pads += [Pad("R5", "2", 130, 109, "GND", "", "passive")]
    if shape == "old":
        pads = [replace(pad, name="", type="") for pad in pads]
    open_ = [replace(p, net=private(p, shape), marked=shape != "old") for p in pads if not p.net]
    found = iter(open_)
    return sorted((p if p.net else next(found) for p in pads), key=lambda p: p.ref)


FAN_41, VIA_41, FAN_43, ROUTED, FREE, POUR, KEEP_OUT, DROP_43, ARC_46, LED_B = range(10)


def _copper() -> list[Copper]:
    """By the names above; the pour fills only round R5:2, ``FREE`` is a lone bit of /SONDE_TX."""
    square = ((128.0, 108.5), (132.0, 108.5), (132.0, 111.0), (128.0, 111.0))
    drop = ((100.4, 101.9), (100.9, 102.0), (100.4, 102.1))
    return [
        Copper("segment", ((100, 100), (103, 100)), "/SONDE_TX", "U3:41"),
        Copper("via", ((103, 100),), "/SONDE_TX", "U3:41"),
        Copper("segment", ((100, 102), (102, 102)), "/LED_A", "U3:43"),
        Copper("segment", ((100, 106), (130, 106)), "/CARD_D0"),
        Copper("segment", ((105, 130), (106, 130)), "/SONDE_TX"),
        Copper("zone", square, "GND"),
        Copper("keepout", ((90, 90), (92, 90), (92, 92)), "", filled=False),
        Copper("teardrop", drop, "/LED_A", "U3:43"),
        Copper("arc", ((100, 105), (99.2929, 105.2929), (99, 106)), "", "U3:45", layer="F.Cu"),
        Copper("segment", ((110, 103), (112, 103)), "/LED_B", "J7:4"),
    ]


def scene(shape: str) -> Scene:
    """The corner before anything moved."""
    pads = _pads(shape)
    copper = [c for c in _copper() if shape != "old" or c.kind not in ("teardrop", "arc")]
    if shape != "old":
        spare = next(p.net for p in pads if p.label == "U3:46")
        copper = [replace(c, net=spare, owner="U3:46") if c.kind == "arc" else c for c in copper]
    rows: dict[str, None] = {"": None}
    rows.update(dict.fromkeys(p.net for p in pads if p.net))
    return Scene(shape, tuple(rows), tuple(pads), tuple(copper))


def exchange(before: Scene, moves: Mapping[str, str | None], *, rip: bool = False) -> Scene:
    """The scene with these pins on these nets (None: open), in the one right way.

    Fan-outs go along; a private name that is not needed any more gives its row in
    the table to one that is new.  With ``rip`` the other copper of the nets leaves.
    """
    changed = {n for pin, n in moves.items() if n} | {before.net(pin) for pin in moves} - {None}
    new: dict[str, str] = {}
    marks: dict[str, bool] = {}
    for pin, net in moves.items():
        pad = before.pad(pin)
        new[pin] = private(pad, before.shape) if net is None else net
        if (before.net(pin) is None) != (net is None):
            marks[pin] = net is None and before.shape != "old"
    pads = [
        replace(p, net=new.get(p.label, p.net), marked=marks.get(p.label, p.marked))
        for p in before.pads
    ]
    copper = []
    for one in before.copper:
        if one.owner in moves:
            copper.append(replace(one, net=new[one.owner]))
        elif not rip or one.net not in changed:
            copper.append(one)
        elif one.kind == "zone":
            copper.append(replace(one, filled=False))
    return Scene(before.shape, _rows(before, pads), tuple(pads), tuple(copper))


def _rows(before: Scene, pads: list[Pad]) -> tuple[str, ...]:
    used = {pad.net for pad in pads}
    fresh = [p.net for p in pads if p.net and p.net not in before.rows]
    had = {pad.net for pad in before.pads}
    rows = []
    for name in before.rows:
        freed = name.startswith("unconnected-(") and name in had - used
        rows.append(fresh.pop(0) if freed and fresh else name)
    return tuple(dict.fromkeys(rows + fresh))


# the file, line by line


def _lines(scene: Scene) -> list[str]:
    return {"old": _old, "middle": _middle, "new": _new}[scene.shape](scene)


def _old(scene: Scene) -> list[str]:
    lines = ["(kicad_pcb (version 20171130) (host pcbnew 5)", "", "  (general (thickness 1.6))"]
    lines += ["  (layers", "    (0 F.Cu signal)", "    (31 B.Cu signal)", "    (44 Edge.Cuts user)"]
    lines += ["  )", ""] + [f"  (net {k} {name or EMPTY})" for k, name in enumerate(scene.rows)]
    lines += ["", '  (net_class Default "" (clearance 0.2) (trace_width 0.25)']
    lines += [f"    (add_net {name})" for name in scene.rows if name] + ["  )", ""]
    for ref in dict.fromkeys(pad.ref for pad in scene.pads):
        lines += [f"  (module buoy:{ref} (layer F.Cu) (tedit 0) (tstamp 0)", "    (at 0 0)"]
        lines += [f"    (fp_text reference {ref} (at 0 0) (layer F.SilkS))"]
        for pad in (p for p in scene.pads if p.ref == ref):
            geometry = f"(at {pad.x:g} {pad.y:g}) (size 0.9 0.6) (layers F.Cu F.Mask)"
            net = f"\n      (net {scene.rows.index(pad.net)} {pad.net})" if pad.net else ""
            lines.append(f"    (pad {pad.number} smd rect {geometry}{net})")
        lines.append("  )")
    lines += ["", *_edge("(layer Edge.Cuts)")]
    for one in scene.copper:
        number = scene.rows.index(one.net)
        lines += _piece(one, f"(net {number})", one.name if one.name is not None else one.net)
    return [*lines, ")"]


def _middle(scene: Scene) -> list[str]:
    lines = ["(kicad_pcb (version 20211014) (generator pcbnew)", ""]
    lines += ["  (general (thickness 1.6))", "  (layers", '    (0 "F.Cu" signal)']
    lines += ['    (31 "B.Cu" signal)', '    (44 "Edge.Cuts" user)', "  )", ""]
    lines += [f'  (net {k} "{name}")' for k, name in enumerate(scene.rows)] + [""]
    for ref in dict.fromkeys(pad.ref for pad in scene.pads):
        lines += [f'  (footprint "buoy:{ref}" (layer "F.Cu") (tstamp 0)', "    (at 0 0)"]
        lines += [f'    (fp_text reference "{ref}" (at 0 0) (layer "F.SilkS"))']
        for k, pad in enumerate(p for p in scene.pads if p.ref == ref):
            geometry = f'(at {pad.x:g} {pad.y:g}) (size 0.9 0.6) (layers "F.Cu" "F.Mask")'
            number = scene.rows.index(pad.net)
            net = f' (net {number} "{pad.net}")' if pad.net else ""
            lines.append(f'    (pad "{pad.number}" smd rect {geometry}{net}')
            lines.append(f'      {_function(pad)}(pintype "{_type(pad)}") (tstamp {k}))')
        lines.append("  )")
    lines += ["", *_edge('(layer "Edge.Cuts")')]
    for one in scene.copper:
        number = scene.rows.index(one.net)
        lines += _piece(one, f"(net {number})", f'"{one.net if one.name is None else one.name}"')
    return [*lines, ")"]


def _new(scene: Scene) -> list[str]:
    lines = ["(kicad_pcb", "\t(version 20260206)", '\t(generator "pcbnew")']
    lines += ["\t(general", "\t\t(thickness 1.6)", "\t)", "\t(layers", '\t\t(0 "F.Cu" signal)']
    lines += ['\t\t(2 "B.Cu" signal)', '\t\t(25 "Edge.Cuts" user)', "\t)"]
    for ref in dict.fromkeys(pad.ref for pad in scene.pads):
        lines += [f'\t(footprint "buoy:{ref}"', '\t\t(layer "F.Cu")', "\t\t(at 0 0)"]
        lines += [f'\t\t(property "Reference" "{ref}"', "\t\t\t(at 0 0)", "\t\t)"]
        for pad in (p for p in scene.pads if p.ref == ref):
            lines += [f'\t\t(pad "{pad.number}" smd rect', f"\t\t\t(at {pad.x:g} {pad.y:g})"]
            lines += ["\t\t\t(size 0.9 0.6)", '\t\t\t(layers "F.Cu" "F.Mask")']
            lines += [f'\t\t\t(net "{pad.net}")'] if pad.net else []
            lines += [f"\t\t\t{_function(pad).strip()}"] if pad.name else []
            lines += [f'\t\t\t(pintype "{_type(pad)}")', "\t\t)"]
        lines.append("\t)")
    lines += [line.replace("  ", "\t") for line in _edge('(layer "Edge.Cuts")')]
    for one in scene.copper:
        net = f'(net "{one.net}")' if one.net else ""
        lines += [line.replace("  ", "\t") for line in _piece(one, net, None)]
    return [*lines, ")"]


def _function(pad: Pad) -> str:
    return f'(pinfunction "{pad.name}") ' if pad.name else ""


def _type(pad: Pad) -> str:
    return pad.type + ("+no_connect" if pad.marked else "")


def _edge(layer: str) -> list[str]:
    corners = [(80, 80), (140, 80), (140, 140), (80, 140), (80, 80)]
    return [
        f"  (gr_line (start {a} {b}) (end {c} {d}) {layer} (width 0.1))"
        for (a, b), (c, d) in pairwise(corners)
    ]


def _xy(points: POINTS) -> str:
    return " ".join(f"(xy {x:g} {y:g})" for x, y in points)


def _piece(one: Copper, net: str, net_name: str | None) -> list[str]:
    """One piece of copper; ``net`` is its net list, ``net_name`` what zones repeat."""
    lock = " locked" if one.locked else ""
    ends = [f"{x:g} {y:g}" for x, y in one.points]
    layer = f'(layer "{one.layer}")'
    net = f" {net}" if net else ""
    if one.kind == "segment":
        return [f"  (segment{lock} (start {ends[0]}) (end {ends[1]}) (width 0.2) {layer}{net})"]
    if one.kind == "arc":
        where = f"(start {ends[0]}) (mid {ends[1]}) (end {ends[2]})"
        return [f"  (arc{lock} {where} (width 0.2) {layer}{net})"]
    if one.kind == "via":
        return [f'  (via{lock} (at {ends[0]}) (size 0.6) (drill 0.3) (layers "F.Cu" "B.Cu"){net})']
    name = f" (net_name {net_name})" if net_name and net_name != EMPTY else ""
    lines = [f"  (zone{net}{name} {layer} (hatch edge 0.5)"]
    if one.kind == "teardrop":
        lines.append("    (attr (teardrop (type padvia)))")
    if one.kind == "keepout":
        lines.append("    (keepout (tracks not_allowed))")
    lines += ["    (min_thickness 0.1)", "    (fill yes)", f"    (polygon (pts {_xy(one.points)}))"]
    if one.filled:
        lines.append(f"    (filled_polygon {layer} (pts {_xy(one.points)}))")
    return [*lines, "  )"]
