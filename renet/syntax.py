"""Bytes to a tree of spans: every list of a file, no meaning, nothing lost.

Lists are numbered in file order, the outermost is 0, its depth is 0.  The
numbers of a list's descendants follow it without a gap.  Atoms are not stored:
they are looked up in the bytes when somebody asks.  Nothing here knows a
keyword; a *keyword* is just the bare atom right after a list's parenthesis.

Selections of many lists go through :class:`Family`, in numpy columns; the
methods that take one list are for the few places where one list matters.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np

from renet.atoms import ATOM, Atom, decode, encode
from renet.bulk import Bulk
from renet.compiled import looking_into
from renet.errors import InputError
from renet.family import NO_LISTS, Family
from renet.model import NONE, IntArray
from renet.scan import Brackets, before_space, brackets, fault, past_space, place

__all__ = ["Atom", "Family", "Tree", "decode", "encode", "parse"]

_BARE = re.compile(rb"(?:[^\s()\"][^\s()]*)?")
_NUMERIC = np.zeros(256, dtype=bool)
_NUMERIC[list(b"0123456789+-.")] = True


def _past_bare(data: bytes, at: int) -> int:
    """Where the bare atom at ``at`` ends (``at`` if there is none)."""
    found = _BARE.match(data, at)
    return found.end() if found else at


def parse(data: bytes) -> Tree:
    """The tree of a file with exactly one outermost list; InputError otherwise."""
    return Tree(data, brackets(data))


class Tree:
    """All lists of a file; ``start``, ``end``, ``depth`` are columns by list number."""

    __slots__ = ("_bulk", "data", "depth", "end", "start", "strings")

    def __init__(self, data: bytes, found: Brackets) -> None:
        self.data = data
        self.start, self.end, self.depth, self.strings = found
        self._bulk: Bulk | None = None

    def __len__(self) -> int:
        return len(self.start)

    def __repr__(self) -> str:
        return f"<tree of {len(self)} lists in {len(self.data)} bytes>"

    # many lists

    @property
    def bulk(self) -> Bulk:
        """The bytes for looking at many offsets at once."""
        if self._bulk is None:
            self._bulk = looking_into(self.data)
        return self._bulk

    def level(self, depth: int) -> IntArray:
        """The lists at one depth."""
        return self.bulk.level(self.depth, depth)

    def settle(self) -> None:
        """Let go of what speeds up looking at many lists; it comes back when it is asked for."""
        self._bulk = None

    def family(self, lists: IntArray) -> Family:
        """The children of ``lists``, which are ascending, and none inside another."""
        return Family(self, lists)

    def words(self, lists: IntArray) -> IntArray:
        """Where the first token of each list stands (its keyword, if it has one)."""
        return self.bulk.keywords(self.start, lists)

    def having(self, lists: IntArray, keyword: bytes) -> IntArray:
        """Those of ``lists`` with this keyword."""
        return lists[self.bulk.tokens(self.words(lists), keyword)]

    def inners(self, lists: IntArray, keyword: bytes) -> IntArray:
        """:meth:`inner` of many lists with one keyword, (n, 2); (-1, -1) for list -1."""
        return self.bulk.inners(self.start, self.end, lists, len(keyword))

    def numbers(self, lists: IntArray, keyword: bytes, count: int, least: int = -1) -> IntArray:
        """The first ``count`` values of many lists with one keyword: see :meth:`numbers_at`.

        List -1 gives zeros.
        """
        values = np.zeros((len(lists), count), dtype=np.int64)
        some = (lists >= 0).nonzero()[0]
        if len(some):
            begin = self.inners(lists[some], keyword)[:, 0]
            values[some] = self.numbers_at(begin, count, least)
        return values

    def numbers_at(self, begin: IntArray, count: int, least: int = -1) -> IntArray:
        """``count`` decimal numbers from each offset on, in nanometres (or millionths), (n, count).

        Where only ``least`` are needed the absent ones are zeros; any other
        value that is no number is an InputError.
        """
        values = np.zeros((len(begin), count), dtype=np.int64)
        rest, at = np.arange(len(begin)), begin
        for column in range(count):
            if column >= least >= 0:
                there = _NUMERIC[self.bulk.raw[at]].nonzero()[0]
                rest, at = rest[there], at[there]
            read = self.bulk.decimals(at)
            if not read.good.all():
                raise self._no_number(int(at[np.flatnonzero(~read.good)[0]]))
            if len(rest) == len(begin):
                values[:, column] = read.value
            else:
                values[rest, column] = read.value
            if column + 1 < count:
                at = self.past_space(read.end)
        return values

    def past_space(self, at: IntArray) -> IntArray:
        """Where the next token begins at or after each offset."""
        return self.bulk.past_space(at)

    def leads(self, offsets: IntArray) -> IntArray:
        """:meth:`lead` of many offsets, none of them in front of the outermost list."""
        return self.bulk.before_space(offsets)

    def _no_number(self, offset: int) -> InputError:
        found = ATOM.match(self.data, offset)
        shown = found[0][:24].decode("utf-8", "replace") if found else "nothing"
        own = self.keyword(self.around(offset)).decode("utf-8", "replace")
        what = f"expected a decimal number in ({own} ...) but found {shown}"
        return self.fault(offset, what, "write it in millimetres, as 12.7 or -1e-05")

    # one list

    def parent(self, index: int) -> int:
        """The list around this one, -1 for the outermost."""
        depth = int(self.depth[index])
        if not depth:
            return NONE
        above = self.level(depth - 1)
        return int(above[np.searchsorted(above, index) - 1])

    def around(self, offset: int) -> int:
        """The innermost list around an offset, -1 outside the outermost one."""
        index = int(np.searchsorted(self.start, offset, side="right")) - 1
        while index >= 0 and self.end[index] <= offset:
            index = self.parent(index)
        return index

    def after(self, index: int) -> int:
        """The number of the first list that does not stand inside this one."""
        return int(np.searchsorted(self.start, self.end[index]))

    def children(self, index: int) -> IntArray:
        """The lists directly inside this one."""
        below = self.level(int(self.depth[index]) + 1)
        return below[slice(*np.searchsorted(below, (index, self.after(index))).tolist())]

    def word(self, index: int) -> int:
        """Where the list's first token stands: see :meth:`words`."""
        return past_space(self.data, int(self.start[index]) + 1)

    def keyword(self, index: int) -> bytes:
        """The bare atom right after the list's parenthesis, b"" if there is none."""
        begin = self.word(index)
        return self.data[begin : _past_bare(self.data, begin)]

    def child(self, index: int, keyword: bytes) -> int:
        """The first child with this keyword, -1 if there is none."""
        found = self.having(self.children(index), keyword)
        return int(found[0]) if len(found) else NONE

    def atoms(self, index: int) -> Iterator[Atom]:
        """The list's own atoms in order, its keyword first, those of its children left out."""
        at = int(self.start[index]) + 1
        kids = self.children(index) if self._has_lists(index) else NO_LISTS
        gaps = zip(self.start[kids].tolist(), self.end[kids].tolist(), strict=True)
        for stop, resume in [*gaps, (int(self.end[index]) - 1, 0)]:
            for found in ATOM.finditer(self.data, at, stop):
                yield Atom(found.start(), found.end(), found[0].startswith(b'"'))
            at = resume

    def _has_lists(self, index: int) -> bool:
        return index + 1 < len(self) and bool(self.start[index + 1] < self.end[index])

    def values(self, index: int) -> list[Atom]:
        """The list's own atoms without its keyword."""
        word = self.word(index)
        return [atom for atom in self.atoms(index) if atom.start != word or atom.quoted]

    def span(self, index: int) -> tuple[int, int]:
        """From the list's parenthesis to after its end."""
        return int(self.start[index]), int(self.end[index])

    def inner(self, index: int) -> tuple[int, int]:
        """What stands in the list after its keyword, without white space at either end."""
        begin = past_space(self.data, _past_bare(self.data, self.word(index)))
        return begin, max(begin, self.lead(int(self.end[index]) - 1))

    # bytes

    def text(self, start: int, end: int) -> str:
        """The decoded atom at a span; InputError where it is not UTF-8."""
        raw = self.data[start:end]
        try:
            return decode(raw)
        except UnicodeDecodeError as error:
            what = "the name is not valid UTF-8 text"
            raise self.fault(start + error.start, what, "save the file as UTF-8") from None

    def lead(self, offset: int) -> int:
        """Where the white space in front of ``offset`` begins."""
        return before_space(self.data, offset)

    def place(self, offset: int) -> tuple[int, int]:
        """Line and column of an offset, both from 1."""
        return place(self.data, offset)

    def fault(self, offset: int, what: str, do: str = "") -> InputError:
        """An InputError that points at an offset."""
        return fault(self.data, offset, what, do)
