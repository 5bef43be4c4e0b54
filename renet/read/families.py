"""The lists of a board that matter, by kind, and the numbers in them, all read at once.

Reading many columns of numbers costs little more than reading one, so all
positions of a board are read together, and so are all sizes.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from renet.model import BoolArray, IntArray
from renet.syntax import Family, Tree

_MEND = "mend the file in the program that wrote it"


class Families(NamedTuple):
    """Lists with their children, in file order; ``pad_owner`` is the part of each pad.

    Zones stand at the top level and inside footprints; both are in ``zones``.
    """

    top: Family
    parts: Family
    pads: Family
    pad_owner: IntArray
    tracks: Family
    vias: Family
    zones: Family


class Positions(NamedTuple):
    """Columns by kind: x, y and for parts and pads the angle in millionths of a degree.

    ``mids`` are the middle points of arcs; straight tracks repeat their start.
    """

    parts: IntArray
    pads: IntArray
    starts: IntArray
    ends: IntArray
    mids: IntArray
    curved: BoolArray
    vias: IntArray


class Sizes(NamedTuple):
    """Columns by kind, 0 where a file may leave one out and does."""

    widths: IntArray
    vias: IntArray
    drills: IntArray
    least_widths: IntArray


def families(tree: Tree) -> Families:
    """Look up all kinds of lists."""
    top = tree.family(np.zeros(1, dtype=np.int64))
    parts = tree.family(_either(top, b"footprint", b"module"))
    pads, owner = parts.having(b"pad")
    zones = np.concatenate([top.having(b"zone")[0], parts.having(b"zone")[0]])
    return Families(
        top=top,
        parts=parts,
        pads=tree.family(pads),
        pad_owner=owner,
        tracks=tree.family(_either(top, b"segment", b"arc")),
        vias=tree.family(top.having(b"via")[0]),
        zones=tree.family(np.sort(zones)),
    )


def read_positions(kinds: Families) -> Positions:
    """All positions; InputError where one is missing or is no number."""
    mids = kinds.tracks.first(b"mid")
    starts = _needed(kinds.tracks, b"start")
    curved = mids >= 0
    columns = (
        (_needed(kinds.parts, b"at"), b"at"),
        (_needed(kinds.pads, b"at"), b"at"),
        (starts, b"start"),
        (_needed(kinds.tracks, b"end"), b"end"),
        (mids[curved], b"mid"),
        (_needed(kinds.vias, b"at"), b"at"),
    )
    parts, pads, start, end, mid, vias = _together(kinds.top.tree, columns, 3, 2)
    middle = start.copy()
    middle[curved] = mid
    return Positions(parts, pads, start[:, :2], end[:, :2], middle[:, :2], curved, vias[:, :2])


def read_sizes(kinds: Families) -> Sizes:
    """All sizes; InputError where one is missing or is no number."""
    columns = (
        (_needed(kinds.tracks, b"width"), b"width"),
        (_needed(kinds.vias, b"size"), b"size"),
        (kinds.vias.first(b"drill"), b"drill"),
        (kinds.zones.first(b"min_thickness"), b"min_thickness"),
    )
    return Sizes(*(column[:, 0] for column in _together(kinds.top.tree, columns, 1, 1)))


def _either(family: Family, one: bytes, other: bytes) -> IntArray:
    """The children with either keyword, in file order."""
    where = np.concatenate([family.where(one), family.where(other)])
    lists: IntArray = family.kids[np.sort(where)]
    return lists


def _needed(family: Family, keyword: bytes) -> IntArray:
    """The child of each list with this keyword, which all must have."""
    lists = family.first(keyword)
    if len(lists) and int(lists.min()) < 0:
        index = int(family.of[np.argmin(lists)])
        own = family.tree.keyword(index).decode("utf-8", "replace")
        what = f"this ({own} ...) has no ({keyword.decode()} ...)"
        raise family.tree.fault(int(family.tree.start[index]), what, _MEND)
    return lists


def _together(
    tree: Tree, columns: tuple[tuple[IntArray, bytes], ...], count: int, least: int
) -> list[IntArray]:
    """The numbers of several columns of lists, read in one go; list -1 gives zeros."""
    begins = [tree.inners(lists, keyword)[:, 0] for lists, keyword in columns]
    begin = np.concatenate(begins)
    values = np.zeros((len(begin), count), dtype=np.int64)
    some = np.flatnonzero(begin >= 0)
    values[some] = tree.numbers_at(begin[some], count, least)
    return np.split(values, np.cumsum([len(one) for one in begins])[:-1])
