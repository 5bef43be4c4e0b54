"""What stands in many lists at once: raw or decoded, looked at once per different text."""

from __future__ import annotations

from renet.model import NONE, IntArray
from renet.syntax import Tree


def raws(tree: Tree, lists: IntArray, keyword: bytes) -> list[bytes]:
    """What stands in each list after its keyword, b"" for list -1."""
    data = tree.data
    spans = tree.inners(lists, keyword).tolist()
    return [data[start:end] if start != NONE else b"" for start, end in spans]


def texts(tree: Tree, spans: IntArray) -> list[str]:
    """The decoded atom at each span (n, 2), "" where there is none."""
    known: dict[bytes, str] = {b"": ""}
    found = []
    data = tree.data
    for start, end in spans.tolist():
        raw = data[start:end] if start != NONE else b""
        text = known.get(raw)
        if text is None:
            text = known[raw] = tree.text(start, end)
        found.append(text)
    return found
