"""Atoms: what the bytes of a name say, and how a name is written as bytes.

An atom is a bare token or a string in quotes.  In a string a backslash escapes
the next character (backslash n is a line feed); in a bare atom it is a character
like any other, as a quote is once the atom has begun.
"""

from __future__ import annotations

import re
from typing import NamedTuple

ATOM = re.compile(rb'"(?:[^"\\]|\\.)*+"|[^\s()"][^\s()]*+', re.DOTALL)
"""An atom where one begins; strings may hold anything."""

_ESCAPE = re.compile(r"\\(.)", re.DOTALL)
_ESCAPED = {"n": "\n", "r": "\r", "t": "\t", "b": "\b", "f": "\f"}
_PLAIN = re.compile(r"[^\s()\"%{}#|;'`,\\-][^\s()\"%{}]*")
_TO_ESCAPE = str.maketrans({"\\": "\\\\", '"': '\\"', "\n": "\\n", "\r": "\\r", "\t": "\\t"})


class Atom(NamedTuple):
    """Where an atom stands, its quotes included."""

    start: int
    end: int
    quoted: bool


def encode(text: str, *, quoted: bool) -> bytes:
    """``text`` as an atom: a string if ``quoted`` or if it could be misread when bare."""
    if not quoted and _PLAIN.fullmatch(text):
        return text.encode()
    return b'"' + text.translate(_TO_ESCAPE).encode() + b'"'


def decode(raw: bytes) -> str:
    """What an atom says; escapes mean something in strings only.  May raise UnicodeDecodeError."""
    text = raw.decode("utf-8")
    if text[:1] != '"':
        return text
    text = text[1:-1]
    if "\\" not in text:
        return text
    return _ESCAPE.sub(lambda found: _ESCAPED.get(found[1], found[1]), text)
