"""Looking into bytes at many offsets at once: comparing with a word, reading decimals.

Eight bytes are read as one little-endian 64-bit integer, so the first byte is
the lowest, and eight characters are dealt with in one operation on a whole
column of offsets.  What does not fit the plain pattern is done one by one, and
exactly; both ways always give the same integers.
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_EVEN, Context, Decimal
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from renet.model import BoolArray, IntArray
from renet.scan import DELIMITER

WordArray = NDArray[np.uint64]

LIMIT_MM = 1_000_000
"""Numbers this large or larger are no lengths (a kilometre of board)."""

_WORD = 8
_PEELS = 12
_FEW = 40
_BLOCK = 1 << 13
_LONGEST = 64
_NUMBER = re.compile(rb"([-+]?)(?=\.?\d)(\d*)(?:\.(\d*))?([eE][-+]?\d{1,4})?(?=[\s()]|$)")
_CONTEXT = Context(prec=2 * _LONGEST, rounding=ROUND_HALF_EVEN)

_ZEROS = np.uint64(0x3030303030303030)
_ABOVE_NINE = np.uint64(0x7676767676767676)
_HIGH_BITS = np.uint64(0x8080808080808080)
_ONES = np.uint64(0x0101010101010101)
_ONE, _SHIFT_3, _SHIFT_7, _SHIFT_16, _SHIFT_56 = (np.uint64(n) for n in (1, 3, 7, 16, 56))
_FOLDS = tuple(
    (np.uint64(shift), np.uint64(mask), np.uint64(weight))
    for shift, mask, weight in (
        (8, 0x00FF00FF00FF00FF, 10),
        (16, 0x0000FFFF0000FFFF, 100),
        (32, 0x00000000FFFFFFFF, 10_000),
    )
)
"""Digits to pairs, pairs to fours, fours to eight."""


@lru_cache(maxsize=1024)
def _pattern(piece: bytes) -> tuple[np.uint64, np.uint64]:
    """Up to eight bytes as a word, and the mask of the bytes that count."""
    return np.uint64(int.from_bytes(piece, "little")), np.uint64((1 << 8 * len(piece)) - 1)


class Decimals(NamedTuple):
    """Numbers read at some offsets: nanometres, offset after each, and which were numbers."""

    value: IntArray
    end: IntArray
    good: BoolArray


class Bulk:
    """Bytes as single bytes (``raw``) and, by :meth:`words`, as words at any offset.

    The bytes are looked at where they are: nothing is copied.
    """

    __slots__ = ("_last", "_words", "raw")

    raw: NDArray[np.uint8]

    def __init__(self, data: bytes) -> None:
        roomy = data if len(data) >= _WORD else data + bytes(_WORD)
        self.raw = np.frombuffer(roomy, dtype=np.uint8)
        self._last = len(roomy) - _WORD
        self._words = np.ndarray((self._last + 1,), np.dtype("<u8"), roomy, strides=(1,))

    def words(self, at: IntArray) -> WordArray:
        """The eight bytes from each offset on, with zeros for what is behind the end."""
        if not len(at) or int(at.max()) <= self._last:
            found: WordArray = self._words[at]
            return found
        past = np.maximum(at - self._last, 0).astype(np.uint64)
        found = self._words[np.minimum(at, self._last)]
        found >>= past << _SHIFT_3
        return found

    def tokens(self, at: IntArray, text: bytes, first: WordArray | None = None) -> IntArray:
        """Positions in ``at`` of the offsets where ``text`` stands with a delimiter after it.

        ``first`` are the words at the offsets, for callers that ask repeatedly.
        """
        if first is None:
            first = self.words(at)
        found = self._like(first, at, text)
        return found[DELIMITER[self.raw[at[found] + len(text)]]] if len(found) else found

    def _like(self, first: WordArray, at: IntArray, text: bytes) -> IntArray:
        """Positions in ``at`` of the offsets where ``text`` stands, whatever comes after it."""
        word, mask = _pattern(text[:8])
        found: IntArray = ((first & mask) == word).nonzero()[0]
        for begin in range(8, len(text), 8):
            if not len(found):
                break
            word, mask = _pattern(text[begin : begin + 8])
            found = found[(self.words(at[found] + begin) & mask) == word]
        return found

    def groups(self, begin: IntArray, end: IntArray) -> tuple[IntArray, list[bytes]]:
        """Which spans hold equal bytes: a code per span, and the bytes of each code.

        Codes count in the order of first appearance.  Made for few different
        texts; many cost a dictionary look-up each.
        """
        codes = np.full(len(begin), -1, dtype=np.int64)
        texts: list[bytes] = []
        first = self.words(begin)
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
        if len(at) < _FEW:
            read = Decimals(np.zeros_like(at), at.copy(), np.zeros(len(at), dtype=bool))
        else:
            read = self.plain(at)
        for index in np.flatnonzero(~read.good).tolist():
            value, length = decimal_nm(self._text(int(at[index]), _LONGEST + 1))
            read.good[index] = length > 0
            read.value[index] = value
            read.end[index] = at[index] + length
        return read

    def plain(self, at: IntArray) -> Decimals:
        """``-dddddd.dddddd`` with at most 6 and 6 digits; block by block to stay in the cache."""
        if len(at) <= _BLOCK:
            return self._plain(at)
        blocks = [self._plain(at[begin : begin + _BLOCK]) for begin in range(0, len(at), _BLOCK)]
        value, end, good = (np.concatenate(column) for column in zip(*blocks, strict=True))
        return Decimals(value, end, good)

    def _plain(self, at: IntArray) -> Decimals:
        minus = self.raw[at] == ord("-")
        start = at + minus
        whole_digits, whole = self._digits(start)
        point = start + whole_digits
        after = point + (self.raw[point] == ord("."))
        digits, fraction = self._digits(after)
        end = after + digits
        good = DELIMITER[self.raw[end]]
        good &= digits <= 6
        good &= whole_digits <= 6
        good &= whole_digits > 0
        # Whole digits move up so that zeros come in front; of the fraction the
        # first six stay, as millionths.
        whole <<= (8 - whole_digits).astype(np.uint64) << _SHIFT_3
        fraction <<= _SHIFT_16
        values = _eight_digits(np.concatenate([whole, fraction])).reshape(2, -1)
        value = values[0] * 1_000_000 + values[1]
        np.negative(value, out=value, where=minus)
        return Decimals(value, end, good)

    def _digits(self, at: IntArray) -> tuple[IntArray, WordArray]:
        """Count of up to eight leading digits at each offset, and these with all else zero."""
        word = self.words(at)
        word ^= _ZEROS
        other = word + _ABOVE_NINE
        other |= word
        other &= _HIGH_BITS
        keep = ~other
        keep += _ONE
        keep &= other
        keep >>= _SHIFT_7
        keep -= _ONE
        word &= keep
        keep &= _ONES
        keep *= _ONES
        keep >>= _SHIFT_56
        return keep.astype(np.int64), word


def _eight_digits(word: WordArray) -> IntArray:
    """The value of eight digits (bytes 0 to 9, first digit lowest) in each word."""
    for shift, mask, weight in _FOLDS:
        second = word >> shift
        second &= mask
        word &= mask
        word *= weight
        word += second
    return word.view(np.int64)


def decimal_nm(text: bytes) -> tuple[int, int]:
    """Nanometres of the decimal millimetres that begin ``text``, and how many bytes they take.

    Exact, rounded half to even; (0, 0) where no number stands, or one that is
    longer than 64 characters or too large for a length.
    """
    found = _NUMBER.match(text)
    if not found or found.end() > _LONGEST:
        return 0, 0
    sign, whole, fraction, exponent = found.groups()
    if not exponent and len(whole) <= 6 and len(fraction or b"") <= 6:
        value = int(whole or b"0") * 1_000_000 + int((fraction or b"0").ljust(6, b"0"))
        return -value if sign == b"-" else value, found.end()
    number = Decimal(found[0].decode("ascii"))
    if number and number.adjusted() >= 6:
        return 0, 0
    if number.adjusted() < -12:
        return 0, found.end()
    return int(number.scaleb(6, _CONTEXT).to_integral_value(context=_CONTEXT)), found.end()
