"""What stands in many lists at once: raw or decoded, looked at once per different text."""

from __future__ import annotations

from renet.model import NONE, IntArray
from renet.syntax import Tree


def raws(tree: Tree, lists: IntArray, keyword: bytes) -> list[bytes]:
    """What stands in each list after its keyword, b"" for list -1."""
    if not len(lists) or int(lists.max()) == NONE:
        return [b""] * len(lists)
    data = tree.data
    spans = tree.inners(lists, keyword).tolist()
    return [data[start:end] if start != NONE else b"" for start, end in spans]


def distinct(tree: Tree, spans: IntArray) -> tuple[IntArray, IntArray]:
    """The different texts at some spans (n, 2): the code of each, and the span of each code."""
    codes, rows = tree.bulk.groups(spans[:, 0], spans[:, 1])
    return codes, spans[rows]


def distinct_raws(tree: Tree, spans: IntArray) -> tuple[IntArray, list[bytes]]:
    """As :func:`distinct`, with the bytes of each code; b"" for (-1, -1)."""
    codes, first = distinct(tree, spans)
    return codes, [tree.data[start:end] if start != NONE else b"" for start, end in first.tolist()]


def texts(tree: Tree, spans: IntArray) -> list[str]:
    """The decoded atom at each span (n, 2), "" where there is none."""
    if not len(spans) or int(spans.max()) == NONE:
        return [""] * len(spans)
    codes, first = distinct(tree, spans)
    known = [tree.text(start, end) if start != NONE else "" for start, end in first.tolist()]
    return [known[code] for code in codes.tolist()]
