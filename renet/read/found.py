"""Everything in a board file that matters, before nets are told from private names."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from renet.geometry import MAX_EXTENT
from renet.model import IntArray, NetClass
from renet.read.copper import copper_spans
from renet.read.edge import Line, read_edge
from renet.read.families import Families, Positions, Sizes, families, read_positions, read_sizes
from renet.read.layers import LayerTable
from renet.read.nets import Carried, NetNames
from renet.read.pads import PadRows, read_pads
from renet.read.parts import PartRows, read_parts
from renet.read.setup import read_classes
from renet.read.spans import CopperSpans
from renet.read.zones import ZoneRows, zone_rows
from renet.syntax import Tree


class Found(NamedTuple):
    """What was found, by kind; ``edge`` is by the list each piece stands in."""

    tree: Tree
    kinds: Families
    at: Positions
    sizes: Sizes
    layers: LayerTable
    names: NetNames
    parts: PartRows
    pads: PadRows
    tracks: CopperSpans
    vias: CopperSpans
    zones: ZoneRows
    zones_carry: Carried
    edge: dict[int, Line]
    classes: tuple[NetClass, ...]


def find(tree: Tree) -> Found:
    """Look through a board's tree once."""
    kinds = families(tree)
    at, sizes = read_positions(kinds), read_sizes(kinds)
    layers, names = LayerTable(tree), NetNames(kinds.top)
    pads, tracks, vias, zones = names.carried(kinds.pads, kinds.tracks, kinds.vias, kinds.zones)
    parts = read_parts(kinds.parts, at.parts, layers)
    return Found(
        tree=tree,
        kinds=kinds,
        at=at,
        sizes=sizes,
        layers=layers,
        names=names,
        parts=parts,
        pads=read_pads(kinds, at.pads, parts, layers, pads),
        tracks=copper_spans(kinds.tracks, tracks),
        vias=copper_spans(kinds.vias, vias),
        zones=zone_rows(kinds.zones, sizes.least_widths, drawn=names.slot is not None),
        zones_carry=zones,
        edge=read_edge(tree, parts),
        classes=read_classes(kinds.top),
    )


def check_extent(found: Found) -> None:
    """Refuse a board that is too wide for exact 64-bit orientation tests."""
    kinds, at = found.kinds, found.at
    edge = [(index, *point) for index, line in found.edge.items() for point in line]
    flat: IntArray = np.array(edge, dtype=np.int64).reshape(-1, 3)
    tracks = kinds.tracks.of
    lists = np.concatenate([kinds.pads.of, tracks, tracks, kinds.vias.of, flat[:, 0]])
    for axis, pads in enumerate((found.pads.x, found.pads.y)):
        ends = (at.starts[:, axis], at.ends[:, axis])
        along = np.concatenate([pads, *ends, at.vias[:, axis], flat[:, axis + 1]])
        if len(along) and int(along.max()) - int(along.min()) > MAX_EXTENT:
            far = int(np.argmax(np.abs(along - int(np.median(along)))))
            what = "the board is wider than 2 m: this stands too far from the rest"
            raise found.tree.fault(int(found.tree.start[lists[far]]), what, "move it or remove it")
