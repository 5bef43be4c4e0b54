"""What copper joins on real boards, against shapely's distances and scipy's components.

Shapes are built anew from the model: pads turned with complex numbers, arcs from
the circle through three points, fills made valid by shapely.  Two elements of one
net on a shared layer touch when their cores are no farther apart than their radii.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely
from conftest import board_paths
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from renet.columns import pad_columns
from renet.copper import Mode, foreign, join
from renet.model import Board, Pad
from renet.read.board import read_board
from renet.recopper import CopperChange, carry, held_pins
from renet.shapes import elements

TOLERANCE = 5.0
"""Nanometres; the same as in ``renet.touch``."""

real_boards = pytest.mark.parametrize("path", board_paths(), ids=lambda path: path.stem)


class Shapes:
    """Cores of all copper as shapely geometries, with radius and element of each."""

    def __init__(self, board: Board) -> None:
        self.shapes: list[shapely.Geometry] = []
        self.radius: list[float] = []
        self.element: list[int] = []
        count = 0
        for pad in board.pads:
            self._pad(count, pad)
            count += 1
        tracks, vias = board.tracks, board.vias
        for k in range(len(tracks)):
            ends = tracks.ends[k].reshape(2, 2).astype(float)
            line = _arc(ends, tracks.mid[k].astype(float)) if tracks.curved[k] else ends
            self._add(count, shapely.LineString(line), tracks.width[k] / 2)
            count += 1
        for k in range(len(vias)):
            self._add(count, shapely.Point(vias.at[k].astype(float)), vias.size[k] / 2)
            count += 1
        for fill in (fill for zone in board.zones for fill in zone.fills):
            flat = np.array(fill.text.translate(None, b"()xy").split(), dtype=float) * 1e6
            area = shapely.make_valid(shapely.Polygon(np.rint(flat).reshape(-1, 2)))
            self._add(count, area, fill.grow)
            count += 1
        self.count = count

    def _add(self, element: int, shape: shapely.Geometry, radius: float) -> None:
        self.shapes.append(shape)
        self.radius.append(float(radius))
        self.element.append(element)

    def _pad(self, element: int, pad: Pad) -> None:
        turn = np.exp(-1j * np.radians(pad.angle))
        for core in pad.shape.cores if pad.plated else ():
            at = np.array([complex(u, v) for u, v in core.points]) * turn + complex(pad.x, pad.y)
            points = np.stack([at.real, at.imag], axis=1)
            make = (shapely.Point, shapely.LineString, shapely.Polygon)[min(len(points), 3) - 1]
            self._add(element, make(points[0] if len(points) == 1 else points), core.radius)

    def pairs(self) -> np.ndarray:
        """Element pairs (k, 2), both ways round, whose copper touches, whatever net or layer."""
        shapes, radius = np.array(self.shapes), np.array(self.radius)
        boxes = shapely.bounds(shapes) + np.stack([-radius, -radius, radius, radius], axis=1)
        boxes += np.array([-1, -1, 1, 1]) * TOLERANCE
        tree = shapely.STRtree(shapely.box(*boxes.T))
        i, j = tree.query(shapely.box(*boxes.T), predicate="intersects")
        near = shapely.distance(shapes[i], shapes[j]) <= radius[i] + radius[j] + TOLERANCE
        element = np.array(self.element)
        return np.stack([element[i[near]], element[j[near]]], axis=1)


def _arc(ends: np.ndarray, mid: np.ndarray) -> np.ndarray:
    """The circle through three points: the centre is where two bisectors meet."""
    start, end = ends
    rows = 2 * np.stack([mid - start, end - start])
    centre = np.linalg.solve(rows, [mid @ mid - start @ start, end @ end - start @ start])
    angles = [np.arctan2(*(p - centre)[::-1]) for p in (start, mid, end)]
    sweep = (angles[2] - angles[0]) % (2 * np.pi)
    if (angles[1] - angles[0]) % (2 * np.pi) > sweep:
        sweep -= 2 * np.pi
    steps = angles[0] + np.linspace(0, sweep, 400)
    return centre + np.hypot(*(start - centre)) * np.stack([np.cos(steps), np.sin(steps)], axis=1)


@cache
def opened(path: Path) -> tuple[Board, np.ndarray]:
    """A board, and the pairs of elements that touch on a shared layer."""
    board, _ = read_board(path.read_bytes())
    table = elements(board)
    i, j = Shapes(board).pairs().T
    shared = (table.layers[i] & table.layers[j]) != 0
    return board, np.stack([i[shared], j[shared]], axis=1)


@real_boards
def test_copper_joins_what_shapely_says_touches(path: Path) -> None:
    board, pairs = opened(path)
    net = elements(board).net
    i, j = pairs[(net[pairs[:, 0]] == net[pairs[:, 1]]) & (net[pairs[:, 0]] >= 0)].T
    graph = coo_matrix((np.ones(len(i)), (i, j)), shape=(len(net), len(net)))
    _, expected = connected_components(graph, directed=False)
    found = join(board, pad_columns(board), np.ones(len(board.nets), dtype=bool)).label
    both = np.unique(np.stack([expected[net >= 0], found[net >= 0]], axis=1), axis=0)
    assert len(both) == len(np.unique(both[:, 0])) == len(np.unique(both[:, 1]))


@real_boards
def test_copper_of_other_nets_touches_where_shapely_says(path: Path) -> None:
    board, pairs = opened(path)
    table = elements(board)
    i, j = pairs.T
    hit = (i < table.tracks) & (table.net[i] != table.net[j])
    found = foreign(board, table, np.arange(len(table)) < table.tracks)
    assert {tuple(pair) for pair in found.tolist()} == {tuple(p) for p in pairs[hit].tolist()}


def nets_after(before: Board, after: Board, change: CopperChange) -> np.ndarray:
    """The net of every element of ``before`` once the change is made; -2 where it left."""
    table = elements(before)
    tracks, vias = np.full((2, max(len(before.tracks), len(before.vias))), -2)
    for net, rows, now, gone in (
        (tracks, before.tracks, after.tracks, change.removed_tracks),
        (vias, before.vias, after.vias, change.removed_vias),
    ):
        net[np.delete(np.arange(len(rows)), list(gone))] = now.net
    zones = np.delete(np.arange(len(before.zones)), list(change.removed_zones)).tolist()
    zone_net = dict(zip(zones, (zone.net for zone in after.zones), strict=True))
    lost = {zone for zone, _ in change.removed_fills}
    fills = [zone_net.get(z, -2) if z not in lost else -2 for z in table.zone.tolist()]
    lines = [tracks[: len(before.tracks)], vias[: len(before.vias)]]
    return np.concatenate([[pad.net for pad in after.pads], *lines, fills]).astype(np.int64)


@real_boards
@pytest.mark.parametrize("mode", list(Mode), ids=lambda mode: mode.value)
def test_moving_all_that_may_move_shorts_no_pad(path: Path, mode: Mode) -> None:
    board, pairs = opened(path)
    movable = np.array([not pin.fault for pin in board.pins])
    held = held_pins(board, pad_columns(board), mode, movable)
    free = [pin for pin in np.flatnonzero(movable).tolist() if pin not in held]
    nets = np.random.default_rng(7).permutation([board.pins[pin].net for pin in free]).tolist()
    after, change = carry(board, dict(zip(free, nets, strict=True)), mode)
    old, new = elements(board).net, nets_after(board, after, change)
    i, j = pairs[pairs[:, 0] < len(board.pads)].T
    shorted = (new[i] != new[j]) & (new[j] != -2)
    assert not (shorted & (old[i] == old[j])).any()
    assert len(held) < len(board.pins) or mode is Mode.KEEP
