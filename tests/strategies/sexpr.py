"""Random documents of lists and atoms, every corner of the grammar in them, with what they are.

The corners: line feeds, CRLF and tabs; bare atoms with quotes and backslashes
inside; strings with escapes, parentheses or line ends (never both); empty
strings and lists; numbers with exponents; text beyond ASCII.
"""

from __future__ import annotations

from typing import NamedTuple

from hypothesis import strategies as st

Node = tuple["Node", ...] | bytes
"""A list of nodes, or an atom as it is written."""


class Document(NamedTuple):
    """A file, its lists as (start, end, depth) in file order, and its atoms as (start, end)."""

    data: bytes
    lists: tuple[tuple[int, int, int], ...]
    atoms: tuple[tuple[int, int], ...]


_INSIDE = st.sampled_from(['"', "\\", "a", "0.96", "µ", "~{X}", "|", ";", "#"])
_FIRST = st.sampled_from(["a", "-", "\\", "Ω", "x9", "#"])
_IN_STRING = st.sampled_from(
    ["\\\\", '\\"', "\\n", "(", ")", " ", "\t", "\n", "ж", "word", "\u00ad", "\u2028"]
)

numbers = st.sampled_from([b"0", b"-1e-05", b"12.7", b"-0.000001", b".5", b"1E3", b"0.0000005"])
bare = st.builds(lambda first, rest: (first + "".join(rest)).encode(), _FIRST, st.lists(_INSIDE))
strings = (
    st.lists(_IN_STRING, max_size=6)
    .map(lambda body: f'"{"".join(body)}"'.encode())
    .filter(lambda text: b"\n" not in text or not {*b"()"} & {*text})
)
atoms = st.one_of(numbers, bare, strings)
nodes: st.SearchStrategy[Node] = st.recursive(
    atoms, lambda inner: st.lists(inner, max_size=5).map(tuple), max_leaves=25
)
spaces = st.sampled_from([b" ", b"\n", b"\r\n", b"\t\t", b"  \n\t"])


@st.composite
def documents(draw: st.DrawFn) -> Document:
    """A well-formed file with exactly one outermost list."""
    tree = tuple(draw(st.lists(nodes, max_size=6)))
    gaps = draw(st.lists(spaces, min_size=1, max_size=7))
    return write(tree, gaps, draw(st.booleans()))


def write(tree: Node, gaps: list[bytes], tight: bool) -> Document:
    """Render ``tree`` with the white space of ``gaps`` in turn.

    ``tight`` leaves it out wherever the grammar does not need it.
    """
    pieces: list[bytes] = []
    lists: list[list[int]] = []
    found: list[tuple[int, int]] = []
    open_lists: list[int] = []
    size = 0
    after_bare = False
    todo: list[Node | None] = [tree]
    while todo:
        node = todo.pop()
        ends = node is None
        bare_now = isinstance(node, bytes) and not node.startswith(b'"')
        needed = after_bare and isinstance(node, bytes)
        if pieces and (needed or not tight):
            pieces.append(gaps[len(pieces) % len(gaps)])
            size += len(pieces[-1])
        if ends:
            pieces.append(b")")
            lists[open_lists.pop()][1] = size + 1
        elif isinstance(node, bytes):
            pieces.append(node)
            found.append((size, size + len(node)))
        else:
            pieces.append(b"(")
            lists.append([size, 0, len(open_lists)])
            open_lists.append(len(lists) - 1)
            todo += [None, *reversed(node)]
        size += len(pieces[-1])
        after_bare = bare_now
    return Document(b"".join(pieces), tuple((s, e, d) for s, e, d in lists), tuple(found))


soup = st.lists(
    st.sampled_from([b"(", b")", b'"', b"\\", b" ", b"\n", b"a", b'a"', b'\\"', b'""', b"(b"]),
    max_size=24,
).map(b"".join)
"""Bytes that are hardly ever well-formed, made of what matters to the grammar."""
