"""What is taken over from BEFORE is what a scan of all of AFTER finds."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies.sexpr import Document, documents, soup

from renet.errors import InputError
from renet.scan import Brackets, brackets
from renet.syntax import Tree, parse
from renet.verify import rescan
from renet.verify.rescan import parse_after

COLUMNS = ("start", "end", "depth", "strings")

bits = st.one_of(
    soup,
    documents().map(lambda document: document.data),
    st.sampled_from([b"", b"(", b")", b'"', b"\\", b" ", b"\0", b"()", b'x"', b'"("', b")("]),
)


@st.composite
def damaged(draw: st.DrawFn) -> tuple[bytes, bytes]:
    """A file, and what is left of it after some edits, half of them at the ends of lists."""
    before = draw(st.lists(documents(), min_size=1, max_size=3).map(joined))
    after = before
    ends = sorted({offset for start, end, _ in rows(before) for offset in (start, end)})
    for _ in range(draw(st.integers(0, 3))):
        places = st.one_of(st.integers(0, len(after)), st.sampled_from(ends))
        first, last = sorted([draw(places), draw(places)])
        after = after[:first] + draw(bits) + after[draw(st.sampled_from([first, last])) :]
    return before, after


def joined(documents: list[Document]) -> bytes:
    """One list of some documents, three times over, so that stretches are found twice."""
    return b"(k " + b" ".join(document.data for document in 3 * documents) + b" )\n"


def rows(data: bytes) -> list[tuple[int, int, int]]:
    found = brackets(data)
    return list(zip(*(column.tolist() for column in found[:3]), strict=True))


def outcome(read: Tree | InputError) -> list[object]:
    if isinstance(read, InputError):
        return [str(read)]
    return [getattr(read, column).tolist() for column in COLUMNS]


def both(before: bytes, after: bytes) -> tuple[list[object], list[object]]:
    found: list[Tree | InputError] = []
    for read in (lambda: parse(after), lambda: parse_after(parse(before), after)[0]):
        try:
            found.append(read())
        except InputError as fault:
            found.append(fault)
    plain, shared = map(outcome, found)
    return plain, shared


@given(damaged())
def test_the_tree_is_that_of_a_scan_of_the_whole_file(files: tuple[bytes, bytes]) -> None:
    plain, shared = both(*files)
    assert plain == shared


@pytest.mark.parametrize(
    ("before", "after"),
    [
        (b"(k (a) (b))\n", b"(k (a)\n"),
        (b"(k (a) (b))", b"(k (a) (b)))"),
        (b'(k (a "(") (b))', b'(k (a "(" (b))'),
        (b'(k (a) "x" (b) (c))', b'(k (a) y"x" (b) (c))'),
        (b"(k (a (b) (c)) (b) (c))", b"(k (a (b) (c) (b) (c))"),
        (b"(k)", b"(k (a))"),
        (b"(k (a))", b"(k)"),
        (b"(k (a))", b"(l (a))"),
        (b"(k (a) (b))", b""),
        (b"(k (a))", b"(k (a)x"),
        (b"(k (a))\n", b"(k (a)) x"),
        (b'(k "x" (a))', b'(k ""x (a))'),
        (b'(k "x" (a))', b"(k  (x) (a))"),
        (b"(k x(a) (b))", b'(k x"("(a) (b))'),
        (b"(k x(a) (b))", b'(k x"y"(z)(a) (b))'),
        (b"(k (a) (b) (c) (d))", b"(k (a) (x (b) (c) y) (d))"),
        (b"(k (a) (b) (c) (d))", b'(k (a) (x ")(b) (c)") (d))'),
        (b"(k (a) (b) (c) (d))", b'(k (a) "x (b) (c) y" (d))'),
        (b"(k (a) (b) (c) (d))", b"(k (a) y) (b) (c) (x (d))"),
    ],
)
def test_corners(before: bytes, after: bytes) -> None:
    plain, shared = both(before, after)
    assert plain == shared


@pytest.mark.parametrize("lists", [10, 1_000])
def test_only_what_differs_is_scanned(monkeypatch: pytest.MonkeyPatch, lists: int) -> None:
    items = [b'(item %d (name "n%d")\n (at 1 %d))' % (n, n % 7, n) for n in range(lists)]
    before = b"(k\n " + b"\n ".join(items) + b"\n)\n"
    items[3] = items[3].replace(b"n3", b"other (")
    del items[5:7]
    items.insert(8, b"(new (x))")
    after = b"(k\n " + b"\n ".join(items) + b"\n)\n"
    tree, looked_at = parse(before), []

    def counted(data: bytes) -> Brackets:
        looked_at.append(len(data))
        return brackets(data)

    monkeypatch.setattr(rescan, "brackets", counted)
    monkeypatch.setattr(rescan, "parse", pytest.fail)
    found, _ = parse_after(tree, after)
    assert np.array_equal(found.start, parse(after).start)
    assert sum(looked_at) < 250
