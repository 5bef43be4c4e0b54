"""An outermost list without what an exchange may change in it.

The skeleton is the list's bytes with holes cut out; whatever is not in a hole
must be the same byte for byte.  A hole that holds a whole list (a net, a fill)
is cut with the white space in front of it, so that a list that comes or goes
leaves the skeleton as it is.
"""

from __future__ import annotations

from typing import NamedTuple

from renet.verify.atoms import ATOM, MARK, PRIVATE, text
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


class Skeleton(NamedTuple):
    """The bytes that must not change, and the holes in order."""

    fixed: bytes
    holes: tuple[Hole, ...]


class _Cut(NamedTuple):
    begin: int
    start: int
    end: int
    kind: str
    owner: int


def skeleton(sheet: Sheet, item: int) -> Skeleton:
    """The skeleton of outermost list ``item``."""
    word = sheet.word(item)
    node = int(sheet.ids[item])
    if word in (b"segment", b"arc", b"via"):
        cuts = _net_cuts(sheet, [sheet.copper_net_span(item)], 0)
    elif word == b"zone":
        cuts = _zone_cuts(sheet, node, 0)
    elif word in (b"footprint", b"module"):
        cuts = _part_cuts(sheet, item)
    elif word == b"net_class":
        cuts = _member_cuts(sheet, node)
    elif word == b"net":
        cuts = _row_cuts(sheet, item)
    else:
        cuts = []
    return _take_out(sheet, item, cuts)


def _take_out(sheet: Sheet, item: int, cuts: list[_Cut]) -> Skeleton:
    pieces, holes, done, length, data = [], [], sheet.start[item], 0, sheet.data
    for begin, start, end, kind, owner in sorted(cuts):
        pieces.append(data[done:begin])
        length += begin - done
        holes.append(Hole(kind, owner, length, start, data[begin:start], data[start:end]))
        done = end
    pieces.append(data[done : sheet.end[item]])
    return Skeleton(b"".join(pieces), tuple(holes))


def _net_cuts(sheet: Sheet, spans: list[tuple[int, int]], owner: int) -> list[_Cut]:
    return [_whole(sheet, NET, owner, *span) for span in spans if span[0] >= 0]


def _whole(sheet: Sheet, kind: str, owner: int, start: int, end: int) -> _Cut:
    """A list with the white space in front of it."""
    return _Cut(start - len(sheet.lead(start)), start, end, kind, owner)


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
    pads, span = sheet.pads_of(item), (sheet.start[item], sheet.end[item])
    cuts: list[_Cut] = []
    for owner, (begin, start, end) in enumerate(sheet.pad_net_spans[pads].tolist(), 1):
        if start >= 0:
            cuts.append(_Cut(begin, start, end, NET, owner))
    types = sheet.pad_type_spans[pads].tolist() if sheet.data.find(MARK, *span) >= 0 else ()
    for owner, (start, end) in enumerate(types, 1):
        mark = sheet.data.rfind(MARK, start, end) if start >= 0 else -1
        if mark >= 0 and sheet.data[mark + len(MARK) : end].strip(b'"') == b")":
            cuts.append(_Cut(mark, mark, mark + len(MARK), TYPE_MARK, owner))
    for k, zone in enumerate(sheet.zones_in(item)):
        cuts += [c for c in _zone_cuts(sheet, zone, -1 - k) if c.kind == FILL]
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
        return [_Cut(found[2].start(), *found[2].span(), ROW_NAME, 0)]
    return []
