from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies.sexpr import Document, documents, numbers, spaces
from twins.tokens import SPACE, tokens

from renet.errors import InputError
from renet.splice import Edit, splice
from renet.syntax import Tree, parse


def children(document: Document, index: int) -> list[int]:
    """The lists directly inside one, from the document's own spans."""
    start, end, depth = document.lists[index]
    return [
        k for k, (s, e, d) in enumerate(document.lists) if d == depth + 1 and start < s and e < end
    ]


def own_atoms(document: Document, index: int) -> list[tuple[int, int]]:
    start, end, _ = document.lists[index]
    inside = [document.lists[k] for k in children(document, index)]
    return [
        (s, e)
        for s, e in document.atoms
        if start < s and e < end and not any(a < s and e < b for a, b, _ in inside)
    ]


def keyword(document: Document, index: int) -> bytes:
    """The bare atom that comes first in a list, b"" if something else does."""
    start = document.lists[index][0] + 1
    first = len(document.data) - len(document.data[start:].lstrip(SPACE))
    found = [document.data[s:e] for s, e in document.atoms if s == first]
    return found[0] if found and not found[0].startswith(b'"') else b""


@given(documents())
def test_children_parents_and_atoms(document: Document) -> None:
    tree = parse(document.data)
    for index in range(len(tree)):
        below = children(document, index)
        assert tree.children(index).tolist() == below
        assert all(tree.parent(kid) == index for kid in below)
        assert [(a.start, a.end) for a in tree.atoms(index)] == own_atoms(document, index)
        assert all(a.quoted == (document.data[a.start] == 34) for a in tree.atoms(index))
    assert tree.parent(0) == -1


@given(documents())
def test_nothing_is_lost_between_the_spans(document: Document) -> None:
    tree = parse(document.data)
    known = sorted(
        [(a.start, a.end) for index in range(len(tree)) for a in tree.atoms(index)]
        + [(s, s + 1) for s in tree.start.tolist()]
        + [(e - 1, e) for e in tree.end.tolist()]
    )
    rebuilt, at = b"", 0
    for start, end in known:
        assert not document.data[at:start].strip(SPACE)
        rebuilt += document.data[at:start] + document.data[start:end]
        at = end
    assert rebuilt + document.data[at:] == document.data


@given(documents())
def test_putting_every_list_back_changes_no_byte(document: Document) -> None:
    tree = parse(document.data)
    below = tree.children(0).tolist()
    edits = [Edit(*tree.span(kid), document.data[slice(*tree.span(kid))]) for kid in below]
    assert splice(document.data, edits) == document.data


@given(documents())
def test_keywords_and_what_follows_them(document: Document) -> None:
    tree = parse(document.data)
    for index in range(len(tree)):
        word = keyword(document, index)
        assert tree.keyword(index) == word
        start, end = tree.inner(index)
        text = document.data[start:end]
        assert text == text.strip(SPACE)
        whole = document.data[tree.start[index] + 1 : tree.end[index] - 1].strip(SPACE)
        assert whole.removeprefix(word).strip(SPACE) == text
    for word in {keyword(document, index) for index in range(len(tree))} - {b""}:
        alike = [k for k in range(len(tree)) if keyword(document, k) == word]
        spans = tree.inners(np.array([-1, *alike]), word)
        assert spans.tolist() == [[-1, -1], *(list(tree.inner(k)) for k in alike)]
        assert tree.having(np.arange(len(tree)), word).tolist() == alike


@given(documents())
def test_first_tokens_of_many_lists_are_those_of_each(document: Document) -> None:
    tree = parse(document.data)
    lists = np.arange(len(tree))
    assert tree.words(lists).tolist() == [tree.word(index) for index in lists.tolist()]


@given(documents(), st.data())
def test_families_are_the_children_of_many(document: Document, data: st.DataObject) -> None:
    tree = parse(document.data)
    wanted = data.draw(st.sets(st.integers(0, len(tree) - 1)))
    lists = [k for k in sorted(wanted) if not any(a < k < tree.after(a) for a in wanted)]
    family = tree.family(np.array(lists, dtype=np.int64))
    expected = [(kid, k) for k, index in enumerate(lists) for kid in children(document, index)]
    assert list(zip(family.kids.tolist(), family.owner.tolist(), strict=True)) == expected
    for word in {keyword(document, kid) for kid, _ in expected} - {b""}:
        having = [(kid, k) for kid, k in expected if keyword(document, kid) == word]
        kids, owner = family.having(word)
        assert list(zip(kids.tolist(), owner.tolist(), strict=True)) == having
        first = [next((kid for kid, of in having if of == k), -1) for k in range(len(lists))]
        assert family.first(word).tolist() == first
    for atom in (b"a", b"-", b"0", b"12.7"):
        has = [
            k
            for k, index in enumerate(lists)
            if children(document, index)
            and atom
            in [document.data[s:e] for s, e in own_atoms(document, index)][
                1 if keyword(document, index) else 0 :
            ]
        ]
        assert family.with_atom(atom).tolist() == has


@given(documents(), st.data())
def test_around_an_offset(document: Document, data: st.DataObject) -> None:
    tree = parse(document.data)
    offset = data.draw(st.integers(0, len(document.data) - 1))
    inside = [k for k, (s, e, _) in enumerate(document.lists) if s <= offset < e]
    assert tree.around(offset) == max(inside, default=-1)


@given(documents())
def test_lead_is_the_white_space_in_front(document: Document) -> None:
    tree = parse(document.data)
    leads = tree.leads(tree.start[1:]).tolist()
    for start, lead in zip(tree.start[1:].tolist(), leads, strict=True):
        assert lead == tree.lead(start)
        assert not document.data[lead:start].strip(SPACE)
        assert document.data[lead - 1] not in SPACE


def test_white_space_of_any_length() -> None:
    """Short stretches are walked in bulk, long ones one by one."""
    data = b"(a" + b"".join(b" " * n + b"(b" + b"\n" * n + b" 1)" for n in range(40)) + b")"
    tree = parse(data)
    starts, words = tree.start[1:], tree.words(np.arange(1, len(tree))) + 1
    assert (starts - tree.leads(starts)).tolist() == list(range(40))
    assert (tree.past_space(words) - words).tolist() == list(range(1, 41))


def test_many_different_keywords() -> None:
    words = [b"w%d" % (n % 60) for n in range(120)]
    tree = parse(b"(a " + b" ".join(b"(%s)" % word for word in words) + b" () (9))")
    tree.settle()
    found = [tree.keyword(index) for index in tree.children(0).tolist()]
    assert found == [*words, b"", b"9"]


@given(st.lists(st.tuples(numbers, numbers, st.none() | numbers), max_size=30), spaces)
def test_numbers_of_many_lists(rows: list[tuple[bytes, bytes, bytes | None]], gap: bytes) -> None:
    texts = [b"(at" + gap + gap.join(filter(None, row)) + b")" for row in rows]
    tree = parse(b"(a " + b" ".join(texts) + b")")
    found = tree.numbers(np.arange(len(tree))[1:], b"at", 3, least=2)
    one_by_one = [[round(float(value or b"0") * 1e6) for value in row] for row in rows]
    assert found.tolist() == one_by_one
    assert tree.numbers(np.array([-1]), b"at", 2).tolist() == [[0, 0]]


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        (b"(b\n (at 1 x))", "F:2:8: expected a decimal number in (at ...) but found x; "),
        (b"(b (at 1))", "F:1:9: expected a decimal number in (at ...) but found nothing; "),
        (b"(b (at nan 1))", "F:1:8: expected a decimal number in (at ...) but found nan; "),
        (b"(b (at 0x1F 1))", "F:1:8: expected a decimal number in (at ...) but found 0x1F; "),
        (b'(b (at "1" 1))', 'F:1:8: expected a decimal number in (at ...) but found "1"; '),
        (
            b"(b (at " + b"9" * 400 + b" 1))",
            f"F:1:8: expected a decimal number in (at ...) but found {'9' * 24}; ",
        ),
    ],
)
def test_no_number_is_an_error_with_its_place(text: bytes, shown: str) -> None:
    with pytest.raises(InputError) as caught:
        parse(text).numbers(np.array([1]), b"at", 2)
    assert str(caught.value.in_file("F")).startswith(shown)


def test_text_that_is_not_utf8_is_an_error_where_it_is_decoded() -> None:
    tree = parse(b'(a\n "x\xff")')
    with pytest.raises(InputError) as caught:
        tree.text(4, 8)
    message = "F:2:4: the name is not valid UTF-8 text; save the file as UTF-8"
    assert str(caught.value.in_file("F")) == message


@given(documents())
def test_the_twin_finds_the_same(document: Document) -> None:
    found = tokens(document.data)
    assert found is not None
    assert found.lists == list(document.lists)
    assert [(start, end) for start, end, _ in found.atoms] == list(document.atoms)


def test_a_tree_prints_short() -> None:
    assert repr(parse(b"(a (b))")) == "<tree of 2 lists in 7 bytes>"
    assert isinstance(parse(b"(a)"), Tree)
