"""Small lists read from their own text: for the few pieces that are looked at one by one."""

from __future__ import annotations

import re

from renet.decimals import decimal_nm
from renet.geometry import points
from renet.model import NONE
from renet.read.outlines import Point
from renet.syntax import Tree

_LEAF = re.compile(rb'\(\s*([^\s()"]+)\s+((?:"(?:[^"\\]|\\.)*+"|[^()"]+)*+)\)', re.DOTALL)
_PTS = re.compile(rb"\(\s*pts\s")


def leaves(text: bytes) -> dict[bytes, bytes]:
    """What stands in the lists of ``text`` that hold no other list, by keyword."""
    return dict(_LEAF.findall(text))


class Piece:
    """One list with its leaves; asking for what it lacks is an InputError at the list."""

    __slots__ = ("_index", "_points", "_tree", "_values", "keyword")

    def __init__(self, tree: Tree, index: int) -> None:
        self._tree, self._index = tree, index
        start, end = tree.span(index)
        self._points = tree.child(index, b"pts") if _PTS.search(tree.data, start, end) else NONE
        if self._points == NONE:
            self._values = leaves(tree.data[start:end])
        else:
            cut, resume = tree.span(self._points)
            self._values = leaves(tree.data[start:cut] + tree.data[resume:end])
        self.keyword = tree.keyword(index)

    def word(self, keyword: bytes) -> bytes:
        """What a leaf holds, b"" where there is none."""
        return self._values.get(keyword, b"").strip()

    def numbers(self, keyword: bytes, count: int) -> list[int]:
        """The first values of a leaf, in nanometres or millionths."""
        read = [decimal_nm(word) for word in self.word(keyword).split()[:count]]
        if len(read) < count or not all(length for _, length in read):
            own, wanted = self.keyword.decode("utf-8", "replace"), keyword.decode()
            what = f"({own} needs a list ({wanted} ...) with {count} decimal numbers"
            raise self._tree.fault(int(self._tree.start[self._index]), what, "mend or remove it")
        return [value for value, _ in read]

    def point(self, keyword: bytes) -> Point:
        """A leaf that is a point."""
        x, y = self.numbers(keyword, 2)
        return x, y

    def corners(self) -> list[Point]:
        """The points of the piece's ``pts`` list, [] where there is none."""
        if self._points == NONE:
            return []
        text = self._tree.data[slice(*self._tree.inner(self._points))]
        return [(x, y) for x, y in points(text).tolist()]
