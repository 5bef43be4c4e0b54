"""Net names: the table at the top of the file, where there is one, and who carries what.

Which of the two ways a file has is seen from its shape.  With a table, nets
have numbers: pads say ``(net 12 "NAME")``, copper says ``(net 12)``.  Without
one everything says ``(net "NAME")``.

A number or a name that the table lacks, a number or name that stands in it twice, and a
pad that gives a number another name are errors: copper and pads of such a file
cannot be told apart safely, and renet would have to guess which of the two
nets to rewrite.  (The name that a zone repeats carries no meaning: the number
counts.)
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from renet.atoms import ATOM
from renet.decimals import Decimals
from renet.model import NONE, IntArray
from renet.read.lists import distinct, texts
from renet.read.slots import Slot, Span, last_slot
from renet.read.spans import NetRow
from renet.syntax import Family

PRIVATE = "unconnected-("
"""How the name of a private net begins: the net of one open pin."""

_MILLION = 1_000_000
_ROW = re.compile(rb'(\d{1,9})\s+("(?:[^"\\]|\\.)*+"|[^\s()"][^\s()]*+)', re.DOTALL)
_CHECK = "mend the file in the program that wrote it"


class Carried(NamedTuple):
    """What lists of one kind carry: spans of their net values, and indices of names."""

    value: IntArray
    name: IntArray


class NetNames:
    """All net names of a file, numbered in the order of first appearance.

    ``names`` is by that number, ``atoms`` has each as the file writes it.  No
    net (number 0, an empty name) is -1 everywhere.
    """

    def __init__(self, top: Family) -> None:
        self._tree = top.tree
        self.names: list[str] = []
        self.atoms: dict[str, bytes] = {}
        self._index: dict[str, int] = {}
        self._by_number: dict[int, int] = {}
        self._known: dict[bytes, int] = {}
        lists = top.having(b"net")[0]
        self.rows = tuple(self._rows(lists))
        self.slot: Slot | None = last_slot(top.tree, 0, b"net") if len(lists) else None
        self._numbers = np.array(sorted(self._by_number), dtype=np.int64)
        self._order = np.array([self._by_number[n] for n in self._numbers.tolist()], dtype=np.int64)

    def carried(self, *families: Family) -> list[Carried]:
        """What the lists of several kinds carry, looked up together."""
        values = [self._tree.inners(family.first(b"net"), b"net") for family in families]
        names = self.of_values(np.concatenate(values))
        parts = np.split(names, np.cumsum([len(value) for value in values])[:-1])
        return [Carried(value, name) for value, name in zip(values, parts, strict=True)]

    def of_values(self, spans: IntArray) -> IntArray:
        """What each value of a ``(net ...)`` list (n, 2) carries; (-1, -1) carries none."""
        found = np.full(len(spans), NONE, dtype=np.int64)
        rest = np.flatnonzero(spans[:, 0] >= 0)
        if self.slot is not None and len(rest):
            rest = self._by_numbers(spans, rest, found)
        codes, first = distinct(self._tree, spans[rest])
        indices = [self._of_value(start, end) for start, end in first.tolist()]
        found[rest] = np.array(indices, dtype=np.int64)[codes]
        return found

    def _by_numbers(self, spans: IntArray, rest: IntArray, found: IntArray) -> IntArray:
        """Fill in the rows that are a bare known number; the others are returned."""
        read: Decimals = self._tree.bulk.plain(spans[rest, 0])
        number, fraction = np.divmod(read.value, _MILLION)
        at = np.minimum(np.searchsorted(self._numbers, number), len(self._numbers) - 1)
        good = read.good & (read.end == spans[rest, 1]) & (fraction == 0)
        good &= self._numbers[at] == number
        found[rest[good]] = self._order[at[good]]
        left: IntArray = rest[~good]
        return left

    def _rows(self, lists: IntArray) -> Iterator[NetRow]:
        """Take up the rows of the table."""
        tree = self._tree
        values = tree.inners(lists, b"net").tolist()
        rows = [self._row_match(first, last) for first, last in values]
        atoms = [row.span(2) for row in rows]
        names = texts(tree, np.array(atoms, dtype=np.int64).reshape(-1, 2))
        for row, span, name in zip(rows, atoms, names, strict=True):
            number = int(row[1])
            if number in self._by_number or name in self._index:
                what = f"net {number} {name!r} stands twice in the net table"
                raise tree.fault(row.start(), what, _CHECK)
            index = self._by_number[number] = self._enter(name, row[2])
            self._known[row[1] + b" " + row[2]] = index
            yield NetRow(number, name, span)

    def _row_match(self, first: int, last: int) -> re.Match[bytes]:
        found = _ROW.fullmatch(self._tree.data, first, last)
        if not found:
            what = "a row of the net table needs a number and a name"
            raise self._tree.fault(first, what, _CHECK)
        return found

    def _enter(self, name: str, atom: bytes) -> int:
        if not name:
            return NONE
        if name not in self._index:
            self._index[name] = len(self.names)
            self.names.append(name)
            self.atoms[name] = atom
        return self._index[name]

    def _of_value(self, start: int, end: int) -> int:
        """What one value carries."""
        known = self._known.get(self._tree.data[start:end])
        return self._looked_up(start, end) if known is None else known

    def _looked_up(self, start: int, end: int) -> int:
        """What a value carries that was not seen before, looked at closely."""
        row = _ROW.fullmatch(self._tree.data, start, end) if self.slot is not None else None
        if row:
            index = self._numbered(int(row[1]), start, row.span(2))
        else:
            index = self._of_atoms(start, end)
        self._known[self._tree.data[start:end]] = index
        return index

    def _of_atoms(self, start: int, end: int) -> int:
        """A name alone, a number alone, or both where there is no table.

        Without a table the name counts, and a bare 0 alone is no net as well.
        """
        atoms = ATOM.findall(self._tree.data, start, end)
        if not 1 <= len(atoms) <= 2:
            raise self._tree.fault(start, "expected a net number or a net name", _CHECK)
        atom = atoms[-1]
        if len(atoms) == 1 and atom.isdigit() and (self.slot is not None or atom == b"0"):
            return self._numbered(int(atom[:10]), start) if self.slot is not None else NONE
        name = self._tree.text(end - len(atom), end)
        if self.slot is not None and name and name not in self._index:
            raise self._tree.fault(start, f"the net {name!r} is not in the net table", _CHECK)
        return self._enter(name, atom)

    def _numbered(self, number: int, start: int, name: Span | None = None) -> int:
        """A net by number, which must be in the table, under the same name if that is given."""
        if number not in self._by_number:
            what = f"net number {number} is not in the net table"
            raise self._tree.fault(start, what, _CHECK)
        index = self._by_number[number]
        listed = "" if index == NONE else self.names[index]
        if name and self._tree.data[slice(*name)] != self.atoms.get(listed):
            here = self._tree.text(*name)
            if here != listed:
                what = f"net number {number} is {listed!r} in the net table but {here!r} here"
                raise self._tree.fault(start, what, _CHECK)
        return index


class NetIds:
    """From names of the file to nets of the model.

    ``nets`` are the real nets, sorted by name so that equal boards have equal
    ids whatever the order in the file; ``private`` are the names left out: those
    that look private and are carried by one pin at most.
    """

    def __init__(self, names: list[str], carried: IntArray, carrier: IntArray) -> None:
        """For every pad: what it carries, and a number of its pin."""
        span = int(carrier.max(initial=0)) + 1
        pairs = np.unique(carried[carried >= 0] * span + carrier[carried >= 0])
        carriers = np.bincount(pairs // span, minlength=len(names)).tolist()
        closed = [
            name.startswith(PRIVATE) and count <= 1
            for name, count in zip(names, carriers, strict=True)
        ]
        self.private = [name for name, left_out in zip(names, closed, strict=True) if left_out]
        self.nets = tuple(
            sorted(name for name, left_out in zip(names, closed, strict=True) if not left_out)
        )
        ids = {name: index for index, name in enumerate(self.nets)}
        self._ids = np.array([ids.get(name, NONE) for name in names] + [NONE], dtype=np.int64)

    def of(self, carried: IntArray) -> IntArray:
        """Net ids of what is carried."""
        found: IntArray = self._ids[carried]
        return found
