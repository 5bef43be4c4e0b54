"""Boards by seed, for many-board runs and benchmarks: alike in kind, different in detail.

A controller in the middle, cells of gates and passives round it, headers along
both sides.  The headers' nets go to controller ports in random order; some
ports have a fan-out, some passives are joined to their neighbour by a track.
"""

from __future__ import annotations

import math
import random
from typing import NamedTuple

from corpus_maker import kinds as k
from corpus_maker import outlines
from corpus_maker.design import Design, Kind, NetClass, PadDef, Part, PinDef, Track, mm
from corpus_maker.grid import WIDTHS

CELL_X, CELL_Y = 8.0, 11.0
SPOTS = tuple((x, y) for y in (-3.3, 0.0, 3.3) for x in (-2.0, 2.0))
MARGIN = 12.0
THIN = WIDTHS[0]


class Wish(NamedTuple):
    """What a board should be like.  ``pool``: ports that may be traded, spare ones included."""

    seed: int
    gates: int
    passives: int
    pool: int


def by_parts(seed: int, parts: int) -> Wish:
    """A board of about so many parts, a sixth of them gates."""
    gates = parts // 6
    return Wish(seed, gates, max(parts - gates - 3, 4), max(8, min(120, parts // 3)))


def by_pads(seed: int, pads: int, pool: int) -> Wish:
    """A board of exactly so many pads (an even number), half of them on gates."""
    gates = pads // 2 // 14
    rest = pads - 14 * gates - len(_controller(pool).pins) - 2 * _header_pins(pool)
    if rest < 0:
        raise ValueError(f"{pads} pads are too few for a pool of {pool}")
    return Wish(seed, gates, rest // 2, pool)


def _header_pins(pool: int) -> int:
    """Pins of each of the two headers; together they carry four fifths of the pool."""
    return 2 * math.ceil(pool * 0.8 / 4)


def _controller(pool: int) -> Kind:
    """A four-sided part with the pool's ports, sixteen more, and supply pins between."""
    side = math.ceil((pool + 16) / 4) + 2
    reach = side / 4 + 2.0
    outline = outlines.quad_flat(f"quad_{4 * side}", side, 0.5, reach, (1.5, 0.3))
    pins: list[PinDef] = []
    for number in range(1, 4 * side + 1):
        place = (number - 1) % side
        supply = {side // 2: "VDD", side // 2 + 1: "VSS"}.get(place, "")
        name = supply or f"IO_{number}"
        pins.append(PinDef(str(number), name, "power_in" if supply else "bidirectional"))
    return Kind(f"CTRL{4 * side}", "U", "controller", outline, tuple(pins))


class _Maker:
    """One board while it is being made."""

    def __init__(self, wish: Wish) -> None:
        self.wish = wish
        self.rng = random.Random(wish.seed)
        self.kind = _controller(wish.pool)
        cells = wish.gates + math.ceil(wish.passives / len(SPOTS))
        room = 2 * self.kind.outline.pads[0].x / -1e6 + 8
        self.block = (math.ceil(room / CELL_X), math.ceil(room / CELL_Y))
        total = cells + (self.block[0] + 1) * (self.block[1] + 1)
        least = self.block[0] + 2
        self.columns = max(least, round(math.sqrt(total * CELL_Y / CELL_X)))
        header = math.ceil((_header_pins(wish.pool) / 2 * 2.54 + 8 - 2 * MARGIN) / CELL_Y)
        self.rows = max(self.block[1] + 2, header, math.ceil(total / self.columns))
        size = (self.columns * CELL_X + 2 * MARGIN, self.rows * CELL_Y + 2 * MARGIN)
        name = f"board_{wish.seed:05d}"
        self.design = Design(name, f"Board {wish.seed}", (mm(size[0]), mm(size[1])), (0, 0), 4)

    def make(self) -> Design:
        """Parts, then nets, then copper."""
        self._middle()
        self._headers()
        self._cells()
        ports = self._late_nets()
        self._local_nets(ports)
        self._fan_outs()
        names = tuple(self.design.net_names())
        sizes = (mm(0.15), mm(0.2), mm(0.6), mm(0.3))
        self.design.classes = [NetClass("Default", *sizes, names)]
        return self.design

    def _middle(self) -> None:
        width, height = self.design.size
        self.design.parts.append(Part("U1", self.kind, self.kind.name, width // 2, height // 2))
        self.design.connect("+3V3", "U1.VDD")
        self.design.connect("GND", "U1.VSS")

    def _headers(self) -> None:
        rows = _header_pins(self.wish.pool) // 2
        kind = k.plain(f"HDR2X{rows}", "J", "header", outlines.header(f"header_2x{rows}", 2, rows))
        width, height = self.design.size
        for ref, x in (("J1", mm(6)), ("J2", width - mm(6))):
            self.design.parts.append(Part(ref, kind, kind.name, x, height // 2))

    def _cells(self) -> None:
        """Gates and passives, mixed, in the cells that the controller leaves free."""
        jobs = ["gate"] * self.wish.gates
        jobs += ["passives"] * math.ceil(self.wish.passives / len(SPOTS))
        self.rng.shuffle(jobs)
        left = self.wish.passives
        free = self._free_cells()[: len(jobs)]
        for job, (x, y) in zip(jobs, free, strict=True):
            if job == "gate":
                ref = f"U{len(self.design.parts)}"
                self.design.parts.append(Part(ref, k.QUAD_GATE, "GATE4", mm(x), mm(y)))
                self.design.connect("GND", f"{ref}.GND")
                self.design.connect("+3V3", f"{ref}.VCC")
                continue
            count = min(left, len(SPOTS))
            left -= count
            self._passives(x, y, count)

    def _free_cells(self) -> list[tuple[float, float]]:
        """Middles of the cells, those nearest to the controller first."""
        width, height = (side / 1e6 for side in self.design.size)
        half_x, half_y = self.block[0] * CELL_X / 2, self.block[1] * CELL_Y / 2
        cells = [
            (MARGIN + (c + 0.5) * CELL_X, MARGIN + (r + 0.5) * CELL_Y)
            for r in range(self.rows)
            for c in range(self.columns)
        ]
        inside = [
            (x, y)
            for x, y in cells
            if abs(x - width / 2) < half_x + CELL_X / 2
            and abs(y - height / 2) < half_y + CELL_Y / 2
        ]
        free = [cell for cell in cells if cell not in inside]
        return sorted(free, key=lambda c: (math.hypot(c[0] - width / 2, c[1] - height / 2), c))

    def _passives(self, x: float, y: float, count: int) -> None:
        """Up to six in a cell; two side by side may share a short track."""
        refs: list[str] = []
        for dx, dy in SPOTS[:count]:
            kind = self.rng.choice((k.RESISTOR, k.CAPACITOR))
            refs.append(f"{kind.prefix}{len(self.design.parts)}")
            place = (mm(x + dx), mm(y + dy))
            value = f"{self.rng.randrange(1, 100)} {'k' if kind is k.RESISTOR else 'nF'}"
            self.design.parts.append(Part(refs[-1], kind, value, *place))
        for left, right in zip(refs[::2], refs[1::2], strict=False):
            if self.rng.random() < 0.5:
                net = f"={left}.2"
                self.design.connect(net, f"{left}.2 {right}.1")
                a, b = self._pad(left, "2"), self._pad(right, "1")
                self.design.tracks.append(Track(net, 0, *a, *b, THIN))

    def _pad(self, ref: str, number: str) -> tuple[int, int]:
        part = self.design.part(ref)
        return part.place(next(p for p in part.kind.outline.pads if p.number == number))

    def _late_nets(self) -> list[str]:
        """The headers' nets to the pool in random order; the ports outside the pool."""
        ports = [p.number for p in self.kind.pins if p.type == "bidirectional"]
        self.rng.shuffle(ports)
        pool, others = ports[: self.wish.pool], ports[self.wish.pool :]
        self.pool = sorted(pool, key=int)
        ends = [
            f"{ref}.{i + 1}" for ref in ("J1", "J2") for i in range(_header_pins(self.wish.pool))
        ]
        carried = ends[: round(self.wish.pool * 0.8)]
        for i, (end, port) in enumerate(zip(carried, pool, strict=False)):
            self.design.connect(f"/LINE{i + 1}", f"{end} U1.{port}")
        for end in ends[len(carried) :]:
            self.design.connect("GND", end)
        return others

    def _local_nets(self, ports: list[str]) -> None:
        """Pins left over: small nets among parts that stand near each other."""
        taken = self.design.nets
        loose = [
            f"{part.ref}.{pin.number}"
            for part in sorted(self.design.parts[3:], key=_serpentine)
            for pin in part.kind.pins
            if (part.ref, pin.number) not in taken
        ]
        for port in ports:
            if loose and self.rng.random() < 0.8:
                mate = loose.pop(self.rng.randrange(len(loose)))
                self.design.connect(f"/PORT{port}", f"U1.{port} {mate}")
        count = 0
        while len(loose) > 1:
            first = loose.pop(0)
            near = loose[:16]
            chosen = self.rng.sample(near, min(len(near), self.rng.choice((1, 1, 1, 2, 3))))
            loose = [pin for pin in loose if pin not in chosen]
            if self.rng.random() < 0.9:
                count += 1
                self.design.connect(f"/N{count}", " ".join((first, *chosen)))

    def _fan_outs(self) -> None:
        """A third of the pool has a short track outwards, leading nowhere yet."""
        part = self.design.part("U1")
        for pad in part.kind.outline.pads:
            if pad.number in self.pool and self.rng.random() < 0.33:
                self._fan_out(part, pad)

    def _fan_out(self, part: Part, pad: PadDef) -> None:
        net = self.design.net_of(part, pad.number) or f"?U1.{pad.number}"
        x, y = part.place(pad)
        reach = mm(1.5)
        dx, dy = (
            (math.copysign(reach, pad.x), 0) if pad.w > pad.h else (0, math.copysign(reach, pad.y))
        )
        self.design.tracks.append(Track(net, 0, x, y, x + round(dx), y + round(dy), THIN))


def _serpentine(part: Part) -> tuple[int, int]:
    """Row by row of cells, there and back: parts next to each other here are so on the board."""
    row = round(part.y / mm(CELL_Y))
    return row, part.x if row % 2 else -part.x


class Made(NamedTuple):
    """A board with the pad numbers of its pool."""

    design: Design
    pool: list[str]


def random_board(wish: Wish) -> Made:
    """The board of a wish: the same wish gives the same board."""
    maker = _Maker(wish)
    return Made(maker.make(), maker.pool)


def rules_of(made: Made) -> str:
    """A rules file that frees the pool and nothing else."""
    numbers = ", ".join(f'"{number}"' for number in made.pool)
    return f"""\
# Ports of the controller that the headers' nets may be spread over.

[board]
horizontal = [1]
vertical = [-1]

[[pool]]
part = "U1"
pins = [{numbers}]
cost_mm = 2.0
"""
