"""What single atoms and small lists of a file say, for verify: each asked once per spelling.

Read from bytes and nothing else, as :mod:`renet.verify.sheet`, and by the rules of the format:
a quote opens a string only where an atom begins.
"""

from __future__ import annotations

import re
from functools import lru_cache

from renet.syntax import decode

ATOM = re.compile(rb'"(?:[^"\\]|\\.)*+"|[^\s()"][^\s()]*+', re.DOTALL)
_SECOND = re.compile(rb"\(\s*[^\s()\"][^\s()]*+\s*(%b)" % ATOM.pattern, re.DOTALL)
_PLAIN = re.compile(rb'"(?:[^"\\]|\\["\\nrt])*+"|[^"].*', re.DOTALL)
PRIVATE = "unconnected-("
MARK = b"+no_connect"


@lru_cache(maxsize=1 << 14)
def values(raw: bytes) -> tuple[bytes, ...]:
    """The atoms of a small list without its keyword."""
    return tuple(ATOM.findall(raw)[1:])


@lru_cache(maxsize=1 << 14)
def said(row: bytes) -> tuple[str, str, tuple[bytes, bytes]] | None:
    """Number and name in a row of the net table, and both as written; None if it is none."""
    atoms = values(row)
    return (text(atoms[0]), text(atoms[1]), atoms[:2]) if len(atoms) == 2 else None


@lru_cache(maxsize=1 << 14)
def number(head: bytes) -> str:
    """The atom behind a pad's keyword, "" where there is none before its lists begin."""
    found = _SECOND.match(head)
    return text(found[1]) if found else ""


@lru_cache(maxsize=1 << 16)
def text(atom: bytes) -> str:
    """What an atom says; bytes that are no UTF-8 become replacement characters."""
    return decode(atom.decode("utf-8", "replace").encode())


@lru_cache(maxsize=1 << 14)
def spacing(raw: bytes) -> tuple[bytes, ...]:
    """What stands around the atoms of a small list and between them."""
    return tuple(ATOM.split(raw))


def is_plain(atom: bytes) -> bool:
    """Whether an atom escapes only what needs it; other readers take other escapes otherwise."""
    return _PLAIN.fullmatch(atom) is not None
