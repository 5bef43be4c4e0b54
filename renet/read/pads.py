"""Pads and pins: every pad of every part, in columns, then as records of the model.

What makes pads slow to read is their number, and what makes it quick is that
they repeat: the head (number, type, shape) and the geometry are each looked at
once per different text.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import repeat
from typing import NamedTuple

import numpy as np

from renet.atoms import ATOM
from renet.model import NONE, IntArray, Pad, Pin, Shape
from renet.read.layers import LayerTable
from renet.read.lists import texts
from renet.read.nets import NetNames
from renet.read.padshape import geometry, pad_shape
from renet.read.parts import PartRows, placed
from renet.read.pieces import anchor_kind, pieces
from renet.read.spans import PadSpans
from renet.syntax import Family, Tree

_MARK = "+no_connect"
_MILLION = 1_000_000
_GEOMETRY = (
    b"size",
    b"drill",
    b"layers",
    b"roundrect_rratio",
    b"rect_delta",
    b"chamfer_ratio",
    b"chamfer",
)
_COMPLEX = (b"options", b"primitives", b"padstack")
_ALL = _GEOMETRY + _COMPLEX
_NEUTRAL = (b"property", b"remove_unused_layers", b"keep_end_layers")
_REPAIR = "give it the number, the type and the shape"


class Head(NamedTuple):
    """What the atoms of a pad say."""

    number: str
    through: bool
    plated: bool
    kind: bytes


class Body(NamedTuple):
    """What the geometry of a pad comes to."""

    layers: int
    shape: Shape


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


def read_pads(tree: Tree, parts: PartRows, layers: LayerTable, names: NetNames) -> PadRows:
    """All pads of all parts."""
    lists, owner = parts.family.having(b"pad")
    family = tree.family(lists)
    at = family.first(b"at")
    if (at < 0).any():
        lost = int(tree.start[lists[np.flatnonzero(at < 0)[0]]])
        raise tree.fault(lost, "a pad has no position", "give it an (at X Y) list")
    position = tree.numbers(at, b"at", 3, least=2)
    x, y = placed(parts, owner, position[:, 0], position[:, 1])
    heads = _heads(tree, family)
    functions = tree.inners(family.first(b"pinfunction"), b"pinfunction")
    types = tree.inners(family.first(b"pintype"), b"pintype")
    return PadRows(
        lists=lists,
        owner=owner,
        spans=_spans(tree, family, types, names),
        x=x,
        y=y,
        angle=(position[:, 2] / _MILLION).tolist(),
        heads=heads,
        bodies=_bodies(tree, family, heads, layers),
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
    faults = _part_faults(parts.ref)
    owner, net = rows.owner.tolist(), nets.tolist()
    return tuple(_pin(rows, of, owner[of[0]], net, faults[owner[of[0]]]) for of in pads)


def _pin(rows: PadRows, pads: list[int], part: int, net: list[int], fault: str) -> Pin:
    """One pin; name and type are those of the first pad that has one."""
    first = pads[0]
    name, (kind, mark) = rows.names[first], rows.types[first]
    if len(pads) > 1:
        name = next((rows.names[pad] for pad in pads if rows.names[pad]), "")
        kind = next((rows.types[pad][0] for pad in pads if rows.types[pad][0]), "")
        mark = any(rows.types[pad][1] for pad in pads)
        if len({net[pad] for pad in pads}) > 1:
            fault = fault or "its pads are on different nets"
    number = rows.heads[first].number
    return Pin(part, number, name, kind, mark, net[first], tuple(pads), fault)


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
    begin = tree.word[family.of] + len(b"pad")
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
    atoms = ATOM.findall(tree.data, start, stop)
    if len(atoms) < 3:
        raise tree.fault(start, "a pad lacks its number, type or shape", _REPAIR)
    span = ATOM.search(tree.data, start, stop)
    number = tree.text(*span.span()) if span else ""
    through = atoms[1] in (b"thru_hole", b"np_thru_hole")
    return Head(number, through, atoms[1] != b"np_thru_hole", atoms[2])


def _bodies(tree: Tree, family: Family, heads: list[Head], layers: LayerTable) -> list[Body]:
    """Layers and shape of each pad, once per different text of its geometry."""
    runs, plain = _runs(tree, family)
    known: dict[tuple[bytes, bytes], Body] = {}
    found = []
    data = tree.data
    rows = zip(family.of.tolist(), heads, runs.tolist(), plain.tolist(), strict=True)
    for pad, head, (start, end), simple in rows:
        key = (head.kind, data[start:end] if simple else _joined(tree, pad, _ALL))
        body = known.get(key)
        if body is None:
            body = known[key] = _body(tree, pad, head, key[1] if simple else None, layers)
        found.append(body)
    return found


def _body(tree: Tree, pad: int, head: Head, text: bytes | None, layers: LayerTable) -> Body:
    """Layers and shape from the simple lists in ``text``; None: the pad has others as well."""
    form = geometry(_joined(tree, pad, _GEOMETRY) if text is None else text)
    if form is None:
        raise tree.fault(int(tree.start[pad]), "a pad has no size", "give it a (size W H) list")
    mask = layers.mask_of(form.layers)
    if text is not None:
        return Body(mask, pad_shape(head.kind, form))
    kind = anchor_kind(tree, pad) if head.kind == b"custom" else head.kind
    return Body(mask, pad_shape(kind, form, pieces(tree, pad)))


def _runs(tree: Tree, family: Family) -> tuple[IntArray, IntArray]:
    """The span of each pad's geometry, and whether it stands in one piece and is simple."""
    wanted = np.zeros(len(family.kids), dtype=bool)
    simple = np.ones(len(family.of), dtype=bool)
    for keyword in _ALL + _NEUTRAL:
        where = family.where(keyword)
        wanted[where] = True
        if keyword in _COMPLEX:
            simple[family.owner[where]] = False
    chosen = np.flatnonzero(wanted)
    owner = family.owner[chosen]
    count = np.bincount(owner, minlength=len(family.of))
    first = np.searchsorted(owner, np.arange(len(family.of)))
    last = first + count - 1
    some = np.flatnonzero(count)
    runs = np.zeros((len(family.of), 2), dtype=np.int64)
    runs[some, 0] = tree.start[family.kids[chosen[first[some]]]]
    runs[some, 1] = tree.end[family.kids[chosen[last[some]]]]
    simple[some] &= chosen[last[some]] - chosen[first[some]] == count[some] - 1
    return runs, simple


def _joined(tree: Tree, pad: int, wanted: tuple[bytes, ...]) -> bytes:
    """Some of the lists of a pad, where they stand apart or hold others."""
    kids = [kid for kid in tree.children(pad).tolist() if tree.keyword(kid) in wanted]
    return b" ".join(tree.data[slice(*tree.span(kid))] for kid in kids)


def _types(found: list[str]) -> list[tuple[str, bool]]:
    """Electrical type of each pad without its mark, and whether it had one."""
    known = {text: text.lower() for text in found}
    split = {text: (low.removesuffix(_MARK), low.endswith(_MARK)) for text, low in known.items()}
    return [split[text] for text in found]


def _spans(tree: Tree, family: Family, types: IntArray, names: NetNames) -> PadSpans:
    nets = family.first(b"net")
    has = nets >= 0
    net = np.full((len(nets), 2), NONE, dtype=np.int64)
    net[has] = np.stack([tree.start[nets[has]], tree.end[nets[has]]], axis=1)
    node = np.stack([tree.start[family.of], tree.end[family.of]], axis=1)
    value = tree.inners(nets, b"net")
    return PadSpans(node, net, value, types, names.of_values(value))
