"""The compiled module against its twin in numpy, and against what no file would make it do."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from dataclasses import fields, is_dataclass
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import NamedTuple

import numpy as np
import pytest
from conftest import CORPUS, SHARED, board_paths
from hypothesis import given
from hypothesis import strategies as st
from strategies.sexpr import Document, documents, soup
from test_bulk import numbers, plain

import renet.compiled
import renet.kernel
import renet.scan
from renet.bulk import Bulk, Kin
from renet.compiled import Compiled
from renet.errors import InputError
from renet.kernel import KERNEL
from renet.model import IntArray
from renet.read.board import read_board
from renet.read.netlist import read_netlist
from renet.read.spans import BoardSpans, NetlistSpans
from renet.scan import Brackets, check_text, numpy_brackets
from renet.syntax import Tree

needs_kernel = pytest.mark.skipif(KERNEL is None, reason="no compiled module was built here")
pytestmark = needs_kernel

TEXTS = [b"a", b"-", b"x9", b"0", b"word", b"-1e-05", b"net_tie_pad_groups", b"\\"]


def kernel() -> ModuleType:
    assert KERNEL is not None
    return KERNEL


def ways(data: bytes) -> tuple[Bulk, Compiled]:
    return Bulk(data), Compiled(data, kernel())


def same(one: object, other: object) -> bool:
    """Whether two columns, or two rows of them, are equal, the kind of their numbers too."""
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(same, one, other))
    assert isinstance(one, np.ndarray)
    assert isinstance(other, np.ndarray)
    return one.dtype == other.dtype and one.tolist() == other.tolist()


def numpy_or_none(data: bytes) -> Brackets | None:
    try:
        check_text(data)
        return numpy_brackets(data)
    except InputError:
        return None


@given(documents().map(lambda document: document.data) | soup.map(lambda inside: b"(%b)" % inside))
def test_the_compiled_scan_takes_what_is_well_formed_and_nothing_else(data: bytes) -> None:
    expected, found = numpy_or_none(data), kernel().brackets(data)
    if expected is None or found is None:
        assert found is None
        assert expected is None
        return
    assert [bytes(column) for column in found] == [column.tobytes() for column in expected]


@given(st.binary(max_size=300) | st.text('()"\\ a\n', max_size=300).map(str.encode))
def test_the_compiled_scan_of_anything(data: bytes) -> None:
    """Text with a zero byte, a mark or nothing in it never gets as far: ``check_text`` is first."""
    try:
        check_text(data)
    except InputError:
        return
    assert (kernel().brackets(data) is None) == (numpy_or_none(data) is None)


@given(documents(), st.data())
def test_lists_are_looked_at_alike(document: Document, draw: st.DataObject) -> None:
    data = document.data
    start, end, depth, _ = numpy_brackets(data)
    alone, compiled = ways(data)
    some = np.array(sorted(draw.draw(st.sets(st.integers(0, len(start) - 1)))), dtype=np.int64)
    assert same(alone.keywords(start, some), compiled.keywords(start, some))
    blank = np.append(some, -1)
    length = min((len(keyword(data, int(i))) for i in start[some]), default=0)
    assert same(alone.inners(start, end, blank, length), compiled.inners(start, end, blank, length))
    outer = [
        i for i in some.tolist() if not ((start[some] < start[i]) & (end[some] > end[i])).any()
    ]
    apart = np.array(outer, dtype=np.int64)
    kin = alone.children(depth, apart)
    assert same(kin, compiled.children(depth, apart))
    at = alone.keywords(start, kin[0])
    for text in TEXTS:
        assert same(alone.tokens(at, text), compiled.tokens(at, text))
        ways_to_first = [way.firsts(at, *kin, text, len(apart)) for way in (alone, compiled)]
        assert same(*ways_to_first)
        family = Kin(apart, *kin)
        assert same(
            alone.holding(start, end, family, text), compiled.holding(start, end, family, text)
        )


def keyword(data: bytes, start: int) -> bytes:
    """The bare atom right behind a parenthesis, b"" where something else stands."""
    rest = data[start + 1 :]
    size = next((k for k, byte in enumerate(rest) if byte in b' \t\r\n()"'), len(rest))
    return rest[:size]


@given(documents(), st.data())
def test_atoms_white_space_and_equal_spans_alike(document: Document, draw: st.DataObject) -> None:
    data = document.data
    alone, compiled = ways(data)
    offsets = st.integers(0, document.lists[0][1] - 1)
    at = np.array(draw.draw(st.lists(offsets, max_size=60)), dtype=np.int64)
    assert same(alone.past_space(at), compiled.past_space(at))
    begins = np.array([-1, *(start for start, _ in document.atoms)], dtype=np.int64)
    assert same(alone.atoms(begins), compiled.atoms(begins))
    sizes = draw.draw(st.lists(st.integers(-2, 9), min_size=len(at), max_size=len(at)))
    end = np.minimum(at + np.array(sizes, dtype=np.int64), len(data))
    assert same(alone.groups(at, end), compiled.groups(at, end))


def hashed(text: bytes) -> int:
    """What the module makes of up to seven bytes to find equal texts."""
    word = int.from_bytes(text, "little") ^ 0x9E3779B97F4A7C15 ^ len(text)
    word = word * 0xC4CEB9FE1A85EC53 % 2**64
    return word ^ word >> 29


def test_texts_made_to_hash_alike_are_left_to_the_twin() -> None:
    """Two thousand texts that would be looked at two million times."""
    count = 2000
    texts = (b"%06d" % number for number in range(10**6))
    alike = [text for text in texts if hashed(text) % 4096 < 9][:count]
    assert len(alike) == count
    data, begin = b"".join(alike), np.arange(count, dtype=np.int64) * 6
    assert kernel().groups(data, begin, begin + 6) is None
    assert same(*(way.groups(begin, begin + 6) for way in ways(data)))


@given(st.lists(plain | numbers | st.text("0123456789-+.eE x()", max_size=20), max_size=60))
def test_plain_numbers_alike(texts: list[str]) -> None:
    data = "".join(f"{text} " for text in texts).encode() + b" " * 20
    begins = np.cumsum([0] + [len(text) + 1 for text in texts]).astype(np.int64)
    alone, compiled = (way.plain(begins) for way in ways(data))
    assert same(alone.good, compiled.good)
    assert same(alone.value[alone.good], compiled.value[alone.good])
    assert same(alone.end[alone.good], compiled.end[alone.good])
    both = [way.decimals(begins) for way in ways(data)]
    assert same(both[0].value[both[0].good], both[1].value[both[0].good])
    assert same(both[0].good, both[1].good)


WILD = st.integers(-(2**63), 2**63 - 1) | st.integers(-40, 40)


class Columns(NamedTuple):
    """What the functions of the module are given, beside the bytes."""

    at: IntArray
    start: IntArray
    end: IntArray
    lists: IntArray
    kids: IntArray
    owner: IntArray


def calls(data: bytes, of: Columns, text: bytes, count: int) -> Iterator[Callable[[], object]]:
    use = kernel()
    at, start, end, lists, kids, owner = of
    yield lambda: use.atoms(data, at)
    yield lambda: use.children(data, lists)
    yield lambda: use.decimals(data, at)
    yield lambda: use.firsts(data, at, kids, owner, text, count)
    yield lambda: use.groups(data, start, end)
    yield lambda: use.holding(data, start, end, lists, kids, owner, text)
    yield lambda: use.inners(data, start, end, lists, count)
    yield lambda: use.past_spaces(data, at)
    yield lambda: use.tokens(data, at, text)
    yield lambda: use.words(data, start, lists)


def answered(ask: Callable[[], object]) -> bool:
    """There is an answer or an IndexError; ``scripts/sanitize`` watches what is touched."""
    try:
        return ask() is not None
    except IndexError as error:
        return "outside" in str(error)


@given(st.binary(max_size=30), st.data())
def test_no_column_leads_outside(data: bytes, draw: st.DataObject) -> None:
    rows = st.lists(WILD, max_size=8).map(lambda row: np.array(row, dtype=np.int64))
    of = Columns(*(draw.draw(rows) for _ in Columns._fields))
    text, count = draw.draw(st.binary(max_size=3)), draw.draw(st.integers(-2, 40))
    assert all(map(answered, calls(data, of, text, count)))


SLIPS = st.sampled_from([-(2**63), -(2**40), -1000, -2, 99, 1000, 2**40, 2**63 - 1])
COUNTS = st.sampled_from([-(2**63), -1000, 0, 1, 2, 9])
SMALL = (b"(ab 1 2)", b"(ab (ab 1) ab (cd) 3)", b"( ab )", b'("s" ab (ab "ab" 5))')


@pytest.mark.parametrize("field", Columns._fields)
@given(st.sampled_from(SMALL), SLIPS, st.integers(0, 9), COUNTS)
def test_no_single_slip_in_a_column_leads_outside(
    field: str, data: bytes, slip: int, place: int, count: int
) -> None:
    start, end, depth, _ = numpy_brackets(data)
    lists = np.arange(len(start))
    kids, owner = Bulk(data).children(depth, lists[:1])
    of = Columns(Bulk(data).keywords(start, lists), start, end, lists, kids, owner)
    of = of._replace(at=of.at[: len(kids)])
    slipped = getattr(of, field)
    if len(slipped):
        slipped[place % len(slipped)] = slip
    assert all(map(answered, calls(data, of, b"ab", count)))


def test_owners_that_come_again_are_more_than_there_is_room_for() -> None:
    data = b"(ab (ab ab (c)) (ab ab (d)))"
    start, end, _, _ = numpy_brackets(data)
    lists, kids = np.array([1, 3]), np.array([2, 4] * 50)
    with pytest.raises(IndexError, match="outside"):
        kernel().holding(data, start, end, lists, kids, np.array([0, 1] * 50), b"ab")


@pytest.mark.parametrize(
    ("column", "why"),
    [
        (np.zeros(3, dtype=np.int32), "64-bit integers"),
        (np.zeros((3, 2), dtype=np.int64), "one row"),
        ([1, 2, 3], "bytes-like"),
    ],
)
def test_a_column_is_one_row_of_64_bit_integers(column: object, why: str) -> None:
    with pytest.raises(TypeError, match=why):
        kernel().tokens(b"(a)", column, b"a")


def test_a_column_may_be_every_second_number_of_another() -> None:
    pairs = np.array([[1, 7], [4, 8]], dtype=np.int64)
    assert Compiled(b"(a (a))", kernel()).tokens(pairs[:, 0], b"a").tolist() == [0, 1]


def test_a_module_left_over_from_an_older_source_is_not_used(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setitem(sys.modules, "renet._kernel", SimpleNamespace(INTERFACE=0))  # type: ignore[arg-type]
    assert renet.kernel._built() is None
    monkeypatch.setitem(sys.modules, "renet._kernel", None)  # type: ignore[arg-type]
    assert renet.kernel._built() is None


def without(monkeypatch: pytest.MonkeyPatch) -> None:
    """From here on as where no compiled module was built."""
    monkeypatch.setattr(renet.scan, "KERNEL", None)
    monkeypatch.setattr(renet.compiled, "KERNEL", None)


SAMPLES = [
    *sorted(path for kind in ("kicad_pcb", "net") for path in CORPUS.rglob(f"*.{kind}")),
    *board_paths(),
    *sorted((SHARED / "boards").glob("*.net")),
]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.name)
def test_a_file_is_the_same_without_the_compiled_module(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    data = path.read_bytes()
    read: Callable[[bytes], tuple[object, BoardSpans | NetlistSpans]]
    read = read_netlist if path.suffix == ".net" else read_board
    model, spans = read(data)
    assert type(spans.tree.bulk) is Compiled
    without(monkeypatch)
    plainly, where = read(data)
    assert type(where.tree.bulk) is Bulk
    assert plainly == model
    assert alike(spans, where)


def alike(one: object, other: object) -> bool:
    """Whether two side tables say the same, their trees included."""
    if isinstance(one, np.ndarray):
        return np.array_equal(one, other)  # type: ignore[arg-type]
    if isinstance(one, Tree) and isinstance(other, Tree):
        return all(map(alike, columns_of(one), columns_of(other)))
    if is_dataclass(one):
        return all(alike(getattr(one, f.name), getattr(other, f.name)) for f in fields(one))
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(alike, one, other))
    return one == other


def columns_of(tree: Tree) -> tuple[object, ...]:
    return tree.data, tree.start, tree.end, tree.depth, tree.strings
