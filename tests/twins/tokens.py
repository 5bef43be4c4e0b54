"""Lists and atoms of a file, found one byte at a time.

The slow twin of ``renet.scan`` and ``renet.syntax``.
"""

from __future__ import annotations

from typing import NamedTuple

SPACE = b" \t\n\r\f\v"


class Tokens(NamedTuple):
    """Lists as (start, end, depth) in file order; atoms as (start, end, is it a string)."""

    lists: list[tuple[int, int, int]]
    atoms: list[tuple[int, int, bool]]


def tokens(data: bytes) -> Tokens | None:
    """Everything in ``data``; None unless it is exactly one well-formed list."""
    lists: list[list[int]] = []
    atoms: list[tuple[int, int, bool]] = []
    around: list[int] = []
    at = 0
    while at < len(data):
        byte = data[at : at + 1]
        if byte in SPACE and byte:
            at += 1
        elif byte == b"(":
            if lists and not around:
                return None
            lists.append([at, -1, len(around)])
            around.append(len(lists) - 1)
            at += 1
        elif byte == b")":
            if not around:
                return None
            at += 1
            lists[around.pop()][1] = at
        else:
            end = string_end(data, at) if byte == b'"' else bare_end(data, at)
            if end is None or not around or (byte == b'"' and lost_quote(data[at:end])):
                return None
            atoms.append((at, end, byte == b'"'))
            at = end
    if around or not lists:
        return None
    return Tokens([(start, end, depth) for start, end, depth in lists], atoms)


def string_end(data: bytes, at: int) -> int | None:
    """Where the string that begins at ``at`` ends, None if it does not."""
    at += 1
    while at < len(data):
        if data[at : at + 1] == b"\\":
            at += 2
        elif data[at : at + 1] == b'"':
            return at + 1
        else:
            at += 1
    return None


def bare_end(data: bytes, at: int) -> int:
    """Where the bare atom that begins at ``at`` ends; quotes inside it are part of it."""
    while at < len(data) and data[at : at + 1] not in (b"(", b")") and data[at] not in SPACE:
        at += 1
    return at


def lost_quote(text: bytes) -> bool:
    """Whether a string looks as if it had swallowed the end of its list."""
    return b"\n" in text and (b"(" in text or b")" in text)
