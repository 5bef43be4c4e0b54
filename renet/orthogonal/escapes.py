"""Where each pad leaves its part, in which direction and on which layer.

A pad leaves the box of its part's pads, grown by a clearance and a via, on the
nearest edge; edges that are nearer or farther by less than half a pitch are as
near, and the link's partner then decides.  A pad with a fan-out of its own
leaves at the fan-out's free end.  Inner pads of a grid of pads leave by depth:
``k`` rows from the edge, on layer ``k // t`` counted from the pad's side, where
``t`` is one or two tracks, as many as fit between two pads.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from itertools import pairwise
from typing import NamedTuple

from renet.channels.sizes import Sizes
from renet.channels.stackup import Directions
from renet.columns import PadColumns
from renet.copper import Joined
from renet.geometry import place
from renet.model import Board, Part

Point = tuple[int, int]
Box = tuple[int, int, int, int]

STEPS: tuple[Point, ...] = ((1, 0), (-1, 0), (0, 1), (0, -1))
"""Directions as steps: east, west, south, north (y down); the numbers are those of ``Escape``."""

ANY = -1
HORIZONTAL, VERTICAL, BOTH = 1, 2, 3
MOST_BETWEEN = 2
SAME_ROW_NM = 10_000


class Escape(NamedTuple):
    """One pad.  ``exits`` are (direction, point): one, or several that are equally near.

    ``layer`` counts planned layers from the front, or is ``ANY``.  ``drop`` is
    the via that it takes to get there, ``ways`` in which directions a track can
    leave without one more.  ``body`` is the box of the part's pads.  ``fixed``:
    copper leads to the escape point already.
    """

    at: Point
    exits: tuple[tuple[int, Point], ...]
    layer: int
    drop: int
    ways: int
    body: Box
    fixed: bool = False


class Lane(NamedTuple):
    """How a pad gets off its part: a layer, the via it takes, the directions open then."""

    layer: int
    drop: int
    ways: int


def escapes_of(
    board: Board, cols: PadColumns, joined: Joined, directions: Directions, sizes: Sizes
) -> tuple[Escape, ...]:
    """The escape of every pad; ``joined`` is the copper that counts."""
    ends = _free_ends(board, joined, directions)
    found: list[Escape | None] = [None] * len(board.pads)
    for part in board.parts:
        if not part.pads:
            continue
        own = cols.corners[part.pads.start : part.pads.stop].reshape(-1, 2)
        low, high = own.min(axis=0).tolist(), own.max(axis=0).tolist()
        body = low[0], low[1], high[0], high[1]
        depth = _depths(board, part, sizes)
        for pad in part.pads:
            at = board.pads[pad].x, board.pads[pad].y
            lane = _lane(board, pad, depth[pad - part.pads.start], directions)
            exits = _exits(at, body, sizes)
            if pad in ends:
                exits, lane = ends[pad]
            found[pad] = Escape(at, exits, *lane, body, pad in ends)
    return tuple(one for one in found if one is not None)


def _exits(at: Point, body: Box, sizes: Sizes) -> tuple[tuple[int, Point], ...]:
    room = sizes.clearance + sizes.via
    x0, y0, x1, y1 = body[0] - room, body[1] - room, body[2] + room, body[3] + room
    points = ((x1, at[1]), (x0, at[1]), (at[0], y1), (at[0], y0))
    away = [abs(x - at[0]) + abs(y - at[1]) for x, y in points]
    near = 2 * min(away) + sizes.pitch
    return tuple((side, points[side]) for side in range(4) if 2 * away[side] < near)


def _lane(board: Board, pad: int, depth: int, directions: Directions) -> Lane:
    """By which layer a pad leaves whose depth in layers is known."""
    entry, layers = board.pads[pad], directions.layers
    depth = min(depth, len(layers) - 1)
    if entry.through:
        return Lane(depth if depth else ANY, 0, BOTH)
    front = bool(entry.layers & 1)
    layer = depth if front else len(layers) - 1 - depth
    if depth or not entry.layers >> layers[layer] & 1:
        return Lane(layer, 1, BOTH)
    return Lane(layer, 0, _way(directions, layers[layer]))


def _way(directions: Directions, layer: int) -> int:
    return HORIZONTAL if directions.ways[layer] == "h" else VERTICAL


def _depths(board: Board, part: Part, sizes: Sizes) -> list[int]:
    """Per pad of a part how many layers deep it stands; 0 unless the pads make a grid."""
    pads = [board.pads[pad] for pad in part.pads]
    local = place([(pad.x - part.x, pad.y - part.y) for pad in pads], 0, 0, -part.angle)
    columns, rows = (_ranks([point[axis] for point in local]) for axis in (0, 1))
    wide, high = max(columns) + 1, max(rows) + 1
    if min(wide, high) < 3 or 2 * len(pads) < wide * high:
        return [0] * len(pads)
    size = max(max(pad.shape.box[2] - pad.shape.box[0], pad.shape.box[3] - pad.shape.box[1])
               for pad in pads)  # fmt: skip
    xs, ys = ([point[axis] for point in local] for axis in (0, 1))
    gap = min((max(xs) - min(xs)) // (wide - 1), (max(ys) - min(ys)) // (high - 1)) - size
    between = min(max((gap - sizes.clearance) // sizes.pitch, 1), MOST_BETWEEN)
    return [
        min(c, wide - 1 - c, r, high - 1 - r) // between for c, r in zip(columns, rows, strict=True)
    ]


def _ranks(values: list[int]) -> list[int]:
    """Which row each value is in; values within a hundredth of a millimetre are in one."""
    order = sorted(range(len(values)), key=values.__getitem__)
    ranks = [0] * len(values)
    rank = 0
    for before, now in pairwise(order):
        rank += values[now] - values[before] > SAME_ROW_NM
        ranks[now] = rank
    return ranks


def _free_ends(
    board: Board, joined: Joined, directions: Directions
) -> dict[int, tuple[tuple[tuple[int, Point], ...], Lane]]:
    """For pads whose counted copper reaches no other pad: how its farthest free end goes on."""
    alone = Counter(joined.pads.tolist())
    tracks: defaultdict[int, list[int]] = defaultdict(list)
    for track, label in enumerate(joined.tracks.tolist()):
        tracks[label].append(track)
    vias = set(zip(joined.vias.tolist(), map(tuple, board.vias.at.tolist()), strict=True))
    found: dict[int, tuple[tuple[tuple[int, Point], ...], Lane]] = {}
    for pad, label in enumerate(joined.pads.tolist()):
        if alone[label] == 1 and label in tracks:
            end = _farthest(board, pad, tracks[label])
            if end is not None:
                lane = _track_lane(board, end[2], directions)
                if (label, end[1]) in vias:
                    lane = Lane(ANY, 0, BOTH)
                found[pad] = ((end[:2],), lane)
    return found


def _farthest(board: Board, pad: int, tracks: list[int]) -> tuple[int, Point, int] | None:
    """Direction, point and track of the free end farthest from a pad; None if all is in the pad."""
    ends = board.tracks.ends[tracks].tolist()
    times = Counter((x, y) for row in ends for x, y in (row[:2], row[2:]))
    at = board.pads[pad]
    half = max(map(abs, at.shape.box))
    best: tuple[int, Point, int, int] | None = None
    for track, (x1, y1, x2, y2) in zip(tracks, ends, strict=True):
        for (x, y), (u, v) in (((x1, y1), (x2, y2)), ((x2, y2), (x1, y1))):
            away = abs(x - at.x) + abs(y - at.y)
            if times[x, y] == 1 and away > half and (best is None or away > best[0]):
                best = away, (x, y), _heading(x - u, y - v), track
    return None if best is None else (best[2], best[1], best[3])


def _heading(dx: int, dy: int) -> int:
    """The direction in which a step mainly goes."""
    if abs(dx) >= abs(dy):
        return 0 if dx >= 0 else 1
    return 2 if dy >= 0 else 3


def _track_lane(board: Board, track: int, directions: Directions) -> Lane:
    """A fan-out that ends in a track goes on there; on a layer that is not planned, by a via."""
    layer = int(board.tracks.layer[track])
    if layer not in directions.layers:
        return Lane(ANY, 1, BOTH)
    return Lane(directions.layers.index(layer), 0, _way(directions, layer))
