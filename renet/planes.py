"""Which nets are planes: they are fed by areas of copper, not by connections.

The rules are those of the design (section 2): (a) zones that join pads of the net
cover most of them, (b) zones fill most of the board on a layer, (c) several power pins, or on
a board without pin types a supply's name and many pads.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from fnmatch import fnmatchcase

import numpy as np

from renet.columns import PadColumns
from renet.geometry import doubled_area, inside, points
from renet.model import NONE, Board, BoolArray, IntArray, Zone

MANY_PADS = 12
POWER_TYPES = frozenset({"power_in", "power_out"})
EDGE_GAP_NM = 1_000

# Common practice, no source: what engineers call grounds and supplies.  Matched against the last
# part of a hierarchical name, in any case.
SUPPLY_NAME = re.compile(
    r"""
    [adpes]?_?gnd [adpes]? (iso|io|pwr|pll|rf|\d)* ([_-]\w+)?   # GND, AGND, GNDA, GND_ISO
    | (gnd|ground|earth|chassis|shield|pe) \d*
    | v (cc|dd|ss|ee|bat|batt|bus|in|out|sys|ref|io|core|aa|pp|pwr|usb|ext|mot|raw) \w* ([_+.-]\w+)*
    | [avdp] v (cc|dd|ss|ee) \w*                                  # AVDD, DVSS
    | [+-]? \d+ (v \d* | [.,p] \d+ v?) \w* ([_-]\w+)*             # 3V3, +5V, -12V, +3.3V, 1.8VA
    | [+-]? v \d+ ([.,pv]? \d+)?  \w*                             # V3.3, +V5
    | [+-] (bat|batt|vbat|vin)
    """,
    re.VERBOSE | re.IGNORECASE,
)


def left_out(
    board: Board, cols: PadColumns, include: Sequence[str], leave_out: Sequence[str]
) -> dict[int, str]:
    """Net ids that are left out of the tangle, each with why, in order of ids.

    ``include`` and ``leave_out`` are globs on net names, or the very names;
    ``leave_out`` wins over ``include``, and both over the rules.
    """
    found = {}
    rules = _Rules(board, cols)
    for net, name in enumerate(board.nets):
        if named(name, leave_out):
            found[net] = "named in leave_out"
        elif not named(name, include):
            why = rules.why(net)
            if why:
                found[net] = why
    return found


def named(name: str, patterns: Iterable[str]) -> bool:
    """Whether a pattern is this name, or a glob that fits it (upper and lower case differ)."""
    return any(name == pattern or fnmatchcase(name, pattern) for pattern in patterns)


def supply_name(name: str) -> bool:
    """Whether a net is called like a ground or a supply (common practice, no source)."""
    return SUPPLY_NAME.fullmatch(name.rsplit("/", 1)[-1]) is not None


class _Rules:
    """The three rules, with what they need of the board sorted by net."""

    def __init__(self, board: Board, cols: PadColumns) -> None:
        self.board, self.cols = board, cols
        self.types = any(pin.type for pin in board.pins)
        self.pads: list[list[int]] = [[] for _ in board.nets]
        self.power = [0] * len(board.nets)
        self.zones: list[list[Zone]] = [[] for _ in board.nets]
        for pad, entry in enumerate(board.pads):
            if entry.net != NONE and cols.node[pad]:
                self.pads[entry.net].append(pad)
        for pin in board.pins:
            if pin.net != NONE:
                self.power[pin.net] += pin.type in POWER_TYPES
        for zone in board.zones:
            if zone.net != NONE and not zone.teardrop and not zone.rule_area:
                self.zones[zone.net].append(zone)
        self.area = outline_area(board)

    def why(self, net: int) -> str:
        """Why ``net`` is a plane; empty if it is none."""
        return self._covered(net) or self._powered(net) or self._filled(net)

    def _covered(self, net: int) -> str:
        pads, zones = self.pads[net], self.zones[net]
        if not pads or not zones:
            return ""
        at = np.stack([self.cols.x[pads], self.cols.y[pads]], axis=1)
        under = np.zeros(len(pads), dtype=bool)
        for zone in zones:
            within = _inside_outline(zone, at)
            if within.sum() >= 2:  # a zone at one pad is a teardrop that older files do not mark
                under |= within
        count = int(under.sum())
        return f"zones cover {count} of its {len(pads)} pads" if 2 * count >= len(pads) else ""

    def _powered(self, net: int) -> str:
        if self.types:
            count = self.power[net]
            return f"{count} power pins" if count >= 2 else ""
        pads = len(self.pads[net])
        if pads > MANY_PADS and supply_name(self.board.nets[net]):
            return f"called like a supply, with {pads} pads"
        return ""

    def _filled(self, net: int) -> str:
        if not self.area:
            return ""
        for layer, name in enumerate(self.board.layers):
            share = self._doubled_fill(net, layer) / self.area
            if share > 0.5:
                return f"zones fill {share:.0%} of layer {name.name}"
        return ""

    def _doubled_fill(self, net: int, layer: int) -> int:
        """Twice the filled area on a layer; of the outlines where nothing is filled there."""
        zones = [zone for zone in self.zones[net] if zone.layers >> layer & 1]
        fills = [fill for zone in self.zones[net] for fill in zone.fills if fill.layer == layer]
        if fills:
            return sum(doubled_area(points(fill.text)) for fill in fills)
        return sum(_doubled_outline(zone) for zone in zones)


def _inside_outline(zone: Zone, at: IntArray) -> BoolArray:
    """Which points lie inside the outline; further contours are holes in the first."""
    odd = np.zeros(len(at), dtype=bool)
    for contour in zone.outline:
        odd ^= inside(points(contour), at)
    return odd


def _doubled_outline(zone: Zone) -> int:
    first, *holes = (doubled_area(points(contour)) for contour in zone.outline or (b"",))
    return max(first - sum(holes), 0)


def outline_area(board: Board) -> int:
    """Twice the area inside the board's edge: its largest loop, else its bounding box."""
    loops = [loop for loop in _loops(board.edge) if len(loop) > 2]
    if loops:
        return max(doubled_area(loop) for loop in loops)
    flat = [point for piece in board.edge for point in piece]
    if not flat:
        return 0
    xs, ys = [x for x, _ in flat], [y for _, y in flat]
    return 2 * (max(xs) - min(xs)) * (max(ys) - min(ys))


Piece = tuple[tuple[int, int], ...]


def _loops(edge: Sequence[Piece]) -> list[list[tuple[int, int]]]:
    """Closed chains of the outline's pieces, joined where ends are ``EDGE_GAP_NM`` apart or less.

    Empty unless every piece finds its way into a loop.
    """
    rest = dict(enumerate(edge))
    ends: dict[tuple[int, int], list[int]] = {}
    for index, piece in rest.items():
        for x, y in (piece[0], piece[-1]):
            ends.setdefault((x // EDGE_GAP_NM, y // EDGE_GAP_NM), []).append(index)
    loops = []
    while rest:
        _, first = rest.popitem()
        chain = list(first)
        while not _close(chain[0], chain[-1]):
            step = _next(chain[-1], rest, ends)
            if step is None:
                return []
            chain += step[1:]
        loops.append(chain[:-1])
    return loops


def _next(
    at: tuple[int, int], rest: dict[int, Piece], ends: dict[tuple[int, int], list[int]]
) -> Piece | None:
    """The lowest piece left that starts or ends at a point, turned to start there."""
    column, row = at[0] // EDGE_GAP_NM, at[1] // EDGE_GAP_NM
    near = sorted(
        index
        for dx in (-1, 0, 1)
        for dy in (-1, 0, 1)
        for index in ends.get((column + dx, row + dy), ())
        if index in rest
    )
    for index in near:
        piece = rest[index]
        if _close(piece[0], at) or _close(piece[-1], at):
            del rest[index]
            return piece if _close(piece[0], at) else piece[::-1]
    return None


def _close(a: tuple[int, int], b: tuple[int, int]) -> bool:
    return max(abs(a[0] - b[0]), abs(a[1] - b[1])) <= EDGE_GAP_NM
