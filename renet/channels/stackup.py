"""Which copper layers carry tracks, which way they run, and which of them face each other.

Order of what decides: ``[board]`` of the rules file; else what the board shows
(an inner layer of kind "power", or one that zones fill and next to no track uses,
is a plane); else the table by copper count.  The table is composed from the
practice that neighbouring signal layers run at right angles and that every
signal layer stands next to a plane (facts, section 2).
"""

from __future__ import annotations

from collections.abc import Collection
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from renet.errors import RulesError
from renet.freedom.layers import directions as ruled
from renet.geometry import doubled_area, points
from renet.model import Board
from renet.planes import outline_area
from renet.rules import Rules

H, V, PLANE = "h", "v", "-"
MOSTLY = 0.4
FEW_TRACKS = 0.05

TABLES: dict[int, tuple[tuple[str, str], ...]] = {
    1: (("one layer, both ways by wire", "h"),),
    2: (("outer layers", "hv"),),
    4: (("planes inside", "h--v"), ("planes outside", "-hv-"), ("no planes", "hvhv")),
    6: (("one inner pair", "h-hv-v"), ("no facing pair", "h-v--h")),
    8: (("no facing pair", "h-v--h-v"), ("one inner pair", "h--hv--v")),
}
"""Names and directions from front to back, by copper count; the first is the default."""


class Directions(NamedTuple):
    """``ways`` has h, v or - per copper layer; ``source`` says who decided, ``planes`` why not."""

    ways: str
    source: str
    planes: dict[int, str]

    @property
    def layers(self) -> tuple[int, ...]:
        """The layers that carry tracks, front to back."""
        return tuple(i for i, way in enumerate(self.ways) if way != PLANE)


def directions_of(board: Board, rules: Rules, left_out: Collection[int]) -> Directions:
    """The directions of ``board``; RulesError where the rules leave one of the two ways out."""
    named = ruled(board, rules)
    if named:
        if len(named) > 1 and len(set(named.values())) < 2:
            way = "vertical" if H in named.values() else "horizontal"
            raise RulesError(
                f"[board] names no {way} layer", "name one", line=rules.board_line or 0
            )
        ways = "".join(named.get(i, PLANE) for i in range(len(board.layers)))
        return Directions(ways, "rules file", dict.fromkeys(_absent(ways), "not named in [board]"))
    planes = plane_layers(board, left_out)
    return _tabled(len(board.layers), planes)


def _absent(ways: str) -> list[int]:
    return [i for i, way in enumerate(ways) if way == PLANE]


def _tabled(count: int, planes: dict[int, str]) -> Directions:
    """A row of the table that has its planes there; without planes the default row; else by turns.

    An outer layer is never taken for a plane: parts need it.
    """
    for name, row in TABLES.get(count, ()):
        if set(_absent(row)) == set(planes):
            return Directions(row, f"the board's planes, {name}", planes)
    if planes or count not in TABLES:
        return Directions(_by_turns(count, planes), "the board's planes, by turns", planes)
    name, row = TABLES[count][0]
    found = dict.fromkeys(_absent(row), "by the table for this number of layers")
    return Directions(row, f"table, {name}", found)


def _by_turns(count: int, planes: Collection[int]) -> str:
    """h, v, h ... over the layers that are no planes."""
    ways = [PLANE] * count
    for turn, layer in enumerate(i for i in range(count) if i not in planes):
        ways[layer] = H if turn % 2 == 0 else V
    return "".join(ways)


def tables_for(board: Board, left_out: Collection[int]) -> list[Directions]:
    """Every sensible assignment for this board, for a comparison; all different.

    Rows of the table whose planes do not stand where the board has signals, the
    layers by turns, and each of them with the two ways exchanged.
    """
    count = len(board.layers)
    planes = plane_layers(board, left_out)
    used = {i for i in range(count) if _tracks(board, left_out)[i] > 0} - set(planes)
    rows = [row for _, row in TABLES.get(count, ()) if not used & set(_absent(row))]
    rows.append(_by_turns(count, planes))
    swap = str.maketrans("hv", "vh")
    found = dict.fromkeys(way for row in rows for way in (row, row.translate(swap)))
    return [Directions(row, "compared", dict.fromkeys(_absent(row), "")) for row in found]


def plane_layers(board: Board, left_out: Collection[int]) -> dict[int, str]:
    """Inner layers that are planes, each with why.

    Outer layers carry the parts, so they are signal layers however much is filled.
    Inner layers with signal tracks of more than a twentieth of the board's are signal layers.
    """
    share, tracks = _filled(board, left_out), _tracks(board, left_out)
    total = sum(tracks) or 1.0
    routed = len(board.tracks) > 0
    found = {}
    for index in range(1, len(board.layers) - 1):
        busy = tracks[index] / total > FEW_TRACKS
        if share[index] > MOSTLY and not busy:
            found[index] = f"zones fill {share[index]:.0%} of it"
        elif board.layers[index].kind == "power" and not busy:
            found[index] = "a power layer by kind"
        elif routed and not busy and _zones_on(board, index, left_out):
            found[index] = "zones of plane nets and hardly a signal track"
    return found


def _zones_on(board: Board, layer: int, left_out: Collection[int]) -> bool:
    return any(zone.net in left_out and zone.layers >> layer & 1 for zone in board.zones)


def _filled(board: Board, left_out: Collection[int]) -> list[float]:
    """Per layer the share of the board that fills of plane nets cover."""
    area = outline_area(board)
    share = [0.0] * len(board.layers)
    if area:
        for zone in board.zones:
            for fill in zone.fills if zone.net in left_out else ():
                if 0 < fill.layer < len(board.layers) - 1:
                    share[fill.layer] += doubled_area(points(fill.text)) / area
    return share


def _tracks(board: Board, left_out: Collection[int]) -> list[float]:
    """Per layer the length of the tracks of nets that are no planes, in nanometres."""
    signal = np.ones(len(board.nets) + 1, dtype=bool)
    signal[list(left_out)] = False
    tracks = board.tracks
    run = np.hypot(tracks.ends[:, 2] - tracks.ends[:, 0], tracks.ends[:, 3] - tracks.ends[:, 1])
    return [
        float(run[(tracks.layer == i) & signal[tracks.net]].sum()) for i in range(len(board.layers))
    ]


def facing(ways: str) -> list[tuple[int, int]]:
    """Pairs of neighbouring copper layers that both carry tracks: nothing lies between them."""
    return [(i, i + 1) for i in range(len(ways) - 1) if PLANE not in ways[i : i + 2]]


def gaps(board: Board) -> tuple[list[tuple[int, float]], str]:
    """Between each copper layer and the next: (distance in nm, relative permittivity), and source.

    Where the file gives no stack-up, the thickness (1.6 mm if that is missing too) is shared
    out evenly at 4.3.  Several sheets between two layers act in series.
    """
    count = len(board.layers)
    copper = [i for i, layer in enumerate(board.stackup) if layer.copper >= 0]
    if len(copper) == count and count > 1:
        found = [_between(board, a + 1, b) for a, b in pairwise(copper)]
        if all(distance > 0 for distance, _ in found):
            return found, "stack-up of the board file"
    even = (board.thickness or 1_600_000) // max(count - 1, 1)
    return [(even, 4.3)] * max(count - 1, 0), "thickness shared out evenly, er 4.3 assumed"


def _between(board: Board, start: int, stop: int) -> tuple[int, float]:
    sheets = board.stackup[start:stop]
    distance = sum(sheet.thickness for sheet in sheets)
    series = sum(sheet.thickness / (sheet.er or 4.3) for sheet in sheets)
    return distance, distance / series if series else 4.3
