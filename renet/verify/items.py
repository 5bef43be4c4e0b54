"""A file as a row of outermost lists: where each stands, its keyword, its bytes, its children."""

from __future__ import annotations

import re
from bisect import bisect_left
from functools import cached_property

import numpy as np

from renet.model import NONE, IntArray
from renet.syntax import Tree
from renet.verify.verdict import Place

_FIRST = re.compile(rb"\(\s*([^\s()\"][^\s()]*+)")

_WINDOW = 48

Span = tuple[int, int]


class Items:
    """A file, its tree, and its outermost lists (``items``) by number."""

    def __init__(self, name: str, data: bytes, tree: Tree) -> None:
        self.name = name
        self.data = data
        self.tree = tree
        self.ids: IntArray = tree.children(0)
        self.start: IntArray = tree.start[self.ids]
        self.end: IntArray = tree.end[self.ids]
        self._words: dict[int, bytes] = {}
        self._items: dict[tuple[bytes, ...], IntArray] = {}

    def __len__(self) -> int:
        return len(self.start)

    def word(self, item: int) -> bytes:
        """The keyword of an outermost list."""
        if item not in self._words:
            found = _FIRST.match(self.data, self.start[item])
            self._words[item] = found[1] if found else b""
        return self._words[item]

    def raw(self, item: int) -> bytes:
        """The bytes of an outermost list."""
        return self.data[self.start[item] : self.end[item]]

    @property
    def head(self) -> bytes:
        """What stands in front of the outermost list."""
        return self.data[: int(self.tree.start[0])]

    @property
    def tail(self) -> bytes:
        """What stands behind the outermost list."""
        return self.data[int(self.tree.end[0]) :]

    def gap(self, item: int) -> bytes:
        """What stands before an outermost list; of one more than there are, after the last one."""
        begin = self.end[item - 1] if item else self.tree.start[0]
        return self.data[begin : self.start[item] if item < len(self) else self.tree.end[0] - 1]

    def place(self, offset: int) -> Place:
        """Line and column of an offset."""
        line = bisect_left(self._line_ends, offset)
        start = self._line_ends[line - 1] + 1 if line else 0
        return Place(self.name, line + 1, int(offset) - start + 1)

    @cached_property
    def _line_ends(self) -> list[int]:
        found: list[int] = np.flatnonzero(np.frombuffer(self.data, dtype=np.uint8) == 10).tolist()
        return found

    def lead(self, offset: int) -> bytes:
        """The white space in front of an offset, which has something else before it."""
        window = self.data[max(offset - _WINDOW, 0) : offset]
        rest = window.rstrip()
        return window[len(rest) :] if rest else self.lead(offset - len(window)) + window

    def items(self, *words: bytes) -> IntArray:
        """The outermost lists with one of these keywords."""
        if words not in self._items:
            found = np.zeros(len(self), dtype=bool)
            for word in words:
                found[self.tree.bulk.tokens(self._keywords, word)] = True
            self._items[words] = found.nonzero()[0]
        return self._items[words]

    @cached_property
    def _keywords(self) -> IntArray:
        """Where the keywords of the outermost lists begin."""
        return self.tree.words(self.ids)

    def children(self, items: IntArray, word: bytes) -> IntArray:
        """(2, n): where the first child with this keyword of some outermost lists starts and
        ends, -1 where there is none.
        """
        return self.ends(self.tree.family(self.ids[items]).first(word))

    def ends(self, lists: IntArray) -> IntArray:
        """(2, n): where lists start and where they end, -1 for list -1."""
        found: IntArray = np.array([self.tree.start[lists], self.tree.end[lists]])
        found[:, lists < 0] = NONE
        return found
