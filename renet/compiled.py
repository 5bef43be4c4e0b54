"""Looking into bytes at many offsets at once, in compiled code where there is some."""

from __future__ import annotations

from types import ModuleType

import numpy as np
from numpy.typing import NDArray

from renet.bulk import Bulk, Kin
from renet.decimals import Decimals
from renet.kernel import KERNEL
from renet.model import IntArray


def looking_into(data: bytes) -> Bulk:
    """The quickest way there is here to look into ``data``."""
    return Bulk(data) if KERNEL is None else Compiled(data, KERNEL)


class Compiled(Bulk):
    """The same columns as :class:`Bulk`, by the compiled module."""

    __slots__ = ("_kernel",)

    def __init__(self, data: bytes, kernel: ModuleType) -> None:
        super().__init__(data)
        self._kernel = kernel

    def children(self, depth: NDArray[np.uint8], lists: IntArray) -> tuple[IntArray, IntArray]:
        kids, owner = self._kernel.children(depth, lists)
        return _column(kids), _column(owner)

    def keywords(self, start: IntArray, lists: IntArray) -> IntArray:
        return _column(self._kernel.words(self.data, start, lists))

    def inners(self, start: IntArray, end: IntArray, lists: IntArray, length: int) -> IntArray:
        spans = self._kernel.inners(self.data, start, end, lists, length)
        return _column(spans).reshape(-1, 2)

    def holding(self, start: IntArray, end: IntArray, kin: Kin, atom: bytes) -> IntArray:
        return _column(self._kernel.holding(self.data, start, end, *kin, atom))

    def past_space(self, at: IntArray) -> IntArray:
        return _column(self._kernel.past_spaces(self.data, at))

    def tokens(self, at: IntArray, text: bytes) -> IntArray:
        return _column(self._kernel.tokens(self.data, at, text))

    def firsts(
        self, at: IntArray, kids: IntArray, owner: IntArray, text: bytes, count: int
    ) -> IntArray:
        return _column(self._kernel.firsts(self.data, at, kids, owner, text, count))

    def atoms(self, at: IntArray) -> IntArray:
        return _column(self._kernel.atoms(self.data, at)).reshape(-1, 2)

    def groups(self, begin: IntArray, end: IntArray) -> tuple[IntArray, IntArray]:
        found = self._kernel.groups(self.data, begin, end)
        return (_column(found[0]), _column(found[1])) if found else super().groups(begin, end)

    def plain(self, at: IntArray) -> Decimals:
        value, end, good = self._kernel.decimals(self.data, at)
        return Decimals(_column(value), _column(end), np.frombuffer(good, dtype=bool))


def _column(made: bytearray) -> IntArray:
    return np.frombuffer(made, dtype=np.int64)
