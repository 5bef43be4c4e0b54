"""Brackets and strings of a whole file, found in bulk and without any meaning.

The grammar is that of real files: a list is ``( ... )``, an atom is bare or a
string, and a ``"`` opens a string only at the start of an atom: inside a bare
atom (``0.96"``) it is a character like any other.  Backslashes escape inside
strings and mean nothing in bare atoms.

:func:`brackets` decides which quotes matter by parity, in bulk, and repairs the
few that stand inside bare atoms; when there are too many of those it asks
:func:`string_ends`, the exact scan with one regular expression.  Both always
agree, which the tests check on random documents.
"""

from __future__ import annotations

import re
from typing import NamedTuple, NoReturn

import numpy as np
from numpy.typing import NDArray

from renet.errors import InputError
from renet.kernel import KERNEL
from renet.model import BoolArray, IntArray

MAX_DEPTH = 200
SPACE = b" \t\n\r\f\v"

_BLOCK = 1 << 18
_REPAIRS = 32
_TOKEN = re.compile(rb'"(?:[^"\\]|\\.)*+"?|[^\s()"][^\s()]*+', re.DOTALL)
_SPACES = re.compile(rb"\s*")
_PARENTHESIS = re.compile(rb"[()]")
_BINARY = "the file is not text: it holds a zero byte"
_FOREIGN = "is it another program's file?"

IS_SPACE = np.zeros(256, dtype=bool)
IS_SPACE[list(SPACE)] = True
DELIMITER = IS_SPACE.copy()
DELIMITER[list(b"()")] = True


class Brackets(NamedTuple):
    """Lists in file order: offset of ``(``, offset after ``)``, depth (outermost 0).

    ``strings`` holds the offsets of the quotes that open and close strings,
    alternately.
    """

    start: IntArray
    end: IntArray
    depth: NDArray[np.uint8]
    strings: IntArray


def place(data: bytes, offset: int) -> tuple[int, int]:
    """Line and column, from 1, of a byte; lines end at line feeds, columns count bytes."""
    line_start = data.rfind(b"\n", 0, offset) + 1
    return data.count(b"\n", 0, offset) + 1, offset - line_start + 1


def past_space(data: bytes, offset: int) -> int:
    """Where the next token begins at or after ``offset``."""
    found = _SPACES.match(data, offset)
    return found.end() if found else offset


def before_space(data: bytes, offset: int) -> int:
    """Where the white space in front of ``offset`` begins."""
    while offset and data[offset - 1] in SPACE:
        offset -= 1
    return offset


def fault(data: bytes, offset: int, what: str, do: str = "") -> InputError:
    """An InputError that points at ``offset``."""
    line, column = place(data, offset)
    return InputError(what, do, line=line, column=column)


def brackets(data: bytes) -> Brackets:
    """All lists of ``data``; InputError unless it is exactly one well-formed list."""
    check_text(data)
    found = KERNEL.brackets(data) if KERNEL else None
    if found:
        start, end, depth, strings = found
        return Brackets(
            start=np.frombuffer(start, dtype=np.int64),
            end=np.frombuffer(end, dtype=np.int64),
            depth=np.frombuffer(depth, dtype=np.uint8),
            strings=np.frombuffer(strings, dtype=np.int64),
        )
    return numpy_brackets(data)


def numpy_brackets(data: bytes) -> Brackets:
    """:func:`brackets` for all that the compiled module leaves, and for who has none."""
    raw = np.frombuffer(data, dtype=np.uint8)
    special = _special(raw)
    kind = raw[special]
    strings = _strings(data, raw, special[kind == ord('"')])
    if len(strings) % 2:
        _fail_unclosed_string(data, strings)
    at = _outside(data, special, kind, strings)
    return Brackets(*_matched(data, at, raw[at] == ord("(")), strings)


def _matched(
    data: bytes, at: IntArray, opens: BoolArray
) -> tuple[IntArray, IntArray, NDArray[np.uint8]]:
    """Start, end and depth of all lists, from the parentheses at the offsets ``at``.

    A list without lists in it is a "(" right before its ")".  Of the others, the "("
    sorted stably by level and the ")" sorted likewise belong together one by one.
    """
    depth = opens.astype(np.int32)
    depth <<= 1
    depth -= 1
    np.cumsum(depth, dtype=np.int32, out=depth)
    _check_nesting(data, at, opens, depth)
    level = depth.astype(np.uint8)
    lists = opens.nonzero()[0]
    own, end = level[lists], at[lists + 1]
    outer = opens[lists + 1].nonzero()[0]
    close = (~(opens[1:] | opens[:-1])).nonzero()[0] + 1
    outer = outer[np.argsort(own[outer], kind="stable")]
    end[outer] = at[close[np.argsort(level[close], kind="stable")]]
    return at[lists], end + 1, own - np.uint8(1)


def string_ends(data: bytes) -> IntArray:
    """Offsets of the quotes that open and close strings, by an exact scan of all tokens.

    An odd count means that the last string is not closed.
    """
    found: list[int] = []
    for token in _TOKEN.finditer(data):
        start, end = token.span()
        if data[start] == ord('"'):
            found.append(start)
            if end - start > 1 and data[end - 1] == ord('"'):
                found.append(end - 1)
    return np.array(found, dtype=np.int64)


def _special(raw: NDArray[np.uint8]) -> IntArray:
    """Offsets of all parentheses and quotes, marked block by block to stay in the cache."""
    marks = np.empty(len(raw), dtype=bool)
    for begin in range(0, len(raw), _BLOCK):
        part = slice(begin, begin + _BLOCK)
        np.less(raw[part] - ord("("), 2, out=marks[part])  # ")" comes next, lower bytes wrap
        marks[part] |= raw[part] == ord('"')
    return np.flatnonzero(marks)


def _strings(data: bytes, raw: NDArray[np.uint8], quotes: IntArray) -> IntArray:
    """The quotes that open and close strings, alternately.

    A quote after an odd run of backslashes never counts: inside a string it is
    escaped, outside it stands inside a bare atom.  Of the others, every second
    one must open a string.  Up to the first that cannot, the parity is right;
    so that one belongs to a bare atom and is dropped.
    """
    live = _unescaped(data, raw, quotes)
    for _ in range(_REPAIRS):
        openers = live[0::2]
        able: BoolArray = DELIMITER[raw[np.maximum(openers - 1, 0)]] | (openers == 0)
        able[1:] |= openers[1:] - 1 == live[1::2][: max(len(openers) - 1, 0)]
        unable = np.flatnonzero(~able)
        if not len(unable):
            return live
        live = np.delete(live, 2 * unable[0])
    return string_ends(data)


def _unescaped(data: bytes, raw: NDArray[np.uint8], quotes: IntArray) -> IntArray:
    """``quotes`` without those that follow an odd number of backslashes."""
    doubtful = np.flatnonzero(raw[np.maximum(quotes - 1, 0)] == ord("\\"))
    if not len(doubtful):
        return quotes
    keep = np.ones(len(quotes), dtype=bool)
    for index in doubtful.tolist():
        first = last = int(quotes[index])
        while first and data[first - 1] == ord("\\"):
            first -= 1
        keep[index] = (last - first) % 2 == 0
    return quotes[keep]


def _outside(
    data: bytes, special: IntArray, kind: NDArray[np.uint8], strings: IntArray
) -> IntArray:
    """Offsets of the parentheses that stand outside all strings.

    A string with both a parenthesis and a line end in it is refused: real files
    have no line ends in strings, and one that lost its closing quote has both.
    """
    drop = kind == ord('"')
    marks = np.flatnonzero(drop)
    if len(marks) != len(strings):
        real = np.zeros(len(data), dtype=bool)
        real[strings] = True
        marks = np.flatnonzero(real[special])
    inner = marks[1::2] - marks[0::2] - 1
    holding = np.flatnonzero(inner)
    if len(holding):
        _check_lines(data, strings.reshape(-1, 2)[holding])
        step = np.arange(inner.sum()) - np.repeat(np.cumsum(inner) - inner, inner)
        drop[np.repeat(marks[0::2] + 1, inner) + step] = True
    at: IntArray = special[~drop]
    return at


def _check_lines(data: bytes, strings: IntArray) -> None:
    """Refuse strings (n, 2) that hold a line end and a parenthesis."""
    for first, last in strings.tolist():
        if data.find(b"\n", first, last) >= 0 and _PARENTHESIS.search(data, first, last):
            what = "a string begins here and runs over the end of the line"
            raise fault(data, first, what, "is its closing quote missing?")


def check_text(data: bytes) -> None:
    """Refuse what cannot be a text file with one list, with a word on what it may be."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise fault(data, 0, "the file is UTF-16 text", "save it as UTF-8")
    if data[:3] == b"\xef\xbb\xbf":
        raise fault(data, 0, "the file begins with a byte order mark", "save it as plain UTF-8")
    zero = data.find(b"\0")
    if zero >= 0:
        raise fault(data, zero, _BINARY, _FOREIGN)
    head = len(data) - len(data.lstrip(SPACE))
    if head == len(data):
        raise fault(data, 0, "the file is empty", "was it cut short?")
    if data[head] != ord("("):
        shown = data[head : head + 1].decode("ascii", "backslashreplace")
        raise fault(data, head, f"expected '(' at the start but found {shown!r}", _FOREIGN)


def _check_nesting(data: bytes, at: IntArray, opens: BoolArray, depth: NDArray[np.int32]) -> None:
    """Refuse anything but one balanced list of bounded depth with nothing after it."""
    closed = np.flatnonzero(depth == 0)
    last = int(closed[0]) if len(closed) else len(at) - 1
    deep = np.flatnonzero(depth[: last + 1] > MAX_DEPTH)
    if len(deep):
        what = f"lists are nested more than {MAX_DEPTH} deep"
        raise fault(data, int(at[deep[0]]), what, _FOREIGN)
    if not len(closed):
        _fail_open(data, int(at[np.flatnonzero(opens & (depth == depth[-1]))[-1]]))
    rest = int(at[last]) + 1
    extra = rest + len(data[rest:]) - len(data[rest:].lstrip(SPACE))
    if extra < len(data):
        what = "text after the end of the outermost list"
        if data[extra] == ord(")"):
            what = "')' without its '('"
        raise fault(data, extra, what, "is a parenthesis or a quote missing before?")


def _fail_open(data: bytes, offset: int) -> NoReturn:
    word = re.compile(rb"\(\s*([^\s()\"]{0,40})").match(data, offset)
    name = word[1].decode("utf-8", "replace") if word else ""
    what = f"the file ends inside the list ({name} that begins here"
    raise fault(data, offset, what, "was the file cut short?")


def _fail_unclosed_string(data: bytes, strings: IntArray) -> NoReturn:
    """Point at the last string, or at an earlier one that has lost its closing quote."""
    _check_lines(data, strings[:-1].reshape(-1, 2))
    what = "the string that begins here is not closed"
    raise fault(data, int(strings[-1]), what, "was the file cut short?")
