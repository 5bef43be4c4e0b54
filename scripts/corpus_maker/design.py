"""A board design as data: parts with pins, nets by pin, copper; integer nanometres, y down."""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass, field
from typing import NamedTuple

MM = 1_000_000


def mm(value: float) -> int:
    """Millimetres to nanometres."""
    return round(value * MM)


def unique_id(*names: object) -> str:
    """An identifier of the usual form that depends on the names only."""
    digits = hashlib.sha256("/".join(map(str, names)).encode()).hexdigest()
    variant = "89ab"[int(digits[16], 16) % 4]
    return f"{digits[:8]}-{digits[8:12]}-4{digits[13:16]}-{variant}{digits[17:20]}-{digits[20:32]}"


class PadDef(NamedTuple):
    """A pad in its outline's frame; ``slot`` is the second size of a long hole.

    ``back``: on the side that its part is not on.
    """

    number: str
    kind: str
    shape: str
    x: int
    y: int
    w: int
    h: int
    drill: int = 0
    slot: int = 0
    back: bool = False


class Outline(NamedTuple):
    """What a part looks like on the board; ``half`` is half the body, x and y."""

    name: str
    descr: str
    tags: str
    pads: tuple[PadDef, ...]
    half: tuple[int, int]


class PinDef(NamedTuple):
    """A pin as the schematic symbol has it; the name is "" where it has none."""

    number: str
    name: str
    type: str


class Kind(NamedTuple):
    """A symbol with its pins and its outline; ``sections`` by pin numbers, if it has any."""

    name: str
    prefix: str
    descr: str
    outline: Outline
    pins: tuple[PinDef, ...]
    sections: tuple[tuple[str, ...], ...] = ()

    def numbers(self, name: str) -> list[str]:
        """All pin numbers that carry this name, or the number itself."""
        return [p.number for p in self.pins if name in (p.number, p.name)]


class Part(NamedTuple):
    """A kind, placed.  Back-side parts are mirrored top to bottom, then turned."""

    ref: str
    kind: Kind
    value: str
    x: int
    y: int
    angle: int = 0
    back: bool = False

    def local(self, pad: PadDef) -> tuple[int, int]:
        """Pad position in the part's frame, as board files store it."""
        return pad.x, -pad.y if self.back else pad.y

    def place(self, pad: PadDef) -> tuple[int, int]:
        """Pad position on the board."""
        px, py = self.local(pad)
        quarter, rest = divmod(self.angle, 90)
        if rest == 0:
            for _ in range(quarter % 4):
                px, py = py, -px
            return self.x + px, self.y + py
        cos, sin = math.cos(math.radians(self.angle)), math.sin(math.radians(self.angle))
        return self.x + round(px * cos + py * sin), self.y + round(py * cos - px * sin)


class Track(NamedTuple):
    """A straight track; ``layer`` counts copper from the front, -1 is the back."""

    net: str
    layer: int
    x1: int
    y1: int
    x2: int
    y2: int
    width: int


class Arc(NamedTuple):
    """A curved track through its middle point."""

    net: str
    layer: int
    start: tuple[int, int]
    mid: tuple[int, int]
    end: tuple[int, int]
    width: int


class Via(NamedTuple):
    """A via through all layers."""

    net: str
    x: int
    y: int
    size: int
    drill: int


Points = tuple[tuple[int, int], ...]


class Zone(NamedTuple):
    """A copper area with its fills; kind is "pour", "teardrop" or "keepout"."""

    name: str
    net: str
    layer: int
    outline: Points
    fills: tuple[Points, ...] = ()
    kind: str = "pour"


class NetClass(NamedTuple):
    """Routing sizes for some nets."""

    name: str
    clearance: int
    width: int
    via: int
    drill: int
    nets: tuple[str, ...]


@dataclass
class Design:
    """A board.  ``nets`` maps (reference, pin number) to a net; open pins are not in it.

    A net called ``=REF.PIN`` has no name of its own: writers name it after that
    pin, in the manner of the version they write.  ``open_copper`` holds fan-outs
    of open pins: their net is ``?REF.PIN``, the private net of that pin.
    """

    name: str
    title: str
    size: tuple[int, int]
    origin: tuple[int, int]
    layers: int
    parts: list[Part] = field(default_factory=list)
    nets: dict[tuple[str, str], str] = field(default_factory=dict)
    tracks: list[Track] = field(default_factory=list)
    arcs: list[Arc] = field(default_factory=list)
    vias: list[Via] = field(default_factory=list)
    zones: list[Zone] = field(default_factory=list)
    classes: list[NetClass] = field(default_factory=list)

    def part(self, ref: str) -> Part:
        """The part of that reference (the first, where several share it)."""
        return next(p for p in self.parts if p.ref == ref)

    def connect(self, net: str, pins: str) -> None:
        """Put pins ``REF.NUMBER`` or ``REF.NAME`` (all of that name) on a net."""
        for pin in pins.split():
            ref, _, name = pin.partition(".")
            numbers = self.part(ref).kind.numbers(name)
            if not numbers:
                raise ValueError(f"{ref} has no pin {name}")
            for number in numbers:
                if self.nets.setdefault((ref, number), net) != net:
                    raise ValueError(f"{ref}.{number} is on two nets")

    def net_of(self, part: Part, number: str) -> str:
        """The net of a pin; "" for an open one."""
        return self.nets.get((part.ref, number), "")

    def net_names(self) -> list[str]:
        """All nets, in the order of their names."""
        return sorted(set(self.nets.values()))

    def pads_of(self, net: str) -> list[tuple[Part, PadDef]]:
        """All pads on a net, in the order of the parts."""
        return [
            (part, pad)
            for part in self.parts
            for pad in part.kind.outline.pads
            if pad.number and self.net_of(part, pad.number) == net
        ]
