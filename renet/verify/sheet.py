"""One file as verify sees it: its outermost lists in order, and what they say of nets.

Read from the syntax tree and nothing else, so that a slip of the board reader
cannot hide here.  A net's name is "" where there is none.
"""

from __future__ import annotations

import re
from collections import Counter
from functools import cached_property

import numpy as np

from renet.model import NONE, BoolArray, IntArray
from renet.syntax import Family
from renet.verify.atoms import ATOM, MARK, PRIVATE, number, text, values
from renet.verify.column import Column, numbered, texts
from renet.verify.items import Span
from renet.verify.rows import NetTable

_THIRD = re.compile(rb"\(\s*(?:(?:%b)[\s()]*+){2}(%b)" % (ATOM.pattern, ATOM.pattern), re.DOTALL)
BLANK = frozenset([b" "])
_COPPER = (b"segment", b"arc", b"via", b"zone")


class Sheet(NetTable):
    """The outermost lists of a file, and what they and the pads in them say of nets."""

    def share(self, other: Sheet, twins: IntArray, in_step: bool) -> None:
        """Take over from another file what stands in both of them.

        ``twins`` tells of each outermost list of the other which one here is the same byte
        by byte, -1 where none is; ``in_step`` whether the lists of both have the same keywords.
        """
        if in_step:
            self._items = other._items

        def same(*words: bytes) -> bool:
            items, others = self.items(*words), other.items(*words)
            return np.array_equal(items, others) and np.array_equal(twins[items], items)

        if same(b"net"):
            self.rows, self.row_names = other.rows, other.row_names
            self.by_number, self.plain_rows = other.by_number, other.plain_rows
            self._known_names = other.net_names
        if same(b"net_class"):
            self.member_names = other.member_names
        if same(*_COPPER):
            self.copper_lists = other.copper_lists

    @cached_property
    def _known_names(self) -> dict[bytes, str]:
        """What net lists are known to name, from a file with the same net table."""
        return {}

    # parts and pads

    @cached_property
    def parts(self) -> IntArray:
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
            begin, end = self.tree.inners(lists, word)[:, 0], np.full(len(lists), NONE)
            for atom in (label, b'"%b"' % label):
                hits = self.tree.bulk.tokens(begin, atom)
                end[hits] = begin[hits] + len(atom)
            hits = (end != NONE).nonzero()[0]
            spans = self.tree.bulk.atoms(self.tree.past_space(end[hits])).tolist()
            for part, one, span in zip(owner[hits].tolist(), lists[hits], spans, strict=True):
                if part not in found:
                    found.update(self._ref(part, int(one), *span))
        return {item: found.get(part, "") for part, item in enumerate(self.parts.tolist())}

    def _ref(self, part: int, one: int, begin: int, end: int) -> dict[int, str]:
        """The reference in a list, whose next atom stands at a span if no parenthesis comes first.

        Empty where no atom comes at all.
        """
        if begin != NONE:
            return {part: text(self.data[begin:end])}
        match = _THIRD.match(self.data, *self.tree.span(one))
        return {part: text(match[1])} if match else {}

    @cached_property
    def _pad_lists(self) -> tuple[IntArray, IntArray]:
        return self._inside_parts.having(b"pad")

    @cached_property
    def _pads(self) -> Family:
        """The insides of all pads of all parts, in file order."""
        return self.tree.family(self._pad_lists[0])

    @property
    def pad_parts(self) -> IntArray:
        """The part of each pad, by its place in ``parts``."""
        return self._pad_lists[1]

    @cached_property
    def pad_numbers(self) -> Column[str]:
        """The number of each pad, "" where it has none."""
        inside, start = self._pads, self.tree.start
        stop = self.tree.end[inside.of]
        stop[inside.owner[::-1]] = start[inside.kids[::-1]]  # the first list of each comes last
        return texts(self.tree, start[inside.of], stop).to(number)

    @cached_property
    def pad_keys(self) -> IntArray:
        """A number for each pad that is that of other pads of the same part and number."""
        [numbers] = numbered(self.pad_numbers)
        return self.pad_parts * (len(self.pad_numbers.kinds) + 1) + numbers

    def pad_at(self, pad: int) -> int:
        """Where a pad begins."""
        return int(self.tree.start[self._pads.of[pad]])

    def pads_of(self, item: int) -> range:
        """Which pads a part holds."""
        part = int(np.searchsorted(self.parts, item))
        return range(self._pad_bounds[part], self._pad_bounds[part + 1])

    @cached_property
    def _pad_bounds(self) -> list[int]:
        """The first pad of each part, and how many there are in all."""
        bounds: list[int] = np.searchsorted(self.pad_parts, np.arange(len(self.parts) + 1)).tolist()
        return bounds

    def zones_in(self, item: int) -> list[int]:
        """The lists that are zones in an outermost list, if it is a part."""
        lists, owner = self._zones_inside
        mine: list[int] = lists[owner == np.searchsorted(self.parts, item)].tolist()
        return mine

    @cached_property
    def _zones_inside(self) -> tuple[IntArray, IntArray]:
        return self._inside_parts.having(b"zone")

    @cached_property
    def pad_net_ends(self) -> IntArray:
        """(2, n): where the net list of each pad starts and ends, -1 where it has none."""
        return self.ends(self._pads.first(b"net"))

    @cached_property
    def pad_net_spans(self) -> tuple[list[int], list[int]]:
        """Where the net list of each pad begins and where it ends, -1 where it has none."""
        starts, ends = self.pad_net_ends.tolist()
        return starts, ends

    @cached_property
    def pad_lists(self) -> Column[bytes]:
        """The net list of each pad as written, b"" where it has none."""
        return texts(self.tree, *self.pad_net_ends)

    @cached_property
    def pad_type_ends(self) -> IntArray:
        """(2, n): the list with the pin type of each pad, -1 where it has none."""
        return self.ends(self._pads.first(b"pintype"))

    @cached_property
    def pad_types(self) -> Column[bytes]:
        """The list with the pin type of each pad as written, b"" where it has none."""
        return texts(self.tree, *self.pad_type_ends)

    @cached_property
    def pad_mark_ats(self) -> list[int]:
        """Where the no-connect mark stands at the end of the type of each pad, -1 for none.

        Empty where no pad has one.
        """
        types = self.pad_types
        marks = np.array(list(map(_mark_in, types.kinds)), dtype=np.int64)
        if marks.max(initial=NONE) == NONE:
            return []
        mark = marks[types.codes]
        ats: list[int] = np.where(mark >= 0, self.pad_type_ends[0] + mark, NONE).tolist()
        return ats

    @cached_property
    def pad_marks(self) -> BoolArray:
        """Whether the pin type of each pad ends in the no-connect mark."""
        return self.pad_types.where(lambda raw: raw.rstrip(b')"').endswith(MARK))

    # copper

    @cached_property
    def copper(self) -> IntArray:
        """The outermost lists that are tracks, arcs, vias or zones."""
        return self.items(*_COPPER)

    @cached_property
    def zones(self) -> IntArray:
        """The outermost lists that are zones."""
        return self.items(b"zone")

    @cached_property
    def zone_name_ends(self) -> IntArray:
        """(2, n): where each of ``zones`` repeats the name of its net; -1 where it does not."""
        return self.children(self.zones, b"net_name")

    @cached_property
    def teardrops(self) -> frozenset[int]:
        """The outermost lists that are zones of the teardrop kind."""
        said = texts(self.tree, *self.children(self.zones, b"attr"))
        return frozenset(self.zones[said.where(lambda raw: b"(teardrop" in raw)].tolist())

    def is_teardrop(self, item: int) -> bool:
        """Whether an outermost list is a teardrop."""
        return item in self.teardrops

    @cached_property
    def _copper_net_ends(self) -> IntArray:
        return self.children(self.copper, b"net")

    def copper_net_span(self, item: int) -> Span:
        """The net list of a piece of copper."""
        begin, end = self._copper_net_ends[:, np.searchsorted(self.copper, item)].tolist()
        return begin, end

    @cached_property
    def copper_lists(self) -> Column[bytes]:
        """The net list of each piece of ``copper`` as written."""
        return texts(self.tree, *self._copper_net_ends)

    def copper_net(self, item: int) -> str:
        """What a piece of copper carries, private names included."""
        return self.net_names[self.copper_lists.one(int(np.searchsorted(self.copper, item)))]

    # white space

    @cached_property
    def pad_net_gaps(self) -> frozenset[bytes]:
        """The white space that stands before net lists of pads."""
        return self._gaps(self.pad_net_ends[0])

    @cached_property
    def copper_net_gaps(self) -> frozenset[bytes]:
        """The white space that stands before net lists of copper."""
        return self._gaps(self._copper_net_ends[0])

    def _gaps(self, starts: IntArray) -> frozenset[bytes]:
        """A blank where there is no list at all."""
        return frozenset(self.lead(begin) for begin in starts.tolist() if begin >= 0) or BLANK

    # nets

    @cached_property
    def net_lists(self) -> list[bytes]:
        """The net lists of pads and copper, each spelling once, in the order they come first."""
        return list(dict.fromkeys([*self.pad_lists.kinds, *self.copper_lists.kinds]))

    @cached_property
    def odd_lists(self) -> list[bytes]:
        """Those of ``net_lists`` that are not written as a row of the net table says."""
        plain = self.plain_rows
        return [raw for raw in self.net_lists if raw not in plain]

    def name_atoms(self) -> list[bytes]:
        """Every net name of pads and copper as it is written, each spelling once or more.

        Those are left out that are written as in the net table.
        """
        least = 1 if self.rows else 0
        found = [atoms[-1] for raw in self.odd_lists if len(atoms := values(raw)) > least]
        for raw in texts(self.tree, *self.zone_name_ends).kinds:
            found += values(raw)[:1]
        return found

    @cached_property
    def net_names(self) -> dict[bytes, str]:
        """The net that each of ``net_lists`` names; by number where the file has a table."""
        known, plain = self._known_names, self.plain_rows
        return {
            raw: known.get(raw) or plain.get(raw) or self._name_of(values(raw))
            for raw in self.net_lists
        }

    def _name_of(self, atoms: tuple[bytes, ...]) -> str:
        if not atoms:
            return ""
        first = text(atoms[0])
        if self.rows and first in self.by_number:
            return self.by_number[first].name
        return "" if len(atoms) == 1 and first == "0" else text(atoms[-1])

    @cached_property
    def pad_nets(self) -> Column[str]:
        """What each pad carries, private names included."""
        return self.pad_lists.to(self.net_names.__getitem__)

    @cached_property
    def pad_real_nets(self) -> Column[str | None]:
        """The net of each pad: None for no net and for private names."""
        return self.pad_nets.to(self.real)

    @cached_property
    def _private_looking(self) -> frozenset[str]:
        named = {*self.row_names, *self.net_names.values()}
        return frozenset([name for name in named if name.startswith(PRIVATE)])

    @cached_property
    def shared_names(self) -> frozenset[str]:
        """Names that look private, but that several pins carry."""
        names, nets = self._private_looking, self.pad_nets
        pads = nets.where(names.__contains__).nonzero()[0]
        pins = zip(nets.some(pads), self.pad_keys[pads].tolist(), strict=True)
        carriers = Counter(name for name, _ in set(pins))
        return frozenset([name for name, pins in carriers.items() if pins > 1])

    @cached_property
    def private(self) -> frozenset[str]:
        """Names that look private and that one pin at most carries: no nets at all."""
        return self._private_looking - self.shared_names

    def real(self, name: str) -> str | None:
        """A name as a net: None for no net and for private names."""
        return None if not name or name in self.private else name


def _mark_in(raw: bytes) -> int:
    """Where in a type the mark stands at its end, -1 where it does not."""
    mark = raw.rfind(MARK)
    return mark if mark >= 0 and raw[mark + len(MARK) :].strip(b'"') == b")" else NONE
