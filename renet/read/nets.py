"""Net names: the table at the top of the file, where there is one, and who carries what.

Which of the two ways a file has is seen from its shape.  With a table, nets
have numbers: pads say ``(net 12 "NAME")``, copper says ``(net 12)``.  Without
one everything says ``(net "NAME")``.

A number that the table lacks, a number or name that stands in it twice, and a
pad that gives a number another name are errors: copper and pads of such a file
cannot be told apart safely, and renet would have to guess which of the two
nets to rewrite.  (The name that a zone repeats carries no meaning: the number
counts.)
"""

from __future__ import annotations

import numpy as np

from renet.atoms import ATOM
from renet.bulk import Decimals
from renet.model import NONE, IntArray
from renet.read.slots import Slot, last_slot
from renet.read.spans import NetRow
from renet.syntax import Family, Tree

PRIVATE = "unconnected-("
"""How the name of a private net begins: the net of one open pin."""

_MILLION = 1_000_000
_CHECK = "mend the file in the program that wrote it"


class NetNames:
    """All net names of a file, numbered in the order of first appearance.

    ``names`` is by that number, ``atoms`` has each as the file writes it.  No
    net (number 0, an empty name) is -1 everywhere.
    """

    def __init__(self, tree: Tree, top: Family) -> None:
        self._tree = tree
        self.names: list[str] = []
        self.atoms: dict[str, bytes] = {}
        self._index: dict[str, int] = {}
        self._by_number: dict[int, int] = {}
        self._known: dict[bytes, int] = {}
        lists = top.having(b"net")[0]
        self.rows = tuple(self._row(index) for index in lists.tolist())
        self.slot: Slot | None = last_slot(tree, 0, b"net") if len(lists) else None
        self._numbers = np.array(sorted(self._by_number), dtype=np.int64)
        self._order = np.array([self._by_number[n] for n in self._numbers.tolist()], dtype=np.int64)

    def of_values(self, spans: IntArray) -> IntArray:
        """What each value of a ``(net ...)`` list (n, 2) carries; (-1, -1) carries none."""
        found = np.full(len(spans), NONE, dtype=np.int64)
        rest = np.flatnonzero(spans[:, 0] >= 0)
        if self.slot is not None and len(rest):
            rest = self._by_numbers(spans, rest, found)
        data, known = self._tree.data, self._known
        for row, (start, end) in zip(rest.tolist(), spans[rest].tolist(), strict=True):
            raw = data[start:end]
            index = known.get(raw)
            found[row] = self._of_value(start, end) if index is None else index
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

    def _row(self, index: int) -> NetRow:
        """Take up one row of the table."""
        tree = self._tree
        start, end = tree.span(index)
        atoms = tree.values(index)
        if len(atoms) != 2:
            raise tree.fault(start, "a row of the net table needs a number and a name", _CHECK)
        number = self._integer(tree.data[atoms[0].start : atoms[0].end], start)
        span = (atoms[1].start, atoms[1].end)
        name = tree.text(*span)
        if number in self._by_number:
            raise tree.fault(start, f"net number {number} stands twice in the net table", _CHECK)
        if name in self._index:
            raise tree.fault(start, f"net {name} stands twice in the net table", _CHECK)
        self._by_number[number] = self._enter(name, tree.data[span[0] : span[1]])
        return NetRow(number, name, (tree.lead(start), end), span)

    def _enter(self, name: str, atom: bytes) -> int:
        if not name:
            return NONE
        if name not in self._index:
            self._index[name] = len(self.names)
            self.names.append(name)
            self.atoms[name] = atom
        return self._index[name]

    def _integer(self, text: bytes, offset: int) -> int:
        if text.isdigit() and len(text) < 10:
            return int(text)
        shown = text[:24].decode("utf-8", "replace")
        raise self._tree.fault(offset, f"expected a net number but found {shown}", _CHECK)

    def _of_value(self, start: int, end: int) -> int:
        """What one value carries, looked at closely."""
        raw = self._tree.data[start:end]
        atoms = ATOM.findall(raw)
        if not 1 <= len(atoms) <= 2:
            raise self._tree.fault(start, "expected a net number or a net name", _CHECK)
        if self.slot is None or (len(atoms) == 1 and not atoms[0].isdigit()):
            index = self._named(atoms[-1], start, end)
        else:
            index = self._numbered(atoms, start, end)
        self._known[raw] = index
        return index

    def _named(self, atom: bytes, start: int, end: int) -> int:
        """A net by name; where there is no table, a bare 0 is no net as well."""
        if atom == b"0":
            return NONE
        return self._enter(self._tree.text(end - len(atom), end), atom)

    def _numbered(self, atoms: list[bytes], start: int, end: int) -> int:
        """A net by number, which must be in the table under the same name."""
        number = self._integer(atoms[0], start)
        if number not in self._by_number:
            what = f"net number {number} is not in the net table"
            raise self._tree.fault(start, what, _CHECK)
        index = self._by_number[number]
        listed = "" if index == NONE else self.names[index]
        if len(atoms) == 2:
            name = self._tree.text(end - len(atoms[1]), end)
            if name != listed:
                what = f"net number {number} is {listed!r} in the net table but {name!r} here"
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
        pairs = np.unique(np.stack([carried, carrier], axis=1)[carried >= 0], axis=0)
        carriers = np.bincount(pairs[:, 0], minlength=len(names)).tolist()
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
