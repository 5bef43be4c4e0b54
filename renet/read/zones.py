"""Zones with their fills; outlines and fills stay raw text until somebody needs them.

Zones of the board and zones inside footprints are alike here: both are stored
in coordinates of the board.
"""

from __future__ import annotations

from dataclasses import dataclass

from renet.model import Fill, IntArray, Zone
from renet.read.copper import locked
from renet.read.layers import LayerTable
from renet.read.lists import raws
from renet.read.nets import Carried
from renet.read.spans import Span, ZoneSpans
from renet.syntax import Family


@dataclass(frozen=True, slots=True)
class ZoneRows:
    """Zones in file order, by what stands in them; ``fills`` are by zone."""

    layers: list[bytes]
    outlines: list[tuple[bytes, ...]]
    fills: list[list[tuple[bytes, bytes, Span]]]
    grow: list[int]
    teardrop: list[bool]
    rule_area: list[bool]
    locked: list[bool]


def zone_rows(family: Family, least_widths: IntArray, drawn: bool) -> ZoneRows:
    """All zones of the board and of its footprints.

    ``drawn``: fills were drawn with a pen unless their zone denies it.
    """
    return ZoneRows(
        layers=_layer_texts(family),
        outlines=_outlines(family),
        fills=_fill_texts(family),
        grow=_grow(family, least_widths if drawn else 0 * least_widths),
        teardrop=_teardrops(family),
        rule_area=(family.first(b"keepout") >= 0).tolist(),
        locked=locked(family).tolist(),
    )


def zones_of(rows: ZoneRows, layers: LayerTable, nets: IntArray) -> tuple[Zone, ...]:
    """The zones of the model; ``nets`` are theirs."""
    masks = [layers.mask_of(text) for text in rows.layers]
    fills = [
        _fills(mine, mask, grow, layers)
        for mine, mask, grow in zip(rows.fills, masks, rows.grow, strict=True)
    ]
    columns = (nets.tolist(), masks, rows.outlines, fills, rows.teardrop, rows.rule_area)
    return tuple(Zone(*row) for row in zip(*columns, rows.locked, strict=True))


def zone_spans(family: Family, rows: ZoneRows, carried: Carried) -> tuple[ZoneSpans, ...]:
    """Where the zones and their nets and fills stand."""
    tree = family.tree
    starts, ends = tree.start[family.of].tolist(), tree.end[family.of].tolist()
    names = tree.inners(family.first(b"net_name"), b"net_name")
    fills = [tuple(span for _, _, span in mine) for mine in rows.fills]
    nodes = zip(starts, ends, strict=True)
    values, repeats = map(tuple, carried.value.tolist()), map(tuple, names.tolist())
    columns = zip(nodes, values, repeats, fills, carried.name.tolist(), strict=True)
    return tuple(ZoneSpans(*row) for row in columns)


def _fills(
    found: list[tuple[bytes, bytes, Span]], mask: int, grow: int, layers: LayerTable
) -> tuple[Fill, ...]:
    """Fills of one zone; one that names no layer is on the zone's first."""
    own = (mask & -mask).bit_length() - 1
    return tuple(
        Fill(layers.id_of(layer) if layer else own, text, grow) for text, layer, _ in found
    )


def _layer_texts(family: Family) -> list[bytes]:
    """The layers of each zone, as written in either of the two lists."""
    tree = family.tree
    one = raws(tree, family.first(b"layer"), b"layer")
    many = raws(tree, family.first(b"layers"), b"layers")
    return [single or several for single, several in zip(one, many, strict=True)]


def _outlines(family: Family) -> list[tuple[bytes, ...]]:
    tree = family.tree
    polygons, owner = family.having(b"polygon")
    texts = raws(tree, tree.family(polygons).first(b"pts"), b"pts")
    found: list[list[bytes]] = [[] for _ in family.of]
    for zone, text in zip(owner.tolist(), texts, strict=True):
        found[zone].append(text)
    return [tuple(entry) for entry in found]


def _fill_texts(family: Family) -> list[list[tuple[bytes, bytes, Span]]]:
    """Coordinates, layer and span of every fill of each zone.

    Old zones may be filled with lines instead: each is a fill of two points.
    """
    tree = family.tree
    found: list[list[tuple[bytes, bytes, Span]]] = [[] for _ in family.of]
    for keyword in (b"filled_polygon", b"fill_segments"):
        lists, owner = family.having(keyword)
        if not len(lists):
            continue
        inside = tree.family(lists)
        points, of = inside.having(b"pts")
        layer = raws(tree, inside.first(b"layer"), b"layer")
        starts, ends = tree.start[lists].tolist(), tree.end[lists].tolist()
        texts = raws(tree, points, b"pts")
        for fill, zone, text in zip(of.tolist(), owner[of].tolist(), texts, strict=True):
            found[zone].append((text, layer[fill], (starts[fill], ends[fill])))
    return found


def _grow(family: Family, least_widths: IntArray) -> list[int]:
    """By how much the outline of each zone's fills is still to be grown.

    Half the least width, rounded up, unless the file says that its fills have
    no width of their own.  (Measured on public boards: fills of old files keep
    the clearance and half the least width from other nets, fills that say so and
    those of the newest files, which have no net table, just the clearance.)
    """
    keyword = b"filled_areas_thickness"
    says = raws(family.tree, family.first(keyword), keyword)
    return [
        0 if text == b"no" else (width + 1) // 2
        for text, width in zip(says, least_widths.tolist(), strict=True)
    ]


def _teardrops(family: Family) -> list[bool]:
    attributes, owner = family.having(b"attr")
    found = [False] * len(family.of)
    if len(attributes):
        marked = family.tree.family(attributes).first(b"teardrop") >= 0
        for zone in owner[marked].tolist():
            found[zone] = True
    return found
