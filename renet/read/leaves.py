"""Small lists read from their own text: for the few pieces that are looked at one by one."""

from __future__ import annotations

import re

from renet.bulk import decimal_nm
from renet.geometry import points
from renet.model import NONE
from renet.read.outlines import Point
from renet.syntax import Tree

_LEAF = re.compile(rb'\(\s*([^\s()"]+)\s+((?:"(?:[^"\\]|\\.)*+"|[^()"]+)*+)\)', re.DOTALL)


def leaves(text: bytes) -> dict[bytes, bytes]:
    """What stands in the lists of ``text`` that hold no other list, by keyword."""
    return dict(_LEAF.findall(text))


class Piece:
    """One list with its leaves; asking for what it lacks is an InputError at the list."""

    __slots__ = ("_index", "_text", "_tree", "_values", "keyword")

    def __init__(self, tree: Tree, index: int) -> None:
        self._tree, self._index = tree, index
        self._text = tree.data[slice(*tree.span(index))]
        self._values = leaves(self._text)
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
        index = self._tree.child(self._index, b"pts")
        if index == NONE:
            return []
        text = self._tree.data[slice(*self._tree.inner(index))]
        return [(x, y) for x, y in points(text).tolist()]
