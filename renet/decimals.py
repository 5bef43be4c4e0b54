"""Decimal millimetres to integer nanometres: one exactly, or a whole column of plain ones.

Eight digits are read as one little-endian 64-bit integer and dealt with in one
operation on a whole column.  What does not fit the plain pattern is left to the
exact way; both always give the same integers.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import ROUND_HALF_EVEN, Context, Decimal
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from renet.model import BoolArray, IntArray
from renet.scan import DELIMITER

WordArray = NDArray[np.uint64]

LIMIT_MM = 1_000_000
"""Numbers this large or larger are no lengths (a kilometre of board)."""

LONGEST = 64
"""More characters than these are no number."""

_BLOCK = 1 << 13
_NUMBER = re.compile(rb"([-+]?)(?=\.?\d)(\d*)(?:\.(\d*))?([eE][-+]?\d{1,4})?(?=[\s()]|$)")
_CONTEXT = Context(prec=2 * LONGEST, rounding=ROUND_HALF_EVEN)

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


class Decimals(NamedTuple):
    """Numbers read at some offsets: nanometres, offset after each, and which were numbers."""

    value: IntArray
    end: IntArray
    good: BoolArray


def plain_decimals(
    raw: NDArray[np.uint8], words: Callable[[IntArray], WordArray], at: IntArray
) -> Decimals:
    """``-dddddd.dddddd`` with at most 6 and 6 digits; block by block to stay in the cache.

    ``raw`` are the bytes, ``words`` gives the eight bytes from each offset on.
    """
    if len(at) <= _BLOCK:
        return _plain(raw, words, at)
    begins = range(0, len(at), _BLOCK)
    blocks = [_plain(raw, words, at[begin : begin + _BLOCK]) for begin in begins]
    value, end, good = (np.concatenate(column) for column in zip(*blocks, strict=True))
    return Decimals(value, end, good)


def _plain(
    raw: NDArray[np.uint8], words: Callable[[IntArray], WordArray], at: IntArray
) -> Decimals:
    minus = raw[at] == ord("-")
    start = at + minus
    whole_digits, whole = _digits(words(start))
    point = start + whole_digits
    after = point + (raw[point] == ord("."))
    digits, fraction = _digits(words(after))
    end = after + digits
    good = DELIMITER[raw[end]]
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


def _digits(word: WordArray) -> tuple[IntArray, WordArray]:
    """Count of leading digits in each word, and these with all else zero."""
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
    if not found or found.end() > LONGEST:
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
