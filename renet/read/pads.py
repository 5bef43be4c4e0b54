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
from renet.read.lists import distinct, texts
from renet.read.nets import Carried
from renet.read.padbody import Body, pad_bodies
from renet.read.parts import PartRows, placed
from renet.read.spans import PadSpans
from renet.syntax import Family, Tree

_MARK = "+no_connect"
_MILLION = 1_000_000
_KIND = re.compile(rb'\s+"?([a-z_]+)"?\s+"?([a-z_]+)"?')
_DRILLED, _UNPLATED = (b"thru_hole", b"np_thru_hole"), b"np_thru_hole"
_REPAIR = "give it the number, the type and the shape"


class Kind(NamedTuple):
    """What the atoms of a pad after its number say."""

    through: bool
    plated: bool
    shape: bytes


@dataclass(frozen=True, slots=True)
class PadRows:
    """All pads in file order; ``owner`` is the part, ``pin`` counts through all pins."""

    lists: IntArray
    owner: IntArray
    spans: PadSpans
    x: IntArray
    y: IntArray
    angle: list[float]
    numbers: list[str]
    kinds: list[Kind]
    bodies: list[Body]
    names: list[str]
    types: list[tuple[str, bool]]
    pin: IntArray

    def __len__(self) -> int:
        return len(self.lists)

    @property
    def pin_count(self) -> int:
        """How many pins there are."""
        return int(self.pin.max(initial=NONE)) + 1

    @property
    def carriers(self) -> IntArray:
        """The pin of each pad; a pad of no pin has a number of its own after all pins."""
        return np.where(self.pin == NONE, self.pin_count + np.arange(len(self.pin)), self.pin)


def read_pads(
    kinds: Families, positions: IntArray, parts: PartRows, layers: LayerTable, carried: Carried
) -> PadRows:
    """All pads of all parts; ``positions`` are theirs in the frames of the parts."""
    family, owner, tree = kinds.pads, kinds.pad_owner, kinds.pads.tree
    x, y = placed(parts, owner, positions[:, 0], positions[:, 1])
    numbers, kinds_of = _heads(tree, family)
    functions = tree.inners(family.first(b"pinfunction"), b"pinfunction")
    types = tree.inners(family.first(b"pintype"), b"pintype")
    return PadRows(
        lists=family.of,
        owner=owner,
        spans=_spans(family, types, carried),
        x=x,
        y=y,
        angle=(positions[:, 2] / _MILLION).tolist(),
        numbers=numbers,
        kinds=kinds_of,
        bodies=pad_bodies(family, [kind.shape for kind in kinds_of], layers),
        names=texts(tree, functions),
        types=_types(texts(tree, types)),
        pin=_pin_numbers(owner, numbers, kinds_of),
    )


def pad_records(rows: PadRows, nets: IntArray) -> tuple[Pad, ...]:
    """The pads of the model; ``nets`` is the net of each."""
    columns = zip(
        rows.owner.tolist(),
        rows.pin.tolist(),
        rows.x.tolist(),
        rows.y.tolist(),
        rows.angle,
        [body.layers for body in rows.bodies],
        [kind.through for kind in rows.kinds],
        [kind.plated for kind in rows.kinds],
        [body.shape for body in rows.bodies],
        nets.tolist(),
        strict=True,
    )
    return tuple(map(tuple.__new__, repeat(Pad), columns))


def pin_records(rows: PadRows, nets: IntArray, parts: PartRows) -> tuple[Pin, ...]:
    """The pins of the model; pads of one number in one part are one pin."""
    count = np.bincount(rows.pin[rows.pin != NONE], minlength=rows.pin_count)
    pads, last = np.argsort(rows.pin, kind="stable")[len(rows) - int(count.sum()) :], count.cumsum()
    first = pads[last - count].tolist()
    owner, faults = rows.owner[first].tolist(), _part_faults(parts.ref)
    columns = zip(
        owner,
        [rows.numbers[pad] for pad in first],
        [rows.names[pad] for pad in first],
        [rows.types[pad][0] for pad in first],
        [rows.types[pad][1] for pad in first],
        nets[first].tolist(),
        zip(first, strict=True),
        [faults[part] for part in owner],
        strict=True,
    )
    found: list[Pin] = list(map(tuple.__new__, repeat(Pin), columns))
    for index in (count > 1).nonzero()[0].tolist():
        several = tuple(pads[last[index] - count[index] : last[index]].tolist())
        found[index] = _joined(found[index]._replace(pads=several), rows, nets)
    return tuple(found)


def _joined(pin: Pin, rows: PadRows, nets: IntArray) -> Pin:
    """A pin of several pads: name and type are those of the first pad that has one."""
    fault = pin.fault
    if not fault and len(set(nets[list(pin.pads)].tolist())) > 1:
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


def _pin_numbers(owner: IntArray, numbers: list[str], kinds: list[Kind]) -> IntArray:
    """The pin of each pad, numbered in order of first pads; parts stay together."""
    codes = {number: code for code, number in enumerate(dict.fromkeys(numbers))}
    key = owner * len(codes) + np.array([codes[number] for number in numbers], dtype=np.int64)
    rows = zip(numbers, kinds, strict=True)
    some = np.array([bool(number) and kind.plated for number, kind in rows], dtype=bool)
    _, first, pin = np.unique(key[some], return_index=True, return_inverse=True)
    found = np.full(len(key), NONE, dtype=np.int64)
    found[some] = np.argsort(np.argsort(first))[pin]
    return found


def _heads(tree: Tree, family: Family) -> tuple[list[str], list[Kind]]:
    """Number, and type and shape, of each pad: the bytes before its first child."""
    firsts = np.searchsorted(family.owner, np.arange(len(family.of)))
    begin = tree.words(family.of) + len(b"pad")
    stop = tree.start[family.kids[firsts]]
    numbers = tree.bulk.atoms(tree.past_space(begin))
    ends = np.where(numbers[:, 1] == NONE, stop, numbers[:, 1])
    codes, first = distinct(tree, np.stack([ends, stop], axis=1))
    known = [_KIND.match(tree.data, start, end) for start, end in first.tolist()]
    lacking = (numbers[:, 0] == NONE) | np.array([not match for match in known], dtype=bool)[codes]
    if lacking.any():
        what = "a pad lacks its number, type or shape"
        raise tree.fault(int(begin[np.argmax(lacking)]), what, _REPAIR)
    kinds = [Kind(m[1] in _DRILLED, m[1] != _UNPLATED, m[2]) for m in known if m]
    return texts(tree, numbers), [kinds[code] for code in codes.tolist()]


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
