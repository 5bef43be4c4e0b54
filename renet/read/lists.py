"""What stands in many lists at once: raw or decoded, looked at once per different text."""

from __future__ import annotations

import numpy as np

from renet.atoms import ATOM
from renet.model import NONE, IntArray
from renet.syntax import Tree


def raws(tree: Tree, lists: IntArray, keyword: bytes) -> list[bytes]:
    """What stands in each list after its keyword, b"" for list -1."""
    if not len(lists) or int(lists.max()) == NONE:
        return [b""] * len(lists)
    data = tree.data
    spans = tree.inners(lists, keyword).tolist()
    return [data[start:end] if start != NONE else b"" for start, end in spans]


def texts(tree: Tree, spans: IntArray) -> list[str]:
    """The decoded atom at each span (n, 2), "" where there is none."""
    if not len(spans) or int(spans.max()) == NONE:
        return [""] * len(spans)
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


def atoms_at(tree: Tree, offsets: IntArray) -> IntArray:
    """The span (n, 2) of the atom at each offset; (-1, -1) for offset -1 or a parenthesis."""
    spans = np.full((len(offsets), 2), NONE, dtype=np.int64)
    first = tree.bulk.raw[offsets]
    quoted = ((first == ord('"')) & (offsets >= 0)).nonzero()[0]
    begin = offsets[quoted]
    spans[quoted, 0] = begin
    spans[quoted, 1] = tree.strings[np.searchsorted(tree.strings, begin) + 1] + 1
    for row in ((first != ord('"')) & (offsets >= 0)).nonzero()[0].tolist():
        found = ATOM.match(tree.data, int(offsets[row]))
        if found:
            spans[row] = found.span()
    return spans
