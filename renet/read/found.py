"""Everything in a board file that matters, before nets are told from private names."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from renet.geometry import MAX_EXTENT
from renet.model import IntArray, NetClass
from renet.read.copper import Rows, copper_rows
from renet.read.edge import Line, read_edge
from renet.read.layers import LayerTable
from renet.read.nets import NetNames
from renet.read.pads import PadRows, read_pads
from renet.read.parts import PartRows, read_parts
from renet.read.setup import read_classes
from renet.read.spans import ClassSpans
from renet.read.zones import ZoneRows, zone_rows
from renet.syntax import Tree


class Found(NamedTuple):
    """What was found, in rows by kind; ``edge`` is by the list it stands in."""

    tree: Tree
    layers: LayerTable
    names: NetNames
    parts: PartRows
    pads: PadRows
    tracks: Rows
    vias: Rows
    zones: ZoneRows
    edge: dict[int, Line]
    classes: tuple[tuple[NetClass, ...], tuple[ClassSpans, ...]]


def find(tree: Tree) -> Found:
    """Look through a board's tree once."""
    top = tree.family(np.zeros(1, dtype=np.int64))
    layers = LayerTable(tree)
    names = NetNames(tree, top)
    parts = read_parts(tree, top, layers)
    return Found(
        tree=tree,
        layers=layers,
        names=names,
        parts=parts,
        pads=read_pads(tree, parts, layers, names),
        tracks=copper_rows(tree, top, names, (b"segment", b"arc")),
        vias=copper_rows(tree, top, names, (b"via",)),
        zones=zone_rows(tree, top, parts.family, names),
        edge=read_edge(tree, parts),
        classes=read_classes(tree, top),
    )


def check_extent(found: Found, track_ends: IntArray, via_at: IntArray) -> None:
    """Refuse a board that is too wide for exact 64-bit orientation tests."""
    edge = [(index, *at) for index, line in found.edge.items() for at in line]
    flat: IntArray = np.array(edge, dtype=np.int64).reshape(-1, 3)
    tracks = np.repeat(found.tracks.family.of, 2)
    lists = np.concatenate([found.pads.lists, tracks, found.vias.family.of, flat[:, 0]])
    for axis, pads in enumerate((found.pads.x, found.pads.y)):
        ends = track_ends[:, axis::2].reshape(-1)
        along = np.concatenate([pads, ends, via_at[:, axis], flat[:, axis + 1]])
        if len(along) and int(along.max()) - int(along.min()) > MAX_EXTENT:
            far = int(np.argmax(np.abs(along - int(np.median(along)))))
            what = "the board is wider than 2 m: this stands too far from the rest"
            raise found.tree.fault(int(found.tree.start[lists[far]]), what, "move it or remove it")
