"""Sorted, disjoint edits of bytes, applied in one pass.  Knows nothing of what the bytes mean."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple


class Edit(NamedTuple):
    """Replace the bytes from ``start`` up to ``end``; equal offsets insert."""

    start: int
    end: int
    text: bytes


def splice(data: bytes, edits: Iterable[Edit | tuple[int, int, bytes]]) -> bytes:
    """``data`` with all edits applied; offsets count in ``data`` as it was.

    Edits must be sorted and must not overlap; an insertion may stand at either
    edge of another edit, and several at one place come out in the given order.
    Anything else is an error of the program: ValueError.
    """
    pieces: list[bytes | memoryview] = []
    view = memoryview(data)
    done = 0
    for start, end, text in edits:
        if not done <= start <= end <= len(data):
            raise ValueError(f"edit {start}..{end} is out of order after {done} of {len(data)}")
        pieces.append(view[done:start])
        pieces.append(text)
        done = end
    pieces.append(view[done:])
    return b"".join(pieces)
