"""An outermost list without what an exchange may change in it.

The skeleton is the list's bytes with holes cut out; whatever is not in a hole
must be the same byte for byte.  A hole that holds a whole list (a net, a fill)
is cut with the white space in front of it, so that a list that comes or goes
leaves the skeleton as it is.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from itertools import accumulate, compress, repeat
from operator import ne, or_
from typing import NamedTuple

from renet.verify.atoms import ATOM, MARK, PRIVATE, spacing, text
from renet.verify.sheet import Sheet

NET, NET_NAME, FILL, TYPE_MARK, MEMBER, ROW_NAME = (
    "net",
    "net_name",
    "fill",
    "mark",
    "member",
    "row",
)

FILLS = (b"filled_polygon", b"fill_segments")

_Cut = tuple[int, int, int, str, int]
"""Where the white space in front of a hole begins, where the hole does, where it ends; its kind
and its owner.
"""


class Hole(NamedTuple):
    """What was cut out: ``at`` is its offset in the skeleton, ``file_at`` in the file.

    ``owner`` numbers the pads and zones inside the list (0: the list itself).
    """

    kind: str
    owner: int
    at: int
    file_at: int
    gap: bytes
    raw: bytes


class Skeleton:
    """The bytes that must not change (``fixed``), and the holes in order."""

    def __init__(self, sheet: Sheet, item: int) -> None:
        self._data, cuts = sheet.data, sorted(_cuts(sheet, item))
        begin, end = [cut[0] for cut in cuts], [cut[2] for cut in cuts]
        self._cuts, self._kinds = cuts, [cut[3] for cut in cuts]
        self._owners = [cut[4] for cut in cuts]
        pieces = self._pieces([int(sheet.start[item]), *end], [*begin, int(sheet.end[item])])
        self.fixed = b"".join(pieces)
        self._at = list(accumulate(map(len, pieces)))[:-1]
        self._texts = self._pieces(begin, end)

    def _pieces(self, begin: Iterable[int], end: Iterable[int]) -> list[bytes]:
        return list(map(self._data.__getitem__, map(slice, begin, end)))

    @cached_property
    def holes(self) -> tuple[Hole, ...]:
        """All holes."""
        return self._made(range(len(self._at)))

    def _made(self, which: Iterable[int]) -> tuple[Hole, ...]:
        return tuple(map(self._hole, which))

    def _hole(self, k: int) -> Hole:
        begin, start, _, kind, owner = self._cuts[k]
        gap, raw = self._texts[k][: start - begin], self._texts[k][start - begin :]
        return Hole(kind, owner, self._at[k], start, gap, raw)

    def apart(self, other: Skeleton, spelt: bool) -> tuple[tuple[Hole, ...], tuple[Hole, ...]]:
        """The holes of both that are not the same here and there, if both have the same ones.

        Otherwise, and where fills or members of a class differ, which are told all together,
        all holes.  Unless asked how they are ``spelt``, holes are the same that stand in the
        same place with the same white space.
        """
        if self._kinds != other._kinds or self._owners != other._owners:
            return self.holes, other.holes
        texts, ats = map(ne, self._texts, other._texts), map(ne, self._at, other._at)
        differ = list(compress(range(len(self._at)), map(or_, texts, ats)))
        if {self._kinds[k] for k in differ} & {FILL, MEMBER}:
            return self.holes, other.holes
        if not spelt:
            differ = [k for k in differ if self._spaced(k) != other._spaced(k)]
        return self._made(differ), other._made(differ)

    def _spaced(self, k: int) -> tuple[int, tuple[bytes, ...]]:
        return self._at[k], spacing(self._texts[k])


def _cuts(sheet: Sheet, item: int) -> Iterable[_Cut]:
    word = sheet.word(item)
    node = int(sheet.ids[item])
    if word in (b"segment", b"arc", b"via"):
        span = sheet.copper_net_span(item)
        return [_whole(sheet, NET, 0, *span)] if span[0] >= 0 else []
    if word == b"zone":
        return _zone_cuts(sheet, node, 0)
    if word in (b"footprint", b"module"):
        return _part_cuts(sheet, item)
    if word == b"net_class":
        return _member_cuts(sheet, node)
    return _row_cuts(sheet, item) if word == b"net" else []


def _whole(sheet: Sheet, kind: str, owner: int, start: int, end: int) -> _Cut:
    """A list with the white space in front of it."""
    return start - len(sheet.lead(start)), start, end, kind, owner


def _zone_cuts(sheet: Sheet, node: int, owner: int) -> list[_Cut]:
    cuts: list[_Cut] = []
    children = sheet.tree.children(node)
    for word, kind in ((b"net", NET), (b"net_name", NET_NAME)):
        for child in sheet.tree.having(children, word)[:1].tolist():
            cuts.append(_whole(sheet, kind, owner, *sheet.tree.span(child)))
    for word in FILLS:
        for child in sheet.tree.having(children, word).tolist():
            cuts.append(_whole(sheet, FILL, owner, *sheet.tree.span(child)))
    return cuts


def _part_cuts(sheet: Sheet, item: int) -> list[_Cut]:
    """Net lists and type marks of its pads, fills of its zones."""
    pads = sheet.pads_of(item)
    owners = range(1, len(pads) + 1)
    starts, ends = (one[pads.start : pads.stop] for one in sheet.pad_net_spans)
    begins = [at - len(sheet.lead(at)) if at >= 0 else at for at in starts]
    columns = zip(begins, starts, ends, repeat(NET), owners)
    cuts: list[_Cut] = [cut for cut in columns if cut[0] >= 0]
    marks = sheet.pad_mark_ats[pads.start : pads.stop]
    for owner, mark in zip(owners, marks, strict=False):
        if mark >= 0:
            cuts.append((mark, mark, mark + len(MARK), TYPE_MARK, owner))
    for k, zone in enumerate(sheet.zones_in(item)):
        cuts += [c for c in _zone_cuts(sheet, zone, -1 - k) if c[3] == FILL]
    return cuts


def _member_cuts(sheet: Sheet, node: int) -> list[_Cut]:
    """Private names in an old net class."""
    cuts = []
    tree = sheet.tree
    for child in tree.having(tree.children(node), b"add_net").tolist():
        span = tree.span(child)
        atoms = ATOM.findall(sheet.data[slice(*span)])
        if len(atoms) == 2 and text(atoms[1]).startswith(PRIVATE):
            cuts.append(_whole(sheet, MEMBER, 0, *span))
    return cuts


def _row_cuts(sheet: Sheet, item: int) -> list[_Cut]:
    """The name of a row that names a private net."""
    found = list(ATOM.finditer(sheet.data, sheet.start[item], sheet.end[item]))
    if len(found) == 3 and text(found[2][0]).startswith(PRIVATE):
        return [(found[2].start(), *found[2].span(), ROW_NAME, 0)]
    return []
