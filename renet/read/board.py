"""Board files of every version: bytes to model and side table.

What a file has is told from its shape, never from its version number: newer
programs write old shapes, and boards made by scripts mix them.
"""

from __future__ import annotations

from itertools import pairwise, starmap

import numpy as np

from renet.model import NONE, Board, Part
from renet.read.copper import tracks_of, vias_of
from renet.read.found import Found, check_extent, find
from renet.read.kind import BOARD, expect
from renet.read.nets import PRIVATE, NetIds
from renet.read.pads import PadRows, pad_records, pin_records
from renet.read.parts import PartRows
from renet.read.setup import read_stackup, read_thickness, read_version
from renet.read.spans import BoardSpans
from renet.read.zones import zone_spans, zones_of
from renet.syntax import parse

_LONG_NAMES = 20221018
"""The first version seen whose private names hold the name of the pin."""


def read_board(data: bytes) -> tuple[Board, BoardSpans]:
    """The board in ``data`` and where everything stands; InputError with line and column."""
    board, spans = read_open_board(data)
    spans.tree.settle()
    return board, spans


def read_open_board(data: bytes) -> tuple[Board, BoardSpans]:
    """As :func:`read_board`, for who has more to ask of many lists: the tree is not settled."""
    expect(data, BOARD)
    found = find(parse(data))
    nets = NetIds(found.names.names, found.pads.spans.carried, found.pads.carriers)
    board = _board(found, nets)
    check_extent(found)
    return board, _spans(found, nets, board)


def _board(found: Found, nets: NetIds) -> Board:
    tree, layers, pads = found.tree, found.layers, found.pads
    kinds, at = found.kinds, found.at
    pad_nets = nets.of(pads.spans.carried)
    return Board(
        version=read_version(tree),
        layers=layers.layers,
        nets=nets.nets,
        parts=_part_records(found.parts, pads),
        pins=pin_records(pads, pad_nets, found.parts),
        pads=pad_records(pads, pad_nets),
        tracks=tracks_of(kinds.tracks, at, found.sizes, layers, nets.of(found.tracks.carried)),
        vias=vias_of(kinds.vias, at, found.sizes, layers, nets.of(found.vias.carried)),
        zones=zones_of(found.zones, layers, nets.of(found.zones_carry.name)),
        edge=tuple(found.edge.values()),
        stackup=read_stackup(tree, layers),
        classes=found.classes,
        thickness=read_thickness(tree),
    )


def _part_records(parts: PartRows, pads: PadRows) -> tuple[Part, ...]:
    """Parts with the ranges of their pins and pads, which are numbered part by part."""
    numbers, firsts = np.unique(pads.pin, return_index=True)
    bounds = np.arange(len(parts) + 1)
    pin_owner = pads.owner[firsts[numbers != NONE]]
    ranges = [
        starmap(range, pairwise(np.searchsorted(owner, bounds).tolist()))
        for owner in (pin_owner, pads.owner)
    ]
    x, y, angle = parts.x.tolist(), parts.y.tolist(), parts.angle.tolist()
    heads = (parts.ref, parts.value, parts.footprint, x, y, angle, parts.back)
    return tuple(Part(*row) for row in zip(*heads, *ranges, strict=True))


def _spans(found: Found, nets: NetIds, board: Board) -> BoardSpans:
    tree, names = found.tree, found.names
    line = tree.data.find(b"\n")
    return BoardSpans(
        tree=tree,
        names=tuple(names.names),
        atoms=names.atoms,
        pads=found.pads.spans,
        tracks=found.tracks,
        vias=found.vias,
        zones=zone_spans(found.kinds.zones, found.zones, found.zones_carry),
        rows=names.rows,
        slot=names.slot,
        quoted=found.layers.quoted,
        line_end=b"\r\n" if line > 0 and tree.data[line - 1 : line] == b"\r" else b"\n",
        private=_private_style(found, nets, board),
    )


def _private_style(found: Found, nets: NetIds, board: Board) -> str:
    """What private names of the file look like: "", "number" or "name".

    Seen from those whose pin has a name; where none has, the version decides.
    """
    private = set(nets.private)
    if not private:
        return ""
    names, carried = found.names.names, found.pads.spans.carried
    looks = np.array([*(name in private for name in names), False])  # the last: of no net, -1
    styles = set()
    for row in looks[carried].nonzero()[0].tolist():
        pad = board.pads[row]
        if found.pads.names[row] and pad.pin != NONE:
            short = f"{PRIVATE}{board.parts[pad.part].ref}-Pad{board.pins[pad.pin].number})"
            styles.add("number" if names[int(carried[row])] == short else "name")
    if styles:
        return min(styles)
    return "name" if board.version >= _LONG_NAMES else "number"
