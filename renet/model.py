"""The board as renet sees it: who stands where, on which net, in which copper.

Specification
-------------
* Lengths and positions are integer nanometres, x to the right, y down, absolute
  as in the file.  Angles are degrees, as in the file.
* Everything is addressed by dense integer ids, the index in its tuple; ``-1``
  means "none".  Names appear here and nowhere deeper.
* ``Board.nets`` holds real nets only.  A private "unconnected" net of a single
  pin is no net: such a pin has ``net == -1``, and so has copper that carries it.
* Copper layers are counted from the front, 0, to the back, ``len(layers) - 1``;
  a set of layers is an integer bit mask (bit i = layer i).
* A **pin** is (part, pad number).  Its pads share the number inside one part.
  Unnumbered and unplated pads belong to no pin (``Pad.pin == -1``).
* Not held: text, graphics other than the board edge, 3-D models, design
  settings beyond the stack-up, and where anything stands in its file.

Equality is equality of meaning: two boards are equal when nothing a layout
engineer could act on differs.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

NONE = -1


class Core(NamedTuple):
    """A point (disc), two points (capsule) or a polygon, grown by ``radius``."""

    points: tuple[tuple[int, int], ...]
    radius: int


class Shape(NamedTuple):
    """Pad copper in the pad's own frame (before turning by ``Pad.angle``).

    ``box`` is (u0, v0, u1, v1), the bounding box of all copper of the pad,
    relative to the pad's position; a drill offset is already in it.
    """

    box: tuple[int, int, int, int]
    cores: tuple[Core, ...]


class Pad(NamedTuple):
    """One pad; (x, y) is its position (the hole, where there is one)."""

    part: int
    pin: int
    x: int
    y: int
    angle: float
    layers: int
    through: bool
    plated: bool
    shape: Shape
    net: int


class Pin(NamedTuple):
    """(part, pad number) with all pads of that number.

    ``name`` is the function written at the pin ("" if none), ``type`` its
    electrical type in lower case without marks ("" if the board has none),
    ``no_connect`` whether the file marks it as deliberately open.  ``fault``
    says why the pin can never move ("" if it can): its pads are on different
    nets, or its part has no reference or shares it with another.
    """

    part: int
    number: str
    name: str
    type: str
    no_connect: bool
    net: int
    pads: tuple[int, ...]
    fault: str


class Part(NamedTuple):
    """One part.  ``back`` says on which side it sits; pins and pads are id ranges."""

    ref: str
    value: str
    footprint: str
    x: int
    y: int
    angle: float
    back: bool
    pins: range
    pads: range


class Layer(NamedTuple):
    """A copper layer: its name in the file, its kind as written (signal, power ...)."""

    name: str
    kind: str


class Fill(NamedTuple):
    """Filled area of a zone on one layer, grown by ``grow`` nanometres.

    ``text`` is the raw coordinate text; ``geometry.points(text)`` turns it into
    an (n, 2) array when somebody asks.  Most jobs never do.
    """

    layer: int
    text: bytes
    grow: int


class Zone(NamedTuple):
    """A copper area.  ``outline`` is raw coordinate text, as in :class:`Fill`."""

    net: int
    layers: int
    outline: tuple[bytes, ...]
    fills: tuple[Fill, ...]
    teardrop: bool
    rule_area: bool
    locked: bool


class _Columns:
    """Shared equality for records of equal-length numpy columns."""

    __slots__ = ()

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        return all(
            np.array_equal(getattr(self, f.name), getattr(other, f.name))
            for f in fields(self)  # type: ignore[arg-type]
        )

    __hash__ = None  # type: ignore[assignment]


@dataclass(frozen=True, slots=True, eq=False)
class Tracks(_Columns):
    """Straight and curved tracks in file order, one row each.

    ``ends`` is (n, 4): x1 y1 x2 y2.  ``mid`` is (n, 2): a point on the arc, or
    the midpoint-free marker (equal to the first end) for straight tracks, with
    ``curved`` telling the two apart.  ``layer`` is a copper layer id or -1.
    """

    ends: IntArray
    mid: IntArray
    curved: BoolArray
    width: IntArray
    layer: IntArray
    net: IntArray
    locked: BoolArray

    def __len__(self) -> int:
        return len(self.net)

    def __repr__(self) -> str:
        return f"<{len(self)} tracks>"


@dataclass(frozen=True, slots=True, eq=False)
class Vias(_Columns):
    """Vias in file order.  ``at`` is (n, 2); ``layers`` a mask of all layers joined."""

    at: IntArray
    size: IntArray
    drill: IntArray
    layers: IntArray
    net: IntArray
    locked: BoolArray

    def __len__(self) -> int:
        return len(self.net)

    def __repr__(self) -> str:
        return f"<{len(self)} vias>"


class StackLayer(NamedTuple):
    """One layer of the stack-up from front to back, copper and dielectric alike.

    ``copper`` is the copper layer id or -1; ``er`` is 0.0 where not given.
    """

    name: str
    copper: int
    thickness: int
    er: float


class NetClass(NamedTuple):
    """Routing sizes that the file gives for some nets; 0 where it gives none."""

    name: str
    clearance: int
    track: int
    via: int
    drill: int
    nets: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Board:
    """A whole board; see the module's specification.

    ``edge`` holds the pieces of the board outline as polylines (n >= 2 points,
    arcs and circles already broken into chords).
    """

    version: int
    layers: tuple[Layer, ...]
    nets: tuple[str, ...]
    parts: tuple[Part, ...]
    pins: tuple[Pin, ...]
    pads: tuple[Pad, ...]
    tracks: Tracks
    vias: Vias
    zones: tuple[Zone, ...]
    edge: tuple[tuple[tuple[int, int], ...], ...]
    stackup: tuple[StackLayer, ...]
    classes: tuple[NetClass, ...]
    thickness: int

    def __repr__(self) -> str:
        return (
            f"<board: {len(self.parts)} parts, {len(self.pins)} pins, "
            f"{len(self.nets)} nets, {len(self.layers)} copper layers>"
        )

    def pin_label(self, pin: int) -> str:
        """``PART:PIN``, the way rules and reports name a pin."""
        entry = self.pins[pin]
        return f"{self.parts[entry.part].ref}:{entry.number}"

    def pin_key(self, pin: int) -> tuple[str, str]:
        """(reference, pad number), the way files name a pin."""
        entry = self.pins[pin]
        return self.parts[entry.part].ref, entry.number

    def net_name(self, net: int) -> str | None:
        """The net's name, None for no net."""
        return None if net == NONE else self.nets[net]


class Node(NamedTuple):
    """One pin in a netlist, with what the netlist says of it."""

    ref: str
    pin: str
    net: str | None
    name: str
    type: str


class NetlistPart(NamedTuple):
    """A component of a netlist."""

    ref: str
    value: str
    footprint: str
    lib_part: str


class Netlist(NamedTuple):
    """A netlist: parts, and every pin with its net (None: private or not connected)."""

    version: str
    parts: tuple[NetlistPart, ...]
    nodes: tuple[Node, ...]
