"""Small boards straight from model records, for tests that need no file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from renet.model import NONE, Board, Core, Layer, Pad, Part, Pin, Shape, Tracks, Vias

MM = 1_000_000
SQUARE = Shape((-MM // 2, -MM // 2, MM // 2, MM // 2), (Core(((0, 0),), MM // 2),))


def no_tracks() -> Tracks:
    """Zero rows of every column."""
    empty = np.zeros(0, dtype=np.int64)
    pairs = np.zeros((0, 2), dtype=np.int64)
    flags = np.zeros(0, dtype=bool)
    return Tracks(np.zeros((0, 4), dtype=np.int64), pairs, flags, empty, empty, empty, flags)


def no_vias() -> Vias:
    """Zero rows of every column."""
    empty = np.zeros(0, dtype=np.int64)
    return Vias(
        np.zeros((0, 2), dtype=np.int64), empty, empty, empty, empty, np.zeros(0, dtype=bool)
    )


def board_of(parts: Mapping[str, Mapping[str, str | None]], pitch: int = 2 * MM) -> Board:
    """A two-layer board: parts in columns 20 mm apart, pins down each column.

    ``parts`` maps reference to (pad number -> net name or None).
    """
    names = list(dict.fromkeys(net for pins in parts.values() for net in pins.values() if net))
    made_parts, pins, pads = [], [], []
    for column, (ref, wanted) in enumerate(parts.items()):
        first = len(pins)
        for row, (number, net) in enumerate(wanted.items()):
            net_id = NONE if net is None else names.index(net)
            x, y = column * 20 * MM, row * pitch
            pads.append(Pad(column, len(pins), x, y, 0.0, 1, False, True, SQUARE, net_id))
            pins.append(Pin(column, number, "", "", False, net_id, (len(pads) - 1,), ""))
        span = range(first, len(pins))
        made_parts.append(Part(ref, "", "", column * 20 * MM, 0, 0.0, False, span, span))
    layers = (Layer("F.Cu", "signal"), Layer("B.Cu", "signal"))
    return bare_board(layers, names, made_parts, pins, pads)


def bare_board(
    layers: Sequence[Layer],
    nets: Sequence[str],
    parts: Sequence[Part],
    pins: Sequence[Pin],
    pads: Sequence[Pad],
) -> Board:
    """A board with parts and nothing else: no copper, edge or settings."""
    return Board(
        version=20260206,
        layers=tuple(layers),
        nets=tuple(nets),
        parts=tuple(parts),
        pins=tuple(pins),
        pads=tuple(pads),
        tracks=no_tracks(),
        vias=no_vias(),
        zones=(),
        edge=(),
        stackup=(),
        classes=(),
        thickness=1_600_000,
    )
