"""Looking into bytes at many offsets at once, in whole columns.

Eight bytes are read as one little-endian 64-bit integer, so the first byte is
the lowest, and texts are compared eight characters at a time.

:class:`Bulk` does it with numpy, wherever renet runs.  ``compiled.py`` has the
same in compiled code, for installations that could build it; both always give
the same columns, which the tests check.
"""

from __future__ import annotations

from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from renet.atoms import ATOM
from renet.decimals import LONGEST, Decimals, WordArray, decimal_nm, plain_decimals
from renet.model import NONE, IntArray
from renet.scan import DELIMITER, IS_SPACE, before_space, past_space

_WORD = 8
_PEELS = 12
_FEW = 40
_SHORT = 12
_SHIFT_3 = np.uint64(3)


@lru_cache(maxsize=1024)
def _pattern(piece: bytes) -> tuple[np.uint64, np.uint64]:
    """Up to eight bytes as a word, and the mask of the bytes that count."""
    return np.uint64(int.from_bytes(piece, "little")), np.uint64((1 << 8 * len(piece)) - 1)


class Kin(NamedTuple):
    """Some lists (``of``), all their children, and the position in ``of`` of each one's parent."""

    of: IntArray
    kids: IntArray
    owner: IntArray


class Bulk:
    """Bytes as single bytes (``raw``) and, by :meth:`words`, as words at any offset.

    The bytes are looked at where they are: nothing is copied.
    """

    __slots__ = ("_asked", "_borders", "_last", "_levels", "_words", "data", "raw")

    data: bytes
    raw: NDArray[np.uint8]

    def __init__(self, data: bytes) -> None:
        self.data = data
        roomy = data if len(data) >= _WORD else data + bytes(_WORD)
        self.raw = np.frombuffer(roomy, dtype=np.uint8)
        self._last = len(roomy) - _WORD
        self._levels: dict[int, IntArray] = {}
        self._borders: dict[int, IntArray] = {}
        self._asked: tuple[IntArray, WordArray] | None = None
        self._words = np.ndarray((self._last + 1,), np.dtype("<u8"), roomy, strides=(1,))

    # lists, by the columns of a tree

    def children(self, depth: NDArray[np.uint8], lists: IntArray) -> tuple[IntArray, IntArray]:
        """The children of ``lists`` (ascending, none inside another) in file order.

        With each comes the position of its parent in ``lists``.  ``depth`` is the tree's,
        the same one every time.
        """
        kids, owner = [np.empty(0, np.int64)], [np.empty(0, np.int64)]
        depths = depth[lists]
        for own in np.unique(depths).tolist():
            mine = (depths == own).nonzero()[0]
            level, below = self.level(depth, own), self.level(depth, own + 1)
            if own not in self._borders:
                self._borders[own] = np.append(np.searchsorted(below, level), len(below))
            at = np.searchsorted(level, lists[mine])
            first, past = self._borders[own][at], self._borders[own][at + 1]
            count = past - first
            step = np.repeat(past - np.cumsum(count), count)
            kids.append(below[step + np.arange(len(step))])
            owner.append(np.repeat(mine, count))
        found, of = np.concatenate(kids), np.concatenate(owner)
        order = np.argsort(found)
        return found[order], of[order]

    def level(self, depth: NDArray[np.uint8], own: int) -> IntArray:
        """The lists at one depth; ``depth`` is as in :meth:`children`."""
        if own not in self._levels:
            self._levels[own] = (depth == own).nonzero()[0]
        return self._levels[own]

    def keywords(self, start: IntArray, lists: IntArray) -> IntArray:
        """Where the first token of each list stands (its keyword, if it has one)."""
        at: IntArray = start[lists] + 1
        odd = DELIMITER[self.raw[at]].nonzero()[0]
        if len(odd):
            at[odd] = self.past_space(at[odd])
        return at

    def inners(self, start: IntArray, end: IntArray, lists: IntArray, length: int) -> IntArray:
        """What stands in each list after a keyword of ``length`` bytes, (n, 2).

        Without white space at either end; (-1, -1) for list -1.
        """
        spans = np.full((len(lists), 2), NONE, dtype=np.int64)
        some = (lists >= 0).nonzero()[0]
        if not len(some):
            return spans
        these, raw = lists[some], self.raw
        begin, stop = self.keywords(start, these) + (length + 1), end[these] - 1
        plain = raw[begin - 1] == ord(" ")
        plain &= raw.take(begin, mode="clip") > ord(" ")
        plain &= raw[stop - 1] > ord(" ")
        odd = (~plain).nonzero()[0]
        if len(odd):
            begin[odd] = self.past_space(begin[odd] - 1)
            stop[odd] = np.maximum(begin[odd], self.before_space(stop[odd]))
        spans[some, 0], spans[some, 1] = begin, stop
        return spans

    def holding(self, start: IntArray, end: IntArray, kin: Kin, atom: bytes) -> IntArray:
        """Positions in ``kin.of`` of the lists that have this bare atom besides their keyword.

        Lists without children are not looked at.
        """
        starts, ends, owner = start[kin.kids], end[kin.kids], kin.owner
        held = np.zeros(len(kin.of), dtype=bool)
        if not len(owner):
            return held.nonzero()[0]
        first = np.diff(owner, prepend=-1).nonzero()[0]
        lists = kin.of[owner[first]]
        # What stands in front of the first child is looked at once per different text.
        begin, stop = self.keywords(start, lists), starts[first]
        codes, rows = self.groups(begin, stop)
        spans = zip(begin[rows].tolist(), stop[rows].tolist(), strict=True)
        heads = [atom in ATOM.findall(self.data, *span)[1:] for span in spans]
        held[owner[first]] = np.array(heads, dtype=bool)[codes]
        # Between children there is hardly ever more than white space.
        stop = np.append(starts[1:], 0)
        stop[np.append(first[1:], len(owner)) - 1] = end[lists] - 1
        wide = (stop - ends >= len(atom)).nonzero()[0]
        wide = wide[self.past_space(ends[wide]) < stop[wide]]
        for kid in wide.tolist():
            if atom in ATOM.findall(self.data, int(ends[kid]), int(stop[kid])):
                held[owner[kid]] = True
        return held.nonzero()[0]

    # offsets

    def past_space(self, at: IntArray) -> IntArray:
        """Where the next token begins at or after each offset."""
        found, raw = at.copy(), self.raw
        rest = IS_SPACE[raw[found]].nonzero()[0]
        for _ in range(_SHORT):
            if len(rest) < _FEW:
                break
            found[rest] += 1
            rest = rest[IS_SPACE[raw[found[rest]]]]
        for index, begin in zip(rest.tolist(), found[rest].tolist(), strict=True):
            found[index] = past_space(self.data, begin)
        return found

    def before_space(self, at: IntArray) -> IntArray:
        """Where the white space in front of each offset begins."""
        found, raw = at.copy(), self.raw
        rest = IS_SPACE[raw[found - 1]].nonzero()[0]
        for _ in range(_SHORT):
            if len(rest) < _FEW:
                break
            found[rest] -= 1
            rest = rest[IS_SPACE[raw[found[rest] - 1]]]
        for index, begin in zip(rest.tolist(), found[rest].tolist(), strict=True):
            found[index] = before_space(self.data, begin)
        return found

    def words(self, at: IntArray) -> WordArray:
        """The eight bytes from each offset on, with zeros for what is behind the end."""
        if not len(at) or int(at.max()) <= self._last:
            found: WordArray = self._words[at]
            return found
        past = np.maximum(at - self._last, 0).astype(np.uint64)
        found = self._words[np.minimum(at, self._last)]
        found >>= past << _SHIFT_3
        return found

    def tokens(self, at: IntArray, text: bytes) -> IntArray:
        """Positions in ``at`` of the offsets where ``text`` stands with a delimiter after it."""
        found = self._like(at, text)
        return found[DELIMITER[self.raw[at[found] + len(text)]]] if len(found) else found

    def firsts(
        self, at: IntArray, kids: IntArray, owner: IntArray, text: bytes, count: int
    ) -> IntArray:
        """For each of ``count`` owners the first of its ``kids`` with ``text`` at its offset.

        -1 where there is none.
        """
        chosen = self.tokens(at, text)[::-1]
        found = np.full(count, NONE, dtype=np.int64)
        found[owner[chosen]] = kids[chosen]
        return found

    def _like(self, at: IntArray, text: bytes) -> IntArray:
        """Positions in ``at`` of the offsets where ``text`` stands, whatever comes after it.

        Many texts are asked of the same column, so its words are kept until the next one.
        """
        if self._asked is None or self._asked[0] is not at:
            self._asked = at, self.words(at)
        word, mask = _pattern(text[:8])
        found: IntArray = ((self._asked[1] & mask) == word).nonzero()[0]
        for begin in range(8, len(text), 8):
            if not len(found):
                break
            word, mask = _pattern(text[begin : begin + 8])
            found = found[(self.words(at[found] + begin) & mask) == word]
        return found

    # spans

    def atoms(self, at: IntArray) -> IntArray:
        """The span (n, 2) of the atom at each offset; (-1, -1) for offset -1 or a parenthesis."""
        spans = np.full((len(at), 2), NONE, dtype=np.int64)
        for row, begin in enumerate(at.tolist()):
            found = ATOM.match(self.data, begin) if begin != NONE else None
            if found:
                spans[row] = found.span()
        return spans

    def groups(self, begin: IntArray, end: IntArray) -> tuple[IntArray, IntArray]:
        """Which spans hold equal bytes: a code per span, and the row of each code's first span.

        Codes count in the order of first appearance.  A span that ends before
        it begins is empty.
        """
        end = np.maximum(begin, end)
        codes = np.full(len(begin), NONE, dtype=np.int64)
        firsts: list[int] = []
        rest = np.arange(len(begin))
        while len(rest) > _FEW and len(firsts) < _PEELS:
            row = int(rest[0])
            text = self.data[int(begin[row]) : int(end[row])]
            same = self._like(begin[rest], text)
            same = same[end[rest[same]] - begin[rest[same]] == len(text)]
            codes[rest[same]] = len(firsts)
            firsts.append(row)
            several = len(same) * _FEW > len(rest)
            rest = np.delete(rest, same)
            if not several:
                break
        data, known = self.data, dict[bytes, int]()
        for row, first, stop in zip(
            rest.tolist(), begin[rest].tolist(), end[rest].tolist(), strict=True
        ):
            text = data[first:stop]
            code = known.get(text)
            if code is None:
                code = known[text] = len(firsts)
                firsts.append(row)
            codes[row] = code
        return codes, np.array(firsts, dtype=np.int64)

    # numbers

    def decimals(self, at: IntArray) -> Decimals:
        """The decimal millimetres that stand at the offsets ``at``, rounded half to even."""
        read = self.plain(at)
        for index in np.flatnonzero(~read.good).tolist():
            begin = int(at[index])
            value, length = decimal_nm(self.data[begin : begin + LONGEST + 1])
            read.good[index] = length > 0
            read.value[index] = value
            read.end[index] = at[index] + length
        return read

    def plain(self, at: IntArray) -> Decimals:
        """``-dddddd.dddddd`` with at most 6 and 6 digits; all else is not ``good``."""
        return plain_decimals(self.raw, self.words, at)
