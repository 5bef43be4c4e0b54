"""One file as verify sees it: its outermost lists in order, and what they say of nets.

Read from the syntax tree and nothing else, so that a slip of the board reader
cannot hide here.  A net's name is "" where there is none.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterator
from functools import cached_property, lru_cache
from itertools import chain, islice
from typing import NamedTuple

import numpy as np

from renet.model import IntArray
from renet.syntax import Tree, decode
from renet.verify.verdict import Place

ATOM = re.compile(rb'"(?:[^"\\]|\\.)*+"|[^\s()"][^\s()]*+', re.DOTALL)
PRIVATE = "unconnected-("
MARK = b"+no_connect"
NOWHERE = (-1, -1)

Span = tuple[int, int]


class PadEntry(NamedTuple):
    """A pad as written: ``item`` is its part's place among the outermost lists.

    ``node``, ``net``, ``type`` are spans of lists, (-1, -1) where there is none.
    """

    item: int
    number: str
    node: Span
    net: Span
    type: Span


class Row(NamedTuple):
    """A row of the net table and its place among the outermost lists."""

    item: int
    number: str
    name: str


class Sheet:
    """A file, its tree, and its outermost lists (``items``) by number."""

    def __init__(self, name: str, data: bytes, tree: Tree) -> None:
        self.name = name
        self.data = data
        self.tree = tree
        self.ids: IntArray = tree.children(0)
        self.start: list[int] = tree.start[self.ids].tolist()
        self.end: list[int] = tree.end[self.ids].tolist()
        self.words = tree.keywords(self.ids)
        self._by_word: dict[bytes, list[int]] = {}
        for item, word in enumerate(self.words):
            self._by_word.setdefault(word, []).append(item)
        self._net_lists: dict[bytes, list[bytes]] = {}
        self._named: dict[bytes, str] = {}

    def __len__(self) -> int:
        return len(self.start)

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

    @cached_property
    def gaps(self) -> list[bytes]:
        """What stands before each outermost list, and at last after the last one."""
        begins = [int(self.tree.start[0]), *self.end]
        stops = [*self.start, int(self.tree.end[0]) - 1]
        return [self.data[begin:stop] for begin, stop in zip(begins, stops, strict=True)]

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

    def first_atoms(self, span: Span, count: int) -> list[bytes]:
        """The first atoms in a span, the keyword included."""
        return [found[0] for found in islice(ATOM.finditer(self.data, *span), count)]

    def items(self, *words: bytes) -> list[int]:
        """The outermost lists with one of these keywords."""
        found = [self._by_word.get(word, []) for word in words]
        return sorted(chain(*found)) if len(found) > 1 else found[0]

    @cached_property
    def rows(self) -> list[Row]:
        """The net table; empty where the file has none."""
        found = [self.row_at(item) for item in self.items(b"net")]
        return [row for row in found if row is not None]

    def row_at(self, item: int) -> Row | None:
        """An outermost list as a row of the net table, None if it is none."""
        atoms = ATOM.findall(self.raw(item))
        if len(atoms) != 3 or atoms[0] != b"net":
            return None
        return Row(item, text(atoms[1]), text(atoms[2]))

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
            for child in self.tree.having(children, b"add_net").tolist():
                names += [text(atom) for atom in self.first_atoms(self.tree.span(child), 2)[1:]]
        return [name for name in names if name.startswith(PRIVATE)]

    @cached_property
    def by_number(self) -> dict[str, str]:
        """Net names by the number as written; the first row counts."""
        table: dict[str, str] = {}
        for row in self.rows:
            table.setdefault(row.number, row.name)
        return table

    def children(self, items: list[int], word: bytes) -> list[Span]:
        """For each of some outermost lists the span of its first child with this keyword."""
        return self._spans(self.tree.family(self.ids[items]).first(word)) if items else []

    def _spans(self, lists: IntArray) -> list[Span]:
        start = np.where(lists >= 0, self.tree.start[lists], -1).tolist()
        end = np.where(lists >= 0, self.tree.end[lists], -1).tolist()
        return list(zip(start, end, strict=True))

    @cached_property
    def parts(self) -> list[int]:
        """The outermost lists that are parts."""
        return self.items(b"footprint", b"module")

    @cached_property
    def refs(self) -> dict[int, str]:
        """The reference of each part, "" where it has none."""
        return {item: self._reference(int(self.ids[item])) for item in self.parts}

    def _reference(self, part: int) -> str:
        children = self.tree.children(part)
        for word, label in ((b"property", b"Reference"), (b"fp_text", b"reference")):
            for child in self.tree.having(children, word).tolist():
                atoms = self.first_atoms(self.tree.span(child), 3)
                if len(atoms) > 2 and atoms[1].strip(b'"') == label:
                    return text(atoms[2])
        return ""

    @cached_property
    def pads(self) -> list[PadEntry]:
        """All pads of all parts, in file order."""
        pads, owner = self.tree.family(self.ids[self.parts]).having(b"pad")
        inside = self.tree.family(pads)
        nets, types = self._spans(inside.first(b"net")), self._spans(inside.first(b"pintype"))
        found = []
        for k, node in enumerate(self._spans(pads)):
            head = self.first_atoms(node, 2)
            number = text(head[1]) if len(head) > 1 else ""
            found.append(PadEntry(self.parts[int(owner[k])], number, node, nets[k], types[k]))
        return found

    def net_atoms(self, span: Span) -> list[bytes]:
        """What stands in a ``(net ...)`` list after the keyword."""
        return self._atoms_of(self.data[span[0] : span[1]] if span[0] >= 0 else b"")

    def _atoms_of(self, raw: bytes) -> list[bytes]:
        if raw not in self._net_lists:
            self._net_lists[raw] = ATOM.findall(raw)[1:]
        return self._net_lists[raw]

    def net_at(self, span: Span) -> str:
        """The net that a ``(net ...)`` list names; by number where the file has a table."""
        raw = self.data[span[0] : span[1]] if span[0] >= 0 else b""
        if raw not in self._named:
            self._named[raw] = self._name_of(self._atoms_of(raw))
        return self._named[raw]

    def _name_of(self, atoms: list[bytes]) -> str:
        if not atoms:
            return ""
        first = text(atoms[0])
        if self.rows and first in self.by_number:
            return self.by_number[first]
        return "" if len(atoms) == 1 and first == "0" else text(atoms[-1])

    def name_atoms(self) -> Iterator[bytes]:
        """Every net name of rows, pads and copper as it is written, each spelling once or more."""
        for row in self.rows:
            yield self.first_atoms((self.start[row.item], self.end[row.item]), 3)[-1]
        for span in [pad.net for pad in self.pads] + list(self.copper_net_spans.values()):
            self.net_atoms(span)
        for atoms in self._net_lists.values():
            if atoms and (len(atoms) > 1 or not self.rows):
                yield atoms[-1]

    @cached_property
    def pad_nets(self) -> list[str]:
        """What each pad carries, private names included."""
        return [self.net_at(pad.net) for pad in self.pads]

    @cached_property
    def copper(self) -> list[int]:
        """The outermost lists that are tracks, arcs, vias or zones."""
        return self.items(b"segment", b"arc", b"via", b"zone")

    @cached_property
    def teardrops(self) -> frozenset[int]:
        """The outermost lists that are zones of the teardrop kind."""
        zones = self.items(b"zone")
        found = set()
        for item, span in zip(zones, self.children(zones, b"attr"), strict=True):
            if span[0] >= 0 and b"(teardrop" in self.data[slice(*span)]:
                found.add(item)
        return frozenset(found)

    def is_teardrop(self, item: int) -> bool:
        """Whether an outermost list is a teardrop."""
        return item in self.teardrops

    @cached_property
    def copper_net_spans(self) -> dict[int, Span]:
        """The net list of each piece of copper."""
        return dict(zip(self.copper, self.children(self.copper, b"net"), strict=True))

    @cached_property
    def copper_nets(self) -> dict[int, str]:
        """What each piece of copper carries, private names included."""
        return {item: self.net_at(span) for item, span in self.copper_net_spans.items()}

    @cached_property
    def private(self) -> frozenset[str]:
        """Names that look private and that one pin at most carries: no nets at all."""
        carriers: dict[str, set[tuple[int, str]]] = {}
        for pad, net in zip(self.pads, self.pad_nets, strict=True):
            carriers.setdefault(net, set()).add((pad.item, pad.number))
        names = {row.name for row in self.rows} | carriers.keys()
        names.update(self.copper_nets.values())
        return frozenset(
            name for name in names if name.startswith(PRIVATE) and len(carriers.get(name, ())) <= 1
        )

    def real(self, name: str) -> str | None:
        """A name as a net: None for no net and for private names."""
        return None if not name or name in self.private else name


@lru_cache(maxsize=1 << 16)
def text(atom: bytes) -> str:
    """What an atom says; bytes that are no UTF-8 become replacement characters."""
    return decode(atom.decode("utf-8", "replace").encode())
