"""One file as verify sees it: its outermost lists in order, and what they say of nets.

Read from the syntax tree and nothing else, so that a slip of the board reader
cannot hide here.  A net's name is "" where there is none.
"""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from functools import cached_property
from itertools import chain
from typing import NamedTuple, TypeVar

import numpy as np

from renet.model import IntArray
from renet.syntax import Family, Tree
from renet.verify.atoms import ATOM, MARK, PRIVATE, number, said, text, values
from renet.verify.verdict import Place

_FIRST = re.compile(rb"\(\s*([^\s()\"][^\s()]*+)")
_THIRD = re.compile(rb"\(\s*(?:(?:%b)[\s()]*+){2}(%b)" % (ATOM.pattern, ATOM.pattern), re.DOTALL)
BLANK = frozenset([b" "])
_COPPER = (b"segment", b"arc", b"via", b"zone")

Span = tuple[int, int]
_Value = TypeVar("_Value")


class Row(NamedTuple):
    """A row of the net table: its place among the outermost lists, and its atoms as written."""

    item: int
    number: str
    name: str
    said: tuple[bytes, bytes]

    @property
    def plain(self) -> bytes:
        """The row as a net list that says the same, with single blanks."""
        return b"(net %b %b)" % self.said


class Sheet:
    """A file, its tree, and its outermost lists (``items``) by number."""

    def __init__(self, name: str, data: bytes, tree: Tree) -> None:
        self.name = name
        self.data = data
        self.tree = tree
        self.ids: IntArray = tree.children(0)
        self.start: list[int] = tree.start[self.ids].tolist()
        self.end: list[int] = tree.end[self.ids].tolist()
        self._words: dict[int, bytes] = {}
        self._items: dict[tuple[bytes, ...], list[int]] = {}

    def __len__(self) -> int:
        return len(self.start)

    def word(self, item: int) -> bytes:
        """The keyword of an outermost list."""
        if item not in self._words:
            found = _FIRST.match(self.data, self.start[item])
            self._words[item] = found[1] if found else b""
        return self._words[item]

    def raw(self, item: int) -> bytes:
        """The bytes of an outermost list."""
        return self.data[self.start[item] : self.end[item]]

    @property
    def head(self) -> bytes:
        """What stands in front of the outermost list."""
        return self.data[: int(self.tree.start[0])]

    @property
    def tail(self) -> bytes:
        """What stands behind the outermost list."""
        return self.data[int(self.tree.end[0]) :]

    def gap(self, item: int) -> bytes:
        """What stands before an outermost list; of one more than there are, after the last one."""
        begin = self.end[item - 1] if item else int(self.tree.start[0])
        return self.data[begin : self.start[item] if item < len(self) else self.tree.end[0] - 1]

    def share(self, other: Sheet, twins: IntArray) -> None:
        """Take over from another file what stands in both of them.

        ``twins`` tells of each outermost list of the other which one here is the same byte
        by byte, -1 where none is.
        """

        def same(*words: bytes) -> bool:
            items = self.items(*words)
            return items == other.items(*words) and bool((twins[items] == items).all())

        if same(b"net"):
            self.rows, self.row_names = other.rows, other.row_names
            self.by_number, self.plain_rows = other.by_number, other.plain_rows
        if same(b"net_class"):
            self.member_names = other.member_names
        if same(*_COPPER):
            self.copper_net_lists = other.copper_net_lists
        if self.parts == other.parts and self.pad_parts == other.pad_parts:
            changed = twins[self.parts] != self.parts
            self._share_pads(other, changed[self.pad_parts].nonzero()[0])

    def _share_pads(self, other: Sheet, fresh: IntArray) -> None:
        """The pads of both files are in the same parts, and but for ``fresh`` the same."""
        numbers = self._numbers(self._pad_heads[:, fresh])
        self.pad_numbers = _patched(other.pad_numbers, fresh, numbers)
        types = self._between(self.pad_type_spans[fresh].T)
        self.pad_types = _patched(other.pad_types, fresh, types)
        nets = self._between(self.pad_net_spans[fresh, 1:].T)
        self.pad_net_lists = _patched(other.pad_net_lists, fresh, nets)

    def place(self, offset: int) -> Place:
        """Line and column of an offset."""
        line = bisect_left(self._line_ends, offset)
        start = self._line_ends[line - 1] + 1 if line else 0
        return Place(self.name, line + 1, offset - start + 1)

    @cached_property
    def _line_ends(self) -> list[int]:
        found: list[int] = np.flatnonzero(np.frombuffer(self.data, dtype=np.uint8) == 10).tolist()
        return found

    def lead(self, offset: int) -> bytes:
        """The white space in front of an offset."""
        begin = offset
        while self.data[begin - 1 : begin].isspace():
            begin -= 1
        return self.data[begin:offset]

    def items(self, *words: bytes) -> list[int]:
        """The outermost lists with one of these keywords."""
        if words not in self._items:
            found = [self.tree.bulk.tokens(self._keywords, word) for word in words]
            self._items[words] = np.sort(np.concatenate(found)).tolist()
        return self._items[words]

    @cached_property
    def _keywords(self) -> IntArray:
        """Where the keywords of the outermost lists begin."""
        return self.tree.words(self.ids)

    @cached_property
    def rows(self) -> list[Row]:
        """The net table; empty where the file has none."""
        return [row for item in self.items(b"net") if (row := self._row(item)) is not None]

    def _row(self, item: int) -> Row | None:
        found = said(self.raw(item))
        return None if found is None else Row(item, *found)

    def row_at(self, item: int) -> Row | None:
        """An outermost list as a row of the net table, None if it is none."""
        return self._row(item) if self.word(item) == b"net" else None

    @cached_property
    def row_names(self) -> list[str]:
        """The names in the net table, row by row."""
        return [row.name for row in self.rows]

    @cached_property
    def member_names(self) -> list[str]:
        """The private names that old net classes list."""
        names = []
        for item in self.items(b"net_class"):
            children = self.tree.children(int(self.ids[item]))
            for begin, end in self._spans(self.tree.having(children, b"add_net")):
                names += [text(atom) for atom in values(self.data[begin:end])[:1]]
        return [name for name in names if name.startswith(PRIVATE)]

    @cached_property
    def by_number(self) -> dict[str, Row]:
        """Rows of the net table by their numbers; the first row counts."""
        table: dict[str, Row] = {}
        for row in self.rows:
            table.setdefault(row.number, row)
        return table

    @cached_property
    def plain_rows(self) -> dict[bytes, str]:
        """The nets of the table by the net lists that name them as the table does."""
        return {row.plain: row.name for row in self.by_number.values()}

    def children(self, items: list[int], word: bytes) -> list[Span]:
        """For each of some outermost lists the span of its first child with this keyword."""
        return self._spans(self.tree.family(self.ids[items]).first(word)) if items else []

    def _spans(self, lists: IntArray) -> list[Span]:
        return list(zip(*self._ends(lists).tolist(), strict=True))

    def _ends(self, lists: IntArray) -> IntArray:
        """Where lists start and where they end, -1 for list -1."""
        return np.where(lists >= 0, np.stack([self.tree.start[lists], self.tree.end[lists]]), -1)

    def _between(self, ends: IntArray) -> list[bytes]:
        """The bytes between two rows of offsets, b"" for -1 and -1; equal ones are one object."""
        data, one = self.data, dict[bytes, bytes]().setdefault
        spans = zip(*ends.tolist(), strict=True)
        return [one(raw := data[begin:end], raw) for begin, end in spans]

    @cached_property
    def parts(self) -> list[int]:
        """The outermost lists that are parts."""
        return self.items(b"footprint", b"module")

    @cached_property
    def _inside_parts(self) -> Family:
        return self.tree.family(self.ids[self.parts])

    @cached_property
    def refs(self) -> dict[int, str]:
        """The reference of each part, "" where it has none."""
        found: dict[int, str] = {}
        for word, label in ((b"property", b"Reference"), (b"fp_text", b"reference")):
            lists, owner = self._inside_parts.having(word)
            begin, atoms = self.tree.inners(lists, word)[:, 0], (label, b'"%b"' % label)
            hits = np.concatenate([self.tree.bulk.tokens(begin, atom) for atom in atoms])
            hits.sort()
            spans = zip(owner[hits].tolist(), self._spans(lists[hits]), strict=True)
            for part, span in spans:
                match = None if part in found else _THIRD.match(self.data, *span)
                if match:
                    found[part] = text(match[1])
        return {item: found.get(part, "") for part, item in enumerate(self.parts)}

    @cached_property
    def _pads(self) -> Family:
        """The insides of all pads of all parts, in file order."""
        return self.tree.family(self._inside_parts.having(b"pad")[0])

    @cached_property
    def pad_parts(self) -> list[int]:
        """The part of each pad, by its place in ``parts``."""
        owner: list[int] = self._inside_parts.having(b"pad")[1].tolist()
        return owner

    @cached_property
    def pad_numbers(self) -> list[str]:
        """The number of each pad, "" where it has none."""
        return self._numbers(self._pad_heads)

    @cached_property
    def _pad_heads(self) -> IntArray:
        """Where each pad starts, and where its first list does or the pad ends."""
        inside = self._pads
        stop = self.tree.end[inside.of]
        stop[inside.owner[::-1]] = self.tree.start[inside.kids[::-1]]
        return np.stack([self.tree.start[inside.of], stop])

    def _numbers(self, heads: IntArray) -> list[str]:
        return [number(self.data[begin:end]) for begin, end in zip(*heads.tolist(), strict=True)]

    def pad_at(self, pad: int) -> int:
        """Where a pad begins."""
        return int(self.tree.start[self._pads.of[pad]])

    def pads_of(self, item: int) -> slice:
        """Which pads an outermost list holds, if it is a part."""
        part = bisect_left(self.parts, item)
        return slice(bisect_left(self.pad_parts, part), bisect_right(self.pad_parts, part))

    def zones_in(self, item: int) -> list[int]:
        """The lists that are zones in an outermost list, if it is a part."""
        lists, owner = self._zones_inside
        mine: list[int] = lists[owner == bisect_left(self.parts, item)].tolist()
        return mine

    @cached_property
    def _zones_inside(self) -> tuple[IntArray, IntArray]:
        return self._inside_parts.having(b"zone")

    @cached_property
    def pad_net_spans(self) -> IntArray:
        """(n, 3): where the net list of each pad begins, the white space before it counted
        and not counted, and where it ends; -1 where it has none.
        """
        start, end = self._ends(self._pads.first(b"net"))
        some, begin = np.flatnonzero(start >= 0), start.copy()
        begin[some] = self.tree.leads(start[some])
        return np.stack([begin, start, end], axis=1)

    @cached_property
    def pad_type_spans(self) -> IntArray:
        """(n, 2): the list with the pin type of each pad, -1 where it has none."""
        return self._ends(self._pads.first(b"pintype")).T

    @cached_property
    def pad_net_gaps(self) -> frozenset[bytes]:
        """The white space that stands before net lists of pads."""
        return self._gaps(self.pad_net_spans[:, 1])

    @cached_property
    def copper_net_gaps(self) -> frozenset[bytes]:
        """The white space that stands before net lists of copper."""
        return self._gaps(self._copper_net_ends[0])

    def _gaps(self, starts: IntArray) -> frozenset[bytes]:
        """A blank where there is no list at all."""
        return frozenset(self.lead(begin) for begin in starts.tolist() if begin >= 0) or BLANK

    def pad_net_at(self, pad: int) -> int:
        """Where the net list of a pad begins, -1 where it has none."""
        return int(self.pad_net_spans[pad, 1])

    @cached_property
    def pad_types(self) -> list[bytes]:
        """The list with the pin type of each pad as written, b"" where it has none."""
        return self._between(self.pad_type_spans.T)

    @cached_property
    def pad_marks(self) -> list[bool]:
        """Whether the pin type of each pad ends in the no-connect mark."""
        marked = {raw: raw.rstrip(b')"').endswith(MARK) for raw in set(self.pad_types)}
        return [marked[raw] for raw in self.pad_types]

    def _name_of(self, atoms: tuple[bytes, ...]) -> str:
        if not atoms:
            return ""
        first = text(atoms[0])
        if self.rows and first in self.by_number:
            return self.by_number[first].name
        return "" if len(atoms) == 1 and first == "0" else text(atoms[-1])

    @cached_property
    def pad_net_lists(self) -> list[bytes]:
        """The net list of each pad as written, b"" where it has none."""
        return self._between(self.pad_net_spans[:, 1:].T)

    @cached_property
    def copper_net_lists(self) -> list[bytes]:
        """The net list of each piece of ``copper`` as written."""
        return self._between(self._copper_net_ends)

    @cached_property
    def net_lists(self) -> list[bytes]:
        """The net lists of pads and copper, each spelling once, in the order they come first."""
        return list(dict.fromkeys(chain(self.pad_net_lists, self.copper_net_lists)))

    def name_atoms(self) -> Iterator[bytes]:
        """Every net name of rows, pads and copper as it is written, each spelling once or more."""
        for row in self.rows:
            yield row.said[1]
        for raw in (raw for raw in self.net_lists if raw not in self.plain_rows):
            atoms = values(raw)
            if atoms and (len(atoms) > 1 or not self.rows):
                yield atoms[-1]
        for start, end in self.zone_names:
            yield from values(self.data[start:end])[:1]

    @cached_property
    def net_names(self) -> dict[bytes, str]:
        """The net that each of ``net_lists`` names; by number where the file has a table."""
        plain = self.plain_rows
        return {raw: plain.get(raw) or self._name_of(values(raw)) for raw in self.net_lists}

    @cached_property
    def pad_nets(self) -> list[str]:
        """What each pad carries, private names included."""
        return [self.net_names[raw] for raw in self.pad_net_lists]

    @cached_property
    def pad_real_nets(self) -> list[str | None]:
        """The net of each pad: None for no net and for private names."""
        real = {name: self.real(name) for name in self.net_names.values()}
        return [real[name] for name in self.pad_nets]

    @cached_property
    def copper(self) -> list[int]:
        """The outermost lists that are tracks, arcs, vias or zones."""
        return self.items(*_COPPER)

    @cached_property
    def zones(self) -> list[int]:
        """The outermost lists that are zones."""
        return self.items(b"zone")

    @cached_property
    def zone_names(self) -> list[Span]:
        """Where each of ``zones`` repeats the name of its net; -1 where it does not."""
        return self.children(self.zones, b"net_name")

    @cached_property
    def teardrops(self) -> frozenset[int]:
        """The outermost lists that are zones of the teardrop kind."""
        found = set()
        for item, span in zip(self.zones, self.children(self.zones, b"attr"), strict=True):
            if span[0] >= 0 and b"(teardrop" in self.data[slice(*span)]:
                found.add(item)
        return frozenset(found)

    def is_teardrop(self, item: int) -> bool:
        """Whether an outermost list is a teardrop."""
        return item in self.teardrops

    @cached_property
    def _copper_net_ends(self) -> IntArray:
        return self._ends(self.tree.family(self.ids[self.copper]).first(b"net"))

    def copper_net_span(self, item: int) -> Span:
        """The net list of a piece of copper."""
        begin, end = self._copper_net_ends[:, bisect_left(self.copper, item)].tolist()
        return begin, end

    def copper_net(self, item: int) -> str:
        """What a piece of copper carries, private names included."""
        return self.net_names[self.copper_net_lists[bisect_left(self.copper, item)]]

    @cached_property
    def private(self) -> frozenset[str]:
        """Names that look private and that one pin at most carries: no nets at all."""
        carriers: dict[str, set[tuple[int, str]]] = {}
        named = {row.name for row in self.rows}.union(self.net_names.values())
        names = {name for name in named if name.startswith(PRIVATE)}
        for pad, net in enumerate(self.pad_nets if names else ()):
            if net in names:
                carriers.setdefault(net, set()).add((self.pad_parts[pad], self.pad_numbers[pad]))
        return frozenset(name for name in names if len(carriers.get(name, ())) <= 1)

    def real(self, name: str) -> str | None:
        """A name as a net: None for no net and for private names."""
        return None if not name or name in self.private else name


def _patched(column: list[_Value], rows: IntArray, values: list[_Value]) -> list[_Value]:
    """A column with other values in some rows."""
    made = column.copy()
    for row, value in zip(rows.tolist(), values, strict=True):
        made[row] = value
    return made
