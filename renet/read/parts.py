"""Parts: what stands at the head of every footprint, in columns."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from renet.model import NONE, IntArray
from renet.read.layers import LayerTable
from renet.read.lists import distinct_raws, texts
from renet.syntax import Family

_MILLION = 1_000_000


@dataclass(frozen=True, slots=True)
class PartRows:
    """Footprints in file order, and what their heads say."""

    lists: IntArray
    x: IntArray
    y: IntArray
    angle: NDArray[np.float64]
    cos: NDArray[np.float64]
    sin: NDArray[np.float64]
    back: list[bool]
    ref: list[str]
    value: list[str]
    footprint: list[str]

    def __len__(self) -> int:
        return len(self.lists)


def read_parts(family: Family, positions: IntArray, layers: LayerTable) -> PartRows:
    """All footprints of the board; ``positions`` are theirs (x, y, angle)."""
    angle = positions[:, 2] / _MILLION
    cos, sin = _turns(angle)
    return PartRows(
        lists=family.of,
        x=positions[:, 0],
        y=positions[:, 1],
        angle=angle,
        cos=cos,
        sin=sin,
        back=_back(family, layers),
        ref=_label(family, b"reference", (b'"Reference"', b"Reference")),
        value=_label(family, b"value", (b'"Value"', b"Value")),
        footprint=_names(family),
    )


def placed(parts: PartRows, owner: IntArray, u: IntArray, v: IntArray) -> tuple[IntArray, IntArray]:
    """Points (u, v) in the frames of their parts on the board, as ``geometry.place`` does it."""
    cos, sin = parts.cos[owner], parts.sin[owner]
    # Sines of quarter turns are exact here, so rounding changes nothing for them.
    x = np.rint(u * cos + v * sin).astype(np.int64)
    y = np.rint(v * cos - u * sin).astype(np.int64)
    return parts.x[owner] + x, parts.y[owner] + y


def _turns(angle: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Cosine and sine of each angle, exact for multiples of 90 degrees."""
    known = {one: _turn(one) for one in set(angle.tolist())}
    turns = np.array([known[one] for one in angle.tolist()], dtype=np.float64).reshape(-1, 2)
    return turns[:, 0], turns[:, 1]


def _turn(angle: float) -> tuple[float, float]:
    quarter = angle % 360.0 / 90.0
    if quarter.is_integer():
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter)]
    return math.cos(math.radians(angle)), math.sin(math.radians(angle))


def _names(family: Family) -> list[str]:
    """The name after each footprint's keyword."""
    bulk = family.tree.bulk
    keywords = bulk.atoms(family.tree.words(family.of))
    return texts(family.tree, bulk.atoms(bulk.past_space(keywords[:, 1])))


def _back(family: Family, layers: LayerTable) -> list[bool]:
    """Which parts sit on the last copper layer, where there is more than one."""
    tree = family.tree
    spans = tree.inners(family.first(b"layer"), b"layer")
    last = len(layers.layers) - 1
    codes, names = distinct_raws(tree, spans)
    back = np.array([last > 0 and layers.id_of(name) == last for name in names], dtype=bool)
    return [bool(flag) for flag in back[codes]]


def _label(family: Family, old: bytes, new: tuple[bytes, ...]) -> list[str]:
    """The reference or value of each part, "" where it has none.

    Old files have it as a text of that kind, newer ones as a property.
    """
    tree = family.tree
    found = np.full(len(family.of), NONE, dtype=np.int64)
    for keyword, words in ((b"property", new), (b"fp_text", (old,))):
        lists, owner = family.having(keyword)
        begin = tree.inners(lists, keyword)[:, 0]
        for word in words:
            hits = tree.bulk.tokens(begin, word)[::-1]
            found[owner[hits]] = tree.past_space(begin[hits] + len(word))
    return texts(tree, tree.bulk.atoms(found))
