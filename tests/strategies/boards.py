"""Small boards: a builder in millimetres for tests, and a strategy for hypothesis.

The strategy keeps to a coarse lattice, so that things coincide, touch and lie
in one line far more often than on real boards.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from hypothesis import strategies as st

from renet.model import NONE, Board, Core, Fill, Layer, Pad, Part, Pin, Shape, Tracks, Vias, Zone

MM = 1_000_000
FRONT, BACK, BOTH = 0b01, 0b10, 0b11


def nm(mm: float) -> int:
    return round(mm * MM)


def text(points: Iterable[tuple[int, int]]) -> bytes:
    """Coordinate text of a polygon, as files have it."""
    return b" ".join(b"(xy %.6f %.6f)" % (x / MM, y / MM) for x, y in points)


def rectangle(x0: float, y0: float, x1: float, y1: float) -> list[tuple[int, int]]:
    a, b, c, d = nm(x0), nm(y0), nm(x1), nm(y1)
    return [(a, b), (c, b), (c, d), (a, d)]


def block(width: float, height: float) -> Shape:
    """A rectangular pad."""
    u, v = nm(width / 2), nm(height / 2)
    return Shape((-u, -v, u, v), (Core(((-u, -v), (u, -v), (u, v), (-u, v)), 0),))


def disc(diameter: float) -> Shape:
    """A round pad."""
    r = nm(diameter / 2)
    return Shape((-r, -r, r, r), (Core(((0, 0),), r),))


ROUND = disc(1.0)


@dataclass(frozen=True)
class PadSpec:
    """A pad in millimetres; pads of one ``ref`` and ``number`` are one pin."""

    ref: str
    number: str
    x: float
    y: float
    net: str | None = None
    shape: Shape = ROUND
    layers: int = FRONT
    through: bool = False
    plated: bool = True
    angle: float = 0.0
    type: str = ""
    no_connect: bool = False


@dataclass(frozen=True)
class TrackSpec:
    """A track in millimetres, an arc where ``mid`` is given."""

    ends: tuple[float, float, float, float]
    net: str | None = None
    layer: int = 0
    width: float = 0.2
    mid: tuple[float, float] | None = None
    locked: bool = False


@dataclass(frozen=True)
class ViaSpec:
    """A via in millimetres."""

    x: float
    y: float
    net: str | None = None
    layers: int = BOTH
    size: float = 0.6
    locked: bool = False


@dataclass(frozen=True)
class ZoneSpec:
    """A zone; ``outline`` and ``fills`` are polygons in nanometres, fills with their layer."""

    net: str | None
    outline: Sequence[tuple[int, int]]
    fills: Sequence[tuple[int, Sequence[tuple[int, int]]]] = ()
    layers: int = FRONT
    teardrop: bool = False
    locked: bool = False
    grow: float = 0.0


def build(
    pads: Sequence[PadSpec],
    tracks: Sequence[TrackSpec] = (),
    vias: Sequence[ViaSpec] = (),
    zones: Sequence[ZoneSpec] = (),
    copper_layers: int = 2,
    edge: Sequence[Sequence[tuple[int, int]]] = (),
) -> Board:
    """The board; nets are numbered in the order in which they are first named."""
    named = [spec.net for group in (pads, tracks, vias, zones) for spec in group]
    nets = {name: i for i, name in enumerate(dict.fromkeys(n for n in named if n is not None))}
    nets_or_none = {**nets, None: NONE}
    parts, pins, made = _parts(pads, nets_or_none)
    return Board(
        version=20240108,
        layers=tuple(Layer(f"L{i + 1}", "signal") for i in range(copper_layers)),
        nets=tuple(nets),
        parts=parts,
        pins=pins,
        pads=made,
        tracks=_tracks(tracks, nets_or_none),
        vias=_vias(vias, nets_or_none),
        zones=tuple(_zone(spec, nets_or_none) for spec in zones),
        edge=tuple(tuple(piece) for piece in edge),
        stackup=(),
        classes=(),
        thickness=1_600_000,
    )


def _parts(
    specs: Sequence[PadSpec], nets: dict[str | None, int]
) -> tuple[tuple[Part, ...], tuple[Pin, ...], tuple[Pad, ...]]:
    parts: list[Part] = []
    pins: list[Pin] = []
    pads: list[Pad] = []
    for index, ref in enumerate(dict.fromkeys(spec.ref for spec in specs)):
        mine = [spec for spec in specs if spec.ref == ref]
        numbers = dict.fromkeys(s.number for s in mine if s.number and s.plated)
        ids = {number: len(pins) + i for i, number in enumerate(numbers)}
        first_pin, first_pad = len(pins), len(pads)
        for s in mine:
            pin = ids.get(s.number, NONE) if s.plated else NONE
            at = (nm(s.x), nm(s.y), s.angle, s.layers, s.through, s.plated, s.shape)
            pads.append(Pad(index, pin, *at, nets[s.net]))
        for number, pin in ids.items():
            spec = next(s for s in mine if s.number == number and s.plated)
            own = tuple(i for i in range(first_pad, len(pads)) if pads[i].pin == pin)
            fault = "" if len({pads[i].net for i in own}) == 1 else "its pads are on different nets"
            mark = (spec.type, spec.no_connect, nets[spec.net])
            pins.append(Pin(index, number, "", *mark, own, fault))
        ranges = (range(first_pin, len(pins)), range(first_pad, len(pads)))
        parts.append(Part(ref, "", "", 0, 0, 0.0, False, *ranges))
    return tuple(parts), tuple(pins), tuple(pads)


def _tracks(specs: Sequence[TrackSpec], nets: dict[str | None, int]) -> Tracks:
    ends = [[nm(v) for v in s.ends] for s in specs]
    mids = [[nm(v) for v in (s.mid or s.ends[:2])] for s in specs]
    return Tracks(
        ends=np.array(ends, dtype=np.int64).reshape(-1, 4),
        mid=np.array(mids, dtype=np.int64).reshape(-1, 2),
        curved=np.array([s.mid is not None for s in specs], dtype=bool),
        width=np.array([nm(s.width) for s in specs], dtype=np.int64),
        layer=np.array([s.layer for s in specs], dtype=np.int64),
        net=np.array([nets[s.net] for s in specs], dtype=np.int64),
        locked=np.array([s.locked for s in specs], dtype=bool),
    )


def _vias(specs: Sequence[ViaSpec], nets: dict[str | None, int]) -> Vias:
    at = [[nm(s.x), nm(s.y)] for s in specs]
    return Vias(
        at=np.array(at, dtype=np.int64).reshape(-1, 2),
        size=np.array([nm(s.size) for s in specs], dtype=np.int64),
        drill=np.array([nm(s.size / 2) for s in specs], dtype=np.int64),
        layers=np.array([s.layers for s in specs], dtype=np.int64),
        net=np.array([nets[s.net] for s in specs], dtype=np.int64),
        locked=np.array([s.locked for s in specs], dtype=bool),
    )


def _zone(spec: ZoneSpec, nets: dict[str | None, int]) -> Zone:
    fills = tuple(Fill(layer, text(points), nm(spec.grow)) for layer, points in spec.fills)
    outline = (text(spec.outline),)
    return Zone(nets[spec.net], spec.layers, outline, fills, spec.teardrop, False, spec.locked)


# ---------------------------------------------------------------------------- hypothesis

GRID = 0.25
NETS = ("A", "B", "C", None)


def _shape(draw: st.DrawFn) -> Shape:
    u, v = draw(st.sampled_from([1, 2, 3])), draw(st.sampled_from([1, 2, 3]))
    kind = draw(st.sampled_from(["disc", "block", "oval", "round", "two"]))
    if kind == "disc":
        return disc(u * GRID)
    if kind == "block":
        return block(u * GRID, v * GRID)
    a, b, r = nm(u * GRID / 2), nm(v * GRID / 2), nm(GRID / 4)
    if kind == "oval":
        return Shape((-a - r, -r, a + r, r), (Core(((-a, 0), (a, 0)), r),))
    box = (-a - r, -b - r, a + r, b + r)
    if kind == "round":
        return Shape(box, (Core(((-a, -b), (a, -b), (a, b), (-a, b)), r),))
    return Shape(box, (Core(((-a, -b),), r), Core(((a, b),), r)))


@st.composite
def _pads(draw: st.DrawFn, angles: Sequence[float]) -> list[PadSpec]:
    specs: list[PadSpec] = []
    nets: dict[tuple[str, str], str | None] = {}
    for _ in range(draw(st.integers(1, 9))):
        ref = draw(st.sampled_from(["U1", "U2", "J3"]))
        number = draw(st.sampled_from(["1", "2", "10", ""]))
        net = draw(st.sampled_from(NETS))
        if number:
            net = nets.setdefault((ref, number), net)
        through = draw(st.booleans())
        specs.append(
            PadSpec(
                ref,
                number,
                draw(st.integers(0, 16)) * GRID,
                draw(st.integers(0, 16)) * GRID,
                net,
                _shape(draw),
                BOTH if through else draw(st.sampled_from([FRONT, BACK])),
                through,
                draw(st.sampled_from([True] * 7 + [False])),
                draw(st.sampled_from(angles)),
            )
        )
    return specs


def _spot(draw: st.DrawFn, pads: Sequence[PadSpec]) -> tuple[float, float]:
    """A lattice point, more often than not the centre of a pad."""
    if draw(st.booleans()):
        pad = draw(st.sampled_from(pads))
        return pad.x, pad.y
    return draw(st.integers(0, 16)) * GRID, draw(st.integers(0, 16)) * GRID


@st.composite
def boards(
    draw: st.DrawFn,
    angles: Sequence[float] = (0.0, 90.0, 180.0, 270.0, 30.0),
    copper: bool = True,
) -> Board:
    """A board of a few parts, with tracks, arcs, vias, fills and teardrops in the way."""
    pads = draw(_pads(angles))
    if not copper:
        return build(pads)
    net = st.sampled_from(NETS)
    locked = st.sampled_from([False] * 9 + [True])
    tracks, vias, zones = [], [], []
    for _ in range(draw(st.integers(0, 7))):
        ends = (*_spot(draw, pads), *_spot(draw, pads))
        mid = draw(st.sampled_from([None, None, None, _spot(draw, pads)]))
        layer, width = draw(st.integers(0, 1)), draw(st.sampled_from([0.125, 0.25, 0.5]))
        tracks.append(TrackSpec(ends, draw(net), layer, width, mid, draw(locked)))
    for _ in range(draw(st.integers(0, 3))):
        vias.append(ViaSpec(*_spot(draw, pads), draw(net), BOTH, 0.5, draw(locked)))
    for _ in range(draw(st.integers(0, 2))):
        zones.append(draw(_zones(pads)))
    return build(pads, tracks, vias, zones)


@st.composite
def _zones(draw: st.DrawFn, pads: Sequence[PadSpec]) -> ZoneSpec:
    def rect() -> list[tuple[int, int]]:
        x, y = _spot(draw, pads)
        reach = draw(st.sampled_from([0.25, 0.5, 1.5]))
        wide, high = reach, draw(st.sampled_from([0.25, 1.0, 2.0]))
        return rectangle(x - wide, y - high / 2, x + wide, y + high / 2)

    fills = [(draw(st.integers(0, 1)), rect()) for _ in range(draw(st.integers(0, 2)))]
    return ZoneSpec(
        draw(st.sampled_from(NETS)),
        rect(),
        fills,
        BOTH,
        teardrop=draw(st.booleans()),
        locked=draw(st.sampled_from([False] * 9 + [True])),
        grow=draw(st.sampled_from([0.0, 0.125])),
    )


# ---------------------------------------------------------------------- symmetries of a board


def translated(board: Board, dx: int, dy: int) -> Board:
    return _mapped(board, lambda x, y: (x + dx, y + dy), lambda shape, angle: (shape, angle))


def turned(board: Board) -> Board:
    """A quarter turn, in the sense in which the files count angles."""
    return _mapped(board, lambda x, y: (y, -x), lambda shape, angle: (shape, (angle + 90) % 360))


def mirrored(board: Board) -> Board:
    """Upside down: y becomes -y, parts stay on their side."""

    def mirror(shape: Shape, angle: float) -> tuple[Shape, float]:
        cores = tuple(Core(tuple((u, -v) for u, v in c.points), c.radius) for c in shape.cores)
        u0, v0, u1, v1 = shape.box
        return Shape((u0, -v1, u1, -v0), cores), (-angle) % 360

    return _mapped(board, lambda x, y: (x, -y), mirror)


def _mapped(board: Board, point, pad_frame) -> Board:  # type: ignore[no-untyped-def]
    def moved(pad: Pad) -> Pad:
        x, y = point(pad.x, pad.y)
        shape, angle = pad_frame(pad.shape, pad.angle)
        return pad._replace(x=x, y=y, shape=shape, angle=angle)

    def pairs(column: np.ndarray) -> np.ndarray:
        flat = column.reshape(-1, 2)
        return np.stack(point(flat[:, 0], flat[:, 1]), axis=1).reshape(column.shape)

    def drawn(raw: bytes) -> bytes:
        flat = [round(float(v) * MM) for v in raw.translate(None, b"()xy").split()]
        return text(point(x, y) for x, y in zip(flat[::2], flat[1::2], strict=True))

    zones = [
        zone._replace(
            outline=tuple(drawn(contour) for contour in zone.outline),
            fills=tuple(fill._replace(text=drawn(fill.text)) for fill in zone.fills),
        )
        for zone in board.zones
    ]
    return replace(
        board,
        pads=tuple(moved(pad) for pad in board.pads),
        tracks=replace(board.tracks, ends=pairs(board.tracks.ends), mid=pairs(board.tracks.mid)),
        vias=replace(board.vias, at=pairs(board.vias.at)),
        zones=tuple(zones),
        edge=tuple(tuple(point(x, y) for x, y in piece) for piece in board.edge),
    )
