"""What many rows say, held by its kinds: of equal rows each question is asked once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

from renet.model import BoolArray, IntArray
from renet.syntax import Tree

_Kind = TypeVar("_Kind")
_Other = TypeVar("_Other")


@dataclass(frozen=True, slots=True)
class Column(Generic[_Kind]):
    """``codes`` has a row's place in ``kinds``; every kind has a row, and two may be equal.

    Kinds are atomic (bytes, a string, None, a truth), in the order of their first rows.
    """

    codes: IntArray
    kinds: list[_Kind]

    @property
    def rows(self) -> list[_Kind]:
        """The column written out."""
        return self._written(self.codes)

    def _written(self, codes: IntArray) -> list[_Kind]:
        kinds: NDArray[np.object_] = np.empty(len(self.kinds), dtype=object)
        kinds[:] = self.kinds
        found: list[_Kind] = kinds[codes].tolist()
        return found

    def one(self, row: int) -> _Kind:
        """What one row says."""
        return self.kinds[int(self.codes[row])]

    def some(self, rows: Sequence[int] | IntArray) -> list[_Kind]:
        """What some rows say."""
        return self._written(self.codes[rows])

    def to(self, kind: Callable[[_Kind], _Other]) -> Column[_Other]:
        """The column of what ``kind`` makes of every row."""
        return Column(self.codes, list(map(kind, self.kinds)))

    def where(self, good: Callable[[_Kind], bool]) -> BoolArray:
        """Which rows are good."""
        return np.array(list(map(good, self.kinds)), dtype=bool)[self.codes]


def texts(tree: Tree, begin: IntArray, end: IntArray) -> Column[bytes]:
    """The bytes between two rows of offsets, b"" for -1 and -1."""
    codes, rows = tree.bulk.groups(begin, end)
    data, spans = tree.data, zip(begin[rows].tolist(), end[rows].tolist(), strict=True)
    return Column(codes, [data[start:stop] for start, stop in spans])


def numbered(*columns: Column[_Kind]) -> list[IntArray]:
    """The columns as numbers that are equal where the rows are, in any of them."""
    known: dict[_Kind, int] = {}
    made = []
    for column in columns:
        numbers = [known.setdefault(kind, len(known)) for kind in column.kinds]
        made.append(np.array(numbers, dtype=np.int64)[column.codes])
    return made
