"""The gap that a routed board keeps between tracks and vias of different nets."""

from __future__ import annotations

import numpy as np

from renet import grid
from renet.channels.raster import Floats
from renet.model import NONE, Board, BoolArray, IntArray

OFTEN = 0.02
FEW = 20


def gap_kept(board: Board, signal: BoolArray, most: int) -> int:
    """The least gap in nanometres that all but one in fifty close pairs keep; at most ``most``.

    A pair is a track or via of a ``signal`` net (by net id, the last entry for none) and one of
    another net on a shared layer, closer than ``most``.  A few such pairs show nothing.
    """
    ends, half, mask, net = _copper(board)
    own = np.flatnonzero(signal[net])
    boxes = grid.segment_boxes(ends, half + most)
    field = grid.lay(boxes)
    mine = grid.enter_segments(field, ends[own], half[own])
    found = [np.empty(0)]
    for i, j in grid.pairs_between(mine, grid.enter_segments(field, ends, half + most)):
        i = own[i]
        near = (net[i] != net[j]) & (mask[i] & mask[j] != 0)
        i, j = i[near], j[near]
        gap = _distance(ends[i], ends[j]) - half[i] - half[j]
        found.append(gap[(gap > 0) & (gap < most)])
    gaps = np.concatenate(found)
    return int(np.quantile(gaps, OFTEN, method="lower")) if len(gaps) >= FEW else most


def _copper(board: Board) -> tuple[IntArray, IntArray, IntArray, IntArray]:
    """(ends, half width, layer mask, net) of straight tracks and vias; a via is a point."""
    tracks, vias = board.tracks, board.vias
    straight = np.flatnonzero(~tracks.curved & (tracks.layer != NONE))
    at = np.concatenate([vias.at, vias.at], axis=1)
    return (
        np.concatenate([tracks.ends[straight], at]),
        np.concatenate([tracks.width[straight], vias.size]) // 2,
        np.concatenate([1 << tracks.layer[straight], vias.layers]),
        np.concatenate([tracks.net[straight], vias.net]),
    )


def _distance(a: IntArray, b: IntArray) -> Floats:
    """Distance of segments (n, 4) that do not cross, row by row."""
    pairs = ((a[:, :2], b), (a[:, 2:], b), (b[:, :2], a), (b[:, 2:], a))
    found: Floats = np.minimum.reduce([_to_segment(point, segment) for point, segment in pairs])
    return found


def _to_segment(point: IntArray, segment: IntArray) -> Floats:
    start, along = segment[:, :2], (segment[:, 2:] - segment[:, :2]).astype(np.float64)
    off = (point - start).astype(np.float64)
    square = np.maximum((along * along).sum(axis=1), 1.0)
    share = np.clip((off * along).sum(axis=1) / square, 0.0, 1.0)[:, None]
    return np.asarray(np.hypot(*(off - share * along).T), dtype=np.float64)
