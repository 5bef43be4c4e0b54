"""Looking into bytes at many offsets at once: comparing with a word, reading decimals.

Eight bytes are read as one little-endian 64-bit integer, so the first byte is
the lowest, and eight characters are dealt with in one operation on a whole
column of offsets.  What does not fit the plain pattern is done one by one, and
exactly; both ways always give the same integers.
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_EVEN, Context, Decimal
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from renet.model import BoolArray, IntArray
from renet.scan import DELIMITER

WordArray = NDArray[np.uint64]

LIMIT_MM = 1_000_000
"""Numbers this large or larger are no lengths (a kilometre of board)."""

_PAD = 24
_PEELS = 12
_LONGEST = 64
_NUMBER = re.compile(rb"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d{1,4})?(?=[\s()]|$)")
_CONTEXT = Context(prec=2 * _LONGEST, rounding=ROUND_HALF_EVEN)

_ZEROS = np.uint64(0x3030303030303030)
_ABOVE_NINE = np.uint64(0x7676767676767676)
_HIGH_BITS = np.uint64(0x8080808080808080)
_ONES = np.uint64(0x0101010101010101)
_PAIRS = np.uint64(0x00FF00FF00FF00FF)
_FOURS = np.uint64(0x0000FFFF0000FFFF)
_HALF = np.uint64(0x00000000FFFFFFFF)


def _word(text: bytes) -> np.uint64:
    return np.uint64(int.from_bytes(text[:8], "little"))


def _mask(text: bytes) -> np.uint64:
    return np.uint64((1 << 8 * min(len(text), 8)) - 1)


def _bits(count: int) -> np.uint64:
    return np.uint64(count)


class Decimals(NamedTuple):
    """Numbers read at some offsets: nanometres, offset after each, and which were numbers."""

    value: IntArray
    end: IntArray
    good: BoolArray


class Bulk:
    """Bytes with room after the end, as single bytes (``raw``) and as words at any offset."""

    __slots__ = ("raw", "words")

    raw: NDArray[np.uint8]
    words: WordArray

    def __init__(self, data: bytes) -> None:
        padded = data + bytes(_PAD)
        self.raw = np.frombuffer(padded, dtype=np.uint8)
        self.words = np.ndarray((len(padded) - 7,), np.dtype("<u8"), padded, strides=(1,))

    def tokens(self, at: IntArray, text: bytes, first: WordArray | None = None) -> IntArray:
        """Positions in ``at`` of the offsets where ``text`` stands with a delimiter after it.

        ``first`` are the words at the offsets, for callers that ask repeatedly.
        """
        found = self._like(self.words[at] if first is None else first, at, text)
        return found[DELIMITER[self.raw[at[found] + len(text)]]]

    def _like(self, first: WordArray, at: IntArray, text: bytes) -> IntArray:
        """Positions in ``at`` of the offsets where ``text`` stands, whatever comes after it."""
        found = np.flatnonzero((first & _mask(text)) == _word(text))
        for begin in range(8, len(text), 8):
            piece = text[begin : begin + 8]
            where = np.minimum(at[found] + begin, len(self.words) - 1)
            found = found[(self.words[where] & _mask(piece)) == _word(piece)]
        return found

    def groups(self, begin: IntArray, end: IntArray) -> tuple[IntArray, list[bytes]]:
        """Which spans hold equal bytes: a code per span, and the bytes of each code.

        Codes count in the order of first appearance.  Made for few different
        texts; many cost a dictionary look-up each.
        """
        codes = np.full(len(begin), -1, dtype=np.int64)
        texts: list[bytes] = []
        first = self.words[np.minimum(begin, len(self.words) - 1)]
        rest = np.arange(len(begin))
        while len(rest) and len(texts) < _PEELS:
            size = int(end[rest[0]] - begin[rest[0]])
            text = self._text(int(begin[rest[0]]), size)
            same = np.zeros(len(rest), dtype=bool)
            same[self._like(first[rest], begin[rest], text)] = True
            same &= end[rest] - begin[rest] == size
            codes[rest[same]] = len(texts)
            texts.append(text)
            rest = rest[~same]
        known = {text: code for code, text in enumerate(texts)}
        for index in rest.tolist():
            text = self._text(int(begin[index]), int(end[index] - begin[index]))
            codes[index] = known.setdefault(text, len(known))
        return codes, list(known)

    def _text(self, at: int, size: int) -> bytes:
        return self.raw[at : at + size].tobytes()

    def decimals(self, at: IntArray) -> Decimals:
        """The decimal millimetres that stand at the offsets ``at``, rounded half to even."""
        read = self.plain(at)
        for index in np.flatnonzero(~read.good).tolist():
            value, length = decimal_nm(self.raw[at[index] : at[index] + _LONGEST + 1].tobytes())
            read.good[index] = length > 0
            read.value[index] = value
            read.end[index] = at[index] + length
        return read

    def plain(self, at: IntArray) -> Decimals:
        """``-dddddd.dddddd`` with at most 6 and 6 digits, all at once."""
        minus = self.raw[at] == ord("-")
        start = at + minus
        whole_digits, whole = self._digits(start, right=True)
        point = start + whole_digits
        dotted = self.raw[point] == ord(".")
        after = point + dotted
        digits, fraction = self._digits(after, right=False)
        end = after + digits
        good = (whole_digits > 0) & (whole_digits <= 6) & (digits <= 6) & DELIMITER[self.raw[end]]
        value = whole * 1_000_000 + fraction
        return Decimals(np.where(minus, -value, value), end, good)

    def _digits(self, at: IntArray, *, right: bool) -> tuple[IntArray, IntArray]:
        """Count and value of up to eight leading digits at each offset.

        ``right``: their value as an integer; else the first six as millionths
        (``5`` is 500000).
        """
        word = self.words[at] ^ _ZEROS
        other = ((word + _ABOVE_NINE) | word) & _HIGH_BITS
        lowest = other & (~other + _bits(1))
        keep = (lowest >> _bits(7)) - _bits(1)
        count = ((keep & _ONES) * _ONES) >> _bits(56)
        shift = _bits(64) - (count << _bits(3)) if right else _bits(16)
        return count.astype(np.int64), _eight_digits((word & keep) << shift)


def _eight_digits(word: WordArray) -> IntArray:
    """The value of eight digits (bytes 0 to 9, first digit lowest) in each word."""
    pairs = (word & _PAIRS) * _bits(10) + ((word >> _bits(8)) & _PAIRS)
    fours = (pairs & _FOURS) * _bits(100) + ((pairs >> _bits(16)) & _FOURS)
    eight = (fours & _HALF) * _bits(10000) + (fours >> _bits(32))
    return eight.astype(np.int64)


def decimal_nm(text: bytes) -> tuple[int, int]:
    """Nanometres of the decimal millimetres that begin ``text``, and how many bytes they take.

    Exact, rounded half to even; (0, 0) where no number stands, or one that is
    longer than 64 characters or too large for a length.
    """
    found = _NUMBER.match(text)
    if not found or found.end() > _LONGEST:
        return 0, 0
    number = Decimal(found[0].decode("ascii"))
    if number.adjusted() >= 6 and number:
        return 0, 0
    if number.adjusted() < -12:
        return 0, found.end()
    return int(number.scaleb(6, _CONTEXT).to_integral_value(context=_CONTEXT)), found.end()
