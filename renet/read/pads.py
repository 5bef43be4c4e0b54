"""Pads and pins: every pad of every part, in columns, then as records of the model.

What makes pads slow to read is their number, and what makes it quick is that
they repeat: the head (number, type, shape) and the geometry are each looked at
once per different text.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from itertools import repeat
from typing import NamedTuple

import numpy as np

from renet.model import NONE, IntArray, Pad, Pin
from renet.read.families import Families
from renet.read.layers import LayerTable
from renet.read.lists import texts
from renet.read.nets import Carried
from renet.read.padbody import Body, pad_bodies
from renet.read.parts import PartRows, placed
from renet.read.spans import PadSpans
from renet.syntax import Family, Tree

_MARK = "+no_connect"
_MILLION = 1_000_000
_HEAD = re.compile(
    rb'\s*("(?:[^"\\]|\\.)*+"|[^\s()"][^\s()]*+)\s+"?([a-z_]+)"?\s+"?([a-z_]+)"?', re.DOTALL
)
_DRILLED, _UNPLATED = (b"thru_hole", b"np_thru_hole"), b"np_thru_hole"
_REPAIR = "give it the number, the type and the shape"


class Head(NamedTuple):
    """What the atoms of a pad say."""

    number: str
    through: bool
    plated: bool
    kind: bytes


@dataclass(frozen=True, slots=True)
class PadRows:
    """All pads in file order; ``owner`` is the part, ``pin`` counts through all pins."""

    lists: IntArray
    owner: IntArray
    spans: PadSpans
    x: IntArray
    y: IntArray
    angle: list[float]
    heads: list[Head]
    bodies: list[Body]
    names: list[str]
    types: list[tuple[str, bool]]
    pin: list[int]

    def __len__(self) -> int:
        return len(self.lists)

    @property
    def pin_count(self) -> int:
        """How many pins there are."""
        return max(self.pin, default=NONE) + 1

    @property
    def carriers(self) -> IntArray:
        """The pin of each pad; a pad of no pin has a number of its own after all pins."""
        pin = np.array(self.pin, dtype=np.int64)
        return np.where(pin == NONE, self.pin_count + np.arange(len(pin)), pin)


def read_pads(
    kinds: Families, positions: IntArray, parts: PartRows, layers: LayerTable, carried: Carried
) -> PadRows:
    """All pads of all parts; ``positions`` are theirs in the frames of the parts."""
    family, owner, tree = kinds.pads, kinds.pad_owner, kinds.pads.tree
    x, y = placed(parts, owner, positions[:, 0], positions[:, 1])
    heads = _heads(tree, family)
    functions = tree.inners(family.first(b"pinfunction"), b"pinfunction")
    types = tree.inners(family.first(b"pintype"), b"pintype")
    return PadRows(
        lists=family.of,
        owner=owner,
        spans=_spans(family, types, carried),
        x=x,
        y=y,
        angle=(positions[:, 2] / _MILLION).tolist(),
        heads=heads,
        bodies=pad_bodies(family, [head.kind for head in heads], layers),
        names=texts(tree, functions),
        types=_types(texts(tree, types)),
        pin=_pin_numbers(owner.tolist(), heads),
    )


def pad_records(rows: PadRows, nets: IntArray) -> tuple[Pad, ...]:
    """The pads of the model; ``nets`` is the net of each."""
    columns = zip(
        rows.owner.tolist(),
        rows.pin,
        rows.x.tolist(),
        rows.y.tolist(),
        rows.angle,
        [body.layers for body in rows.bodies],
        [head.through for head in rows.heads],
        [head.plated for head in rows.heads],
        [body.shape for body in rows.bodies],
        nets.tolist(),
        strict=True,
    )
    return tuple(map(tuple.__new__, repeat(Pad), columns))


def pin_records(rows: PadRows, nets: IntArray, parts: PartRows) -> tuple[Pin, ...]:
    """The pins of the model; pads of one number in one part are one pin."""
    pads: list[list[int]] = [[] for _ in range(rows.pin_count)]
    for pad, pin in enumerate(rows.pin):
        if pin != NONE:
            pads[pin].append(pad)
    first = [of[0] for of in pads]
    owner, net, faults = rows.owner.tolist(), nets.tolist(), _part_faults(parts.ref)
    names, types, heads = rows.names, rows.types, rows.heads
    columns = zip(
        [owner[pad] for pad in first],
        [heads[pad].number for pad in first],
        [names[pad] for pad in first],
        [types[pad][0] for pad in first],
        [types[pad][1] for pad in first],
        [net[pad] for pad in first],
        map(tuple, pads),
        [faults[owner[pad]] for pad in first],
        strict=True,
    )
    found: list[Pin] = list(map(tuple.__new__, repeat(Pin), columns))
    for index, of in enumerate(pads):
        if len(of) > 1:
            found[index] = _joined(found[index], rows, net)
    return tuple(found)


def _joined(pin: Pin, rows: PadRows, net: list[int]) -> Pin:
    """A pin of several pads: name and type are those of the first pad that has one."""
    fault = pin.fault
    if not fault and len({net[pad] for pad in pin.pads}) > 1:
        fault = "its pads are on different nets"
    return pin._replace(
        name=next((rows.names[pad] for pad in pin.pads if rows.names[pad]), ""),
        type=next((rows.types[pad][0] for pad in pin.pads if rows.types[pad][0]), ""),
        no_connect=any(rows.types[pad][1] for pad in pin.pads),
        fault=fault,
    )


def _part_faults(refs: list[str]) -> list[str]:
    """Why no pin of a part may move, "" where they may."""
    count = Counter(refs)
    return [
        "its part has no reference"
        if not ref
        else f"its part shares the reference {ref} with another"
        if count[ref] > 1
        else ""
        for ref in refs
    ]


def _pin_numbers(owner: list[int], heads: list[Head]) -> list[int]:
    """The pin of each pad, numbered in order of first pads; parts stay together."""
    found: list[int] = []
    known: dict[tuple[int, str], int] = {}
    for part, head in zip(owner, heads, strict=True):
        if head.number and head.plated:
            found.append(known.setdefault((part, head.number), len(known)))
        else:
            found.append(NONE)
    return found


def _heads(tree: Tree, family: Family) -> list[Head]:
    """Number, type and shape of each pad, from the bytes before its first child."""
    firsts = np.searchsorted(family.owner, np.arange(len(family.of)))
    begin = tree.words(family.of) + len(b"pad")
    end = tree.start[family.kids[firsts]]
    known: dict[bytes, Head] = {}
    found = []
    data = tree.data
    for start, stop in zip(begin.tolist(), end.tolist(), strict=True):
        raw = data[start:stop]
        head = known.get(raw)
        if head is None:
            head = known[raw] = _head(tree, start, stop)
        found.append(head)
    return found


def _head(tree: Tree, start: int, stop: int) -> Head:
    found = _HEAD.match(tree.data, start, stop)
    if not found:
        raise tree.fault(start, "a pad lacks its number, type or shape", _REPAIR)
    number, kind, shape = tree.text(*found.span(1)), found[2], found[3]
    return Head(number, kind in _DRILLED, kind != _UNPLATED, shape)


def _types(found: list[str]) -> list[tuple[str, bool]]:
    """Electrical type of each pad without its mark, and whether it had one."""
    known = {text: text.lower() for text in found}
    split = {text: (low.removesuffix(_MARK), low.endswith(_MARK)) for text, low in known.items()}
    return [split[text] for text in found]


def _spans(family: Family, types: IntArray, carried: Carried) -> PadSpans:
    tree, nets = family.tree, family.first(b"net")
    has = nets >= 0
    net = np.full((len(nets), 2), NONE, dtype=np.int64)
    net[has] = np.stack([tree.start[nets[has]], tree.end[nets[has]]], axis=1)
    node = np.stack([tree.start[family.of], tree.end[family.of]], axis=1)
    return PadSpans(node, net, carried.value, types, carried.name)
