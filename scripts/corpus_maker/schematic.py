"""A design as one schematic sheet: symbols in columns, a label or a mark at every pin.

Named nets are labels at the end of a short wire, supplies are global labels,
and nets without a name are wires between stubs, each of its own length so that
no wire runs over a foreign end.  Symbols are turned
and mirrored in all ways, so that a reader has to get them right.
"""

from __future__ import annotations

from itertools import pairwise

from corpus_maker.design import Design, Kind, Part, unique_id
from corpus_maker.naming import num
from corpus_maker.part_writer import LIBRARY
from corpus_maker.sexpr import Layout, Name, Tree, text
from corpus_maker.versions import MAKER

VERSION = "20241229"
GRID = 1_270_000
PITCH = 2 * GRID
STUB = 4 * GRID
FINE = 10_000
COLUMN = 60 * GRID
ROOM = 250
TURNS = ((0, ""), (90, ""), (180, ""), (270, ""), (0, "x"), (90, "x"), (180, "y"), (270, "y"))

Point = tuple[int, int]


def schematic_text(design: Design) -> str:
    """The sheet; parts whose reference is repeated are not on it."""
    return text(_tree(design), Layout(True, True))


def units(kind: Kind) -> list[tuple[str, ...]]:
    """Pin numbers by unit."""
    return list(kind.sections) or [tuple(pin.number for pin in kind.pins)]


def _tree(design: Design) -> Tree:
    refs = [part.ref for part in design.parts]
    parts = [p for p in design.parts if p.kind.pins and refs.count(p.ref) == 1]
    kinds = {part.kind.name: part.kind for part in parts}
    sheet = _Sheet(design)
    for part in parts:
        sheet.add(part)
    sheet.wire_nameless()
    root = unique_id(design.name, "sheet")
    return [
        ROOT_WORD, ["version", VERSION], ["generator", Name(MAKER)], ["uuid", Name(root)],
        ["paper", Name("A0")],
        ["lib_symbols", *(_library(kinds[name]) for name in sorted(kinds))],
        *sheet.items,
        ["sheet_instances", ["path", Name("/"), ["page", Name("1")]]],
    ]  # fmt: skip


ROOT_WORD = "kicad_sch"


def local(kind: Kind, unit: int) -> dict[str, Point]:
    """Pin ends in the symbol's frame, y up: odd pins on the left, even ones on the right."""
    numbers = units(kind)[unit]
    return {
        number: ((-1 if place % 2 == 0 else 1) * 8 * GRID, -(place // 2) * PITCH)
        for place, number in enumerate(numbers)
    }


def _library(kind: Kind) -> Tree:
    pins = {pin.number: pin for pin in kind.pins}
    boxes: list[Tree] = []
    for unit in range(len(units(kind))):
        drawn: Tree = ["symbol", Name(f"{kind.name}_{unit + 1}_1")]
        for number, (x, y) in local(kind, unit).items():
            pin = pins[number]
            drawn.append([
                "pin", pin.type, "line", ["at", num(x), num(y), "0" if x < 0 else "180"],
                ["length", num(2 * GRID)], ["name", Name(pin.name or "~")],
                ["number", Name(number)],
            ])  # fmt: skip
        boxes.append(drawn)
    return ["symbol", Name(f"{LIBRARY}:{kind.name}"), *boxes]


def turned(point: Point, angle: int, mirror: str) -> Point:
    """From a symbol's frame, y up, to the sheet, y down: turn, then mirror."""
    x, y = point
    for _ in range(angle // 90):
        x, y = -y, x
    x, y = x, -y
    return (-x if mirror == "y" else x), (-y if mirror == "x" else y)


class _Sheet:
    """Items of the sheet while it is being filled, column by column."""

    def __init__(self, design: Design) -> None:
        self.design = design
        self.items: list[Tree] = []
        self.count = self.nameless = 0
        self.at: Point = (40 * GRID, 40 * GRID)
        self.ends: dict[str, list[Point]] = {}

    def add(self, part: Part) -> None:
        """All units of a part, each turned in its own way."""
        for unit in range(len(units(part.kind))):
            angle, mirror = TURNS[self.count % len(TURNS)]
            ends = {
                number: turned(point, angle, mirror)
                for number, point in local(part.kind, unit).items()
            }
            at = self._room(ends)
            self.items.append(self._symbol(part, unit, at, (angle, mirror)))
            for number, (x, y) in ends.items():
                outward = turned(
                    (-1 if local(part.kind, unit)[number][0] < 0 else 1, 0), angle, mirror
                )
                self._pin(part.ref, number, (at[0] + x, at[1] + y), outward)
            self.count += 1

    def _room(self, ends: dict[str, Point]) -> Point:
        """A free place for a symbol with these pin ends."""
        tall = max(y for _, y in ends.values()) - min(y for _, y in ends.values())
        wide = max(x for x, _ in ends.values()) - min(x for x, _ in ends.values())
        x, y = self.at
        if y + tall > ROOM * 4 * GRID:
            x, y = x + COLUMN + 80 * GRID, 40 * GRID
        top = min(v for _, v in ends.values())
        left = min(u for u, _ in ends.values())
        self.at = (x, y + tall + 16 * GRID)
        if wide > COLUMN:
            self.at = (x + wide, y + tall + 16 * GRID)
        return x - left, y - top

    def _symbol(self, part: Part, unit: int, at: Point, turn: tuple[int, str]) -> Tree:
        angle, mirror = turn
        names = [self.design.name, "symbol", part.ref, *([unit] if unit else [])]
        project = ["project", Name(self.design.name)]
        root = f"/{unique_id(self.design.name, 'sheet')}"
        path = ["path", Name(root), ["reference", Name(part.ref)], ["unit", str(unit + 1)]]
        return [
            "symbol", ["lib_id", Name(f"{LIBRARY}:{part.kind.name}")],
            ["at", num(at[0]), num(at[1]), str(angle)],
            *([["mirror", mirror]] if mirror else []),
            ["unit", str(unit + 1)],
            ["uuid", Name(unique_id(*names))],
            ["property", Name("Reference"), Name(part.ref), ["at", num(at[0]), num(at[1]), "0"]],
            ["property", Name("Value"), Name(part.value), ["at", num(at[0]), num(at[1]), "0"]],
            ["instances", [*project, path]],
        ]  # fmt: skip

    def _pin(self, ref: str, number: str, at: Point, outward: Point) -> None:
        net = self.design.nets.get((ref, number), "")
        ident = ["uuid", Name(unique_id(self.design.name, "pin", ref, number))]
        if not net:
            self.items.append(["no_connect", ["at", num(at[0]), num(at[1])], ident])
            return
        nameless = net.startswith("=")
        self.nameless += nameless
        far = STUB + FINE * self.nameless if nameless else STUB
        end = (at[0] + outward[0] * far, at[1] + outward[1] * far)
        self._wire(at, end, f"{ref}.{number}")
        if nameless:
            self.ends.setdefault(net, []).append(end)
            return
        kind = "label" if net.startswith("/") else "global_label"
        shape = [["shape", "passive"]] if kind == "global_label" else []
        name = Name(net.removeprefix("/"))
        self.items.append([kind, name, *shape, ["at", num(end[0]), num(end[1]), "0"], ident])

    def _wire(self, a: Point, b: Point, name: str) -> None:
        points = ["pts", ["xy", num(a[0]), num(a[1])], ["xy", num(b[0]), num(b[1])]]
        ident = ["uuid", Name(unique_id(self.design.name, "wire", name))]
        self.items.append(["wire", points, ident])

    def wire_nameless(self) -> None:
        """Straight wires along each net that has no name, from end to end of its stubs."""
        for net, ends in self.ends.items():
            for number, (a, b) in enumerate(pairwise(ends)):
                self._wire(a, b, f"{net}.{number}")
