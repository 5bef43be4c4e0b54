"""What hangs on each pin of a sheet, and which pins of all sheets are joined.

Things at one point are joined; a label, a pin, a junction or another wire's end
on the run of a wire is joined to it.  (An end that merely touches a wire is
taken as joined: that can only keep a pin from being done.)
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from renet.read.schematic import Label, Mark, Point, Sheet, Wire

Key = tuple[str, str]


class Stub(NamedTuple):
    """Everything joined to a pin by wires of its sheet; ``pins`` counts it and other pins."""

    pins: int
    wires: tuple[Wire, ...]
    labels: tuple[Label, ...]
    marks: tuple[Mark, ...]
    others: int


class _Roots:
    """Points joined by wires, each set told by one of its points."""

    def __init__(self, sheet: Sheet) -> None:
        self._above: dict[Point, Point] = {}
        points = sorted({p for wire in sheet.wires for p in (wire.a, wire.b)} | _standing(sheet))
        places = np.array(points, dtype=np.int64).reshape(-1, 2)
        for wire in sheet.wires:
            self.join(wire.a, wire.b)
            for index in np.flatnonzero(_on(places, wire)).tolist():
                self.join(wire.a, points[index])

    def find(self, point: Point) -> Point:
        """The set's own point."""
        while (above := self._above.get(point, point)) != point:
            self._above[point] = point = self._above.get(above, above)
        return point

    def join(self, one: Point, two: Point) -> None:
        """Make one set of two."""
        self._above[self.find(one)] = self.find(two)


def _standing(sheet: Sheet) -> set[Point]:
    at = [item.at for items in (sheet.pins, sheet.labels, sheet.marks) for item in items]
    return {*at, *sheet.others, *sheet.junctions}


def _on(
    places: np.ndarray[tuple[int, ...], np.dtype[np.int64]], wire: Wire
) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Which places lie on a wire."""
    a, b = np.array(wire.a), np.array(wire.b)
    low, high = np.minimum(a, b), np.maximum(a, b)
    inside = ((places >= low) & (places <= high)).all(axis=1)
    step, way = b - a, places - a
    return np.asarray(inside & (step[0] * way[:, 1] == step[1] * way[:, 0]))


def stubs(sheet: Sheet) -> list[Stub]:
    """For each pin of the sheet what hangs on it."""
    roots = _Roots(sheet)
    pins: dict[Point, int] = defaultdict(int)
    wires: dict[Point, list[Wire]] = defaultdict(list)
    labels: dict[Point, list[Label]] = defaultdict(list)
    marks: dict[Point, list[Mark]] = defaultdict(list)
    others: dict[Point, int] = defaultdict(int)
    for pin in sheet.pins:
        pins[roots.find(pin.at)] += 1
    for wire in sheet.wires:
        wires[roots.find(wire.a)].append(wire)
    for label in sheet.labels:
        labels[roots.find(label.at)].append(label)
    for mark in sheet.marks:
        marks[roots.find(mark.at)].append(mark)
    for point in sheet.others:
        others[roots.find(point)] += 1
    ends = [roots.find(pin.at) for pin in sheet.pins]
    return [
        Stub(pins[at], tuple(wires[at]), tuple(labels[at]), tuple(marks[at]), others[at])
        for at in ends
    ]


def partition(sheets: Sequence[Sheet]) -> set[frozenset[Key]]:
    """Pins by net, as wires and labels join them; pins alone on their net are left out.

    Labels of one text join within a sheet, global ones across all.  Sheet pins
    are not followed into their sheets.
    """
    above: dict[object, object] = {}

    def find(node: object) -> object:
        while (up := above.get(node, node)) != node:
            node = up
        return node

    for number, sheet in enumerate(sheets):
        roots = _Roots(sheet)
        for label in sheet.labels:
            scope = -1 if label.kind == b"global_label" else number
            above[find((number, roots.find(label.at)))] = find((scope, label.text))
        for pin in sheet.pins:
            above[find((pin.ref, pin.number))] = find((number, roots.find(pin.at)))
    nets: dict[object, set[Key]] = defaultdict(set)
    for sheet in sheets:
        for pin in sheet.pins:
            nets[find((pin.ref, pin.number))].add((pin.ref, pin.number))
    return {frozenset(keys) for keys in nets.values() if len(keys) > 1}
