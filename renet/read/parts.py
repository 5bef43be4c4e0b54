"""Parts: what stands at the head of every footprint, in columns."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from renet.atoms import ATOM
from renet.model import NONE, IntArray
from renet.read.layers import LayerTable
from renet.syntax import Family, Tree

_MILLION = 1_000_000
_KEYWORDS = (b"footprint", b"module")


@dataclass(frozen=True, slots=True)
class PartRows:
    """Footprints in file order: their lists, their children, and what their heads say."""

    lists: IntArray
    family: Family
    x: IntArray
    y: IntArray
    angle: NDArray[np.float64]
    back: list[bool]
    ref: list[str]
    value: list[str]
    footprint: list[str]

    def __len__(self) -> int:
        return len(self.lists)


def read_parts(tree: Tree, top: Family, layers: LayerTable) -> PartRows:
    """All footprints of the board."""
    lists, names = _footprints(tree, top)
    family = tree.family(lists)
    at = family.first(b"at")
    if (at < 0).any():
        lost = int(tree.start[lists[np.flatnonzero(at < 0)[0]]])
        raise tree.fault(lost, "a footprint has no position", "give it an (at X Y) list")
    position = tree.numbers(at, b"at", 3, least=2)
    return PartRows(
        lists=lists,
        family=family,
        x=position[:, 0],
        y=position[:, 1],
        angle=position[:, 2] / _MILLION,
        back=_back(tree, family, layers),
        ref=_label(tree, family, b"reference", (b'"Reference"', b"Reference")),
        value=_label(tree, family, b"value", (b'"Value"', b"Value")),
        footprint=[_atom(tree, at) for at in names.tolist()],
    )


def _footprints(tree: Tree, top: Family) -> tuple[IntArray, IntArray]:
    """All footprints in file order, and where the first token after the keyword begins."""
    found = [top.where(keyword) for keyword in _KEYWORDS]
    sizes = np.repeat([len(keyword) for keyword in _KEYWORDS], [len(one) for one in found])
    where = np.concatenate(found)
    order = np.argsort(where)
    lists = top.kids[where[order]]
    return lists, tree.past_space(tree.word[lists] + sizes[order])


def placed(parts: PartRows, owner: IntArray, u: IntArray, v: IntArray) -> tuple[IntArray, IntArray]:
    """Points (u, v) in the frames of their parts on the board, as ``geometry.place`` does it."""
    x, y = parts.x[owner] + u, parts.y[owner] + v
    turned = np.flatnonzero(parts.angle[owner])
    of, u, v = owner[turned], u[turned], v[turned]
    turns = np.array([_turn(angle) for angle in parts.angle.tolist()]).reshape(-1, 2)
    cos, sin = turns[of, 0], turns[of, 1]
    # Sines of quarter turns are exact here, so rounding changes nothing for them.
    x[turned] = parts.x[of] + np.rint(u * cos + v * sin).astype(np.int64)
    y[turned] = parts.y[of] + np.rint(v * cos - u * sin).astype(np.int64)
    return x, y


def _turn(angle: float) -> tuple[float, float]:
    """Cosine and sine, exact for multiples of 90 degrees."""
    quarter, rest = divmod(angle % 360.0, 90.0)
    if not rest:
        return ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))[int(quarter)]
    return math.cos(math.radians(angle)), math.sin(math.radians(angle))


def _back(tree: Tree, family: Family, layers: LayerTable) -> list[bool]:
    """Which parts sit on the last copper layer, where there is more than one."""
    spans = tree.inners(family.first(b"layer"), b"layer")
    last = len(layers.layers) - 1
    codes, texts = tree.bulk.groups(spans[:, 0], np.maximum(spans[:, 1], spans[:, 0]))
    back = np.array([last > 0 and layers.id_of(text) == last for text in texts], dtype=bool)
    return [bool(flag) for flag in back[codes]]


def _label(tree: Tree, family: Family, old: bytes, new: tuple[bytes, ...]) -> list[str]:
    """The reference or value of each part, "" where it has none.

    Old files have it as a text of that kind, newer ones as a property.
    """
    found = np.full(len(family.of), NONE, dtype=np.int64)
    for keyword, words in ((b"property", new), (b"fp_text", (old,))):
        lists, owner = family.having(keyword)
        begin = tree.inners(lists, keyword)[:, 0]
        for word in words:
            hits = tree.bulk.tokens(begin, word)[::-1]
            found[owner[hits]] = tree.past_space(begin[hits] + len(word))
    return [_atom(tree, at) if at != NONE else "" for at in found.tolist()]


def _atom(tree: Tree, at: int) -> str:
    """The atom that begins at ``at``, "" where a parenthesis stands."""
    found = ATOM.match(tree.data, at)
    return tree.text(*found.span()) if found else ""
