from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies.sexpr import Document, documents, soup
from twins.tokens import tokens

from renet.errors import InputError
from renet.scan import MAX_DEPTH, brackets, place, string_ends


def rows(data: bytes) -> list[tuple[int, int, int]]:
    found = brackets(data)
    columns = (found.start.tolist(), found.end.tolist(), found.depth.tolist())
    return list(zip(*columns, strict=True))


def complaint(data: bytes) -> str:
    with pytest.raises(InputError) as caught:
        brackets(data)
    return str(caught.value.in_file("F")).removeprefix("F:")


@given(documents())
def test_lists_are_those_of_the_document(document: Document) -> None:
    assert rows(document.data) == list(document.lists)


@given(documents())
def test_bulk_and_exact_scan_find_the_same_strings(document: Document) -> None:
    assert brackets(document.data).strings.tolist() == string_ends(document.data).tolist()


@given(soup, st.booleans())
def test_accepts_exactly_what_the_twin_accepts(inside: bytes, wrap: bool) -> None:
    data = b"(" + inside + b")" if wrap else inside
    expected = tokens(data)
    if expected is None:
        complaint(data)
        return
    assert rows(data) == expected.lists
    strings = [(start, end - 1) for start, end, quoted in expected.atoms if quoted]
    assert brackets(data).strings.reshape(-1, 2).tolist() == [list(pair) for pair in strings]


@pytest.mark.parametrize("count", [1, 5, 40, 400])
def test_many_quotes_inside_bare_atoms_fall_back_to_the_exact_scan(count: int) -> None:
    data = b'(a "(" ' + b'0.96" "x)" b"c (d) ' * count + b")"
    expected = tokens(data)
    assert expected is not None
    assert rows(data) == expected.lists
    assert np.array_equal(brackets(data).strings, string_ends(data))


def test_a_quote_inside_a_bare_atom_opens_no_string() -> None:
    assert rows(b'(label 0.96" (at 1 2))') == [(0, 22, 0), (13, 21, 1)]


def test_depth_is_bounded() -> None:
    deepest = b"(" * MAX_DEPTH + b")" * MAX_DEPTH
    assert len(rows(deepest)) == MAX_DEPTH
    assert complaint(b"(" * 300_000) == (
        "1:201: lists are nested more than 200 deep; is it another program's file?"
    )


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b"", "1:1: the file is empty; was it cut short?"),
        (b" \n ", "1:1: the file is empty; was it cut short?"),
        (b"{}", "1:1: expected '(' at the start but found '{'; is it another program's file?"),
        (b"\n #", "2:2: expected '(' at the start but found '#'; is it another program's file?"),
        (b"(a\n(b 1", "2:1: the file ends inside the list (b that begins here; "),
        (b"(a (b) (c)", "1:1: the file ends inside the list (a that begins here; "),
        (b"(a)\n)", "2:1: ')' without its '('; is a parenthesis or a quote missing before?"),
        (b"(a)\n(b)", "2:1: text after the end of the outermost list; "),
        (b"(a) x", "1:5: text after the end of the outermost list; "),
        (b'(a\n "b)', "2:2: the string that begins here is not closed; was the file cut short?"),
        (b'(a "', "1:4: the string that begins here is not closed; was the file cut short?"),
        (b"(a\n\0)", "2:1: the file is not text: it holds a zero byte; "),
        (b"\xef\xbb\xbf(a)", "1:1: the file begins with a byte order mark; save it as plain UTF-8"),
        (b"\xff\xfe(\0a\0", "1:1: the file is UTF-16 text; save it as UTF-8"),
    ],
)
def test_bad_files_are_refused_with_place_and_advice(data: bytes, expected: str) -> None:
    assert complaint(data).startswith(expected)


def test_a_lost_closing_quote_is_named_where_it_was_lost() -> None:
    data = b'(a\n (b "one)\n (b "two")\n (b "three"))'
    assert complaint(data) == (
        "2:5: a string begins here and runs over the end of the line; is its closing quote missing?"
    )


@given(st.binary(max_size=40), st.data())
def test_place_counts_line_feeds_and_bytes(data: bytes, draw: st.DataObject) -> None:
    offset = draw.draw(st.integers(0, len(data)))
    before = data[:offset].split(b"\n")
    assert place(data, offset) == (len(before), len(before[-1]) + 1)
