"""Zones with their fills; outlines and fills stay raw text until somebody needs them.

Zones of the board and zones inside footprints are alike here: both are stored
in coordinates of the board.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from renet.model import BoolArray, Fill, IntArray, Zone
from renet.read.layers import LayerTable
from renet.read.lists import raws
from renet.read.nets import NetIds, NetNames
from renet.read.spans import Span, ZoneSpans
from renet.syntax import Family, Tree


@dataclass(frozen=True, slots=True)
class ZoneRows:
    """Zones in file order, by what stands in them; ``fills`` are by zone."""

    lists: IntArray
    value: IntArray
    name: IntArray
    carried: IntArray
    layers: list[bytes]
    outlines: list[tuple[bytes, ...]]
    fills: list[list[tuple[bytes, bytes, Span]]]
    grow: list[int]
    teardrop: BoolArray
    rule_area: BoolArray

    def __len__(self) -> int:
        return len(self.lists)


def zone_rows(tree: Tree, top: Family, parts: Family, names: NetNames) -> ZoneRows:
    """All zones of the board and of its footprints."""
    sources = [tree.family(family.having(b"zone")[0]) for family in (top, parts)]
    made = [_rows(tree, family, names) for family in sources if len(family.of)]
    if len(made) == 1:
        return made[0]
    return _merged(made) if made else _rows(tree, sources[0], names)


def zones_of(
    rows: ZoneRows, layers: LayerTable, nets: NetIds, locked: BoolArray
) -> tuple[Zone, ...]:
    """The zones of the model."""
    return tuple(
        Zone(
            net=net,
            layers=layers.mask_of(rows.layers[index]),
            outline=rows.outlines[index],
            fills=_fills(rows, index, layers),
            teardrop=teardrop,
            rule_area=rule_area,
            locked=fixed,
        )
        for index, (net, teardrop, rule_area, fixed) in enumerate(
            zip(
                nets.of(rows.carried).tolist(),
                rows.teardrop.tolist(),
                rows.rule_area.tolist(),
                locked[rows.lists].tolist(),
                strict=True,
            )
        )
    )


def zone_spans(tree: Tree, rows: ZoneRows) -> tuple[ZoneSpans, ...]:
    """Where the zones and their nets and fills stand."""
    starts, ends = tree.leads(tree.start[rows.lists]).tolist(), tree.end[rows.lists].tolist()
    values, names = map(tuple, rows.value.tolist()), map(tuple, rows.name.tolist())
    fills = [tuple(span for _, _, span in entry) for entry in rows.fills]
    nodes = zip(starts, ends, strict=True)
    columns = zip(nodes, values, names, fills, rows.carried.tolist(), strict=True)
    return tuple(ZoneSpans(*row) for row in columns)


def _fills(rows: ZoneRows, index: int, layers: LayerTable) -> tuple[Fill, ...]:
    """Fills of one zone; one that names no layer is on the zone's first."""
    mask = layers.mask_of(rows.layers[index])
    own = (mask & -mask).bit_length() - 1
    grow = rows.grow[index]
    return tuple(
        Fill(layers.id_of(layer) if layer else own, text, grow)
        for text, layer, _ in rows.fills[index]
    )


def _rows(tree: Tree, family: Family, names: NetNames) -> ZoneRows:
    value = tree.inners(family.first(b"net"), b"net")
    return ZoneRows(
        lists=family.of,
        value=value,
        name=tree.inners(family.first(b"net_name"), b"net_name"),
        carried=names.of_values(value),
        layers=_layer_texts(tree, family),
        outlines=_outlines(tree, family),
        fills=_fill_texts(tree, family),
        grow=_grow(tree, family),
        teardrop=_teardrops(tree, family),
        rule_area=family.first(b"keepout") >= 0,
    )


def _merged(made: Sequence[ZoneRows]) -> ZoneRows:
    """Rows from several places, in file order."""
    lists = np.concatenate([rows.lists for rows in made])
    order = np.argsort(lists)

    def column(name: str) -> IntArray:
        return np.asarray(np.concatenate([getattr(rows, name) for rows in made])[order])

    def entries(name: str) -> list[object]:
        flat = [entry for rows in made for entry in getattr(rows, name)]
        return [flat[index] for index in order.tolist()]

    columns = {name: column(name) for name in _COLUMNS}
    return ZoneRows(**columns, **{name: entries(name) for name in _ENTRIES})  # type: ignore[arg-type]


_COLUMNS = ("lists", "value", "name", "carried", "teardrop", "rule_area")
_ENTRIES = ("layers", "outlines", "fills", "grow")


def _layer_texts(tree: Tree, family: Family) -> list[bytes]:
    """The layers of each zone, as written in either of the two lists."""
    one = raws(tree, family.first(b"layer"), b"layer")
    many = raws(tree, family.first(b"layers"), b"layers")
    return [single or several for single, several in zip(one, many, strict=True)]


def _outlines(tree: Tree, family: Family) -> list[tuple[bytes, ...]]:
    polygons, owner = family.having(b"polygon")
    texts = raws(tree, tree.family(polygons).first(b"pts"), b"pts")
    found: list[list[bytes]] = [[] for _ in family.of]
    for zone, text in zip(owner.tolist(), texts, strict=True):
        found[zone].append(text)
    return [tuple(entry) for entry in found]


def _fill_texts(tree: Tree, family: Family) -> list[list[tuple[bytes, bytes, Span]]]:
    """Coordinates, layer and span of every fill of each zone.

    Old zones may be filled with lines instead: each is a fill of two points.
    """
    found: list[list[tuple[bytes, bytes, Span]]] = [[] for _ in family.of]
    for keyword in (b"filled_polygon", b"fill_segments"):
        lists, owner = family.having(keyword)
        inside = tree.family(lists)
        points, of = inside.having(b"pts")
        layer = raws(tree, inside.first(b"layer"), b"layer")
        starts, ends = tree.leads(tree.start[lists]).tolist(), tree.end[lists].tolist()
        texts = raws(tree, points, b"pts")
        for fill, zone, text in zip(of.tolist(), owner[of].tolist(), texts, strict=True):
            found[zone].append((text, layer[fill], (starts[fill], ends[fill])))
    return found


def _grow(tree: Tree, family: Family) -> list[int]:
    """By how much the outline of each zone's fills is still to be grown.

    Half the least width, rounded up, unless the file says that its fills have
    no width of their own.
    """
    width = tree.numbers(family.first(b"min_thickness"), b"min_thickness", 1, least=0)[:, 0]
    says = raws(tree, family.first(b"filled_areas_thickness"), b"filled_areas_thickness")
    final = np.array([text == b"no" for text in says], dtype=bool)
    grow: list[int] = np.where(final, 0, (width + 1) // 2).tolist()
    return grow


def _teardrops(tree: Tree, family: Family) -> BoolArray:
    attributes = family.first(b"attr")
    found = np.zeros(len(attributes), dtype=bool)
    some = np.flatnonzero(attributes >= 0)
    found[some] = tree.family(attributes[some]).first(b"teardrop") >= 0
    return found
