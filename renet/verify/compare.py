"""Check ``bytes``: nothing differs but what an exchange of nets may touch."""

from __future__ import annotations

from collections.abc import Iterator

from renet.verify.alignment import Alignment, Step
from renet.verify.atoms import ATOM, PRIVATE, spacing
from renet.verify.sheet import Sheet
from renet.verify.skeleton import FILL, MEMBER, NET, NET_NAME, ROW_NAME, TYPE_MARK, Hole
from renet.verify.verdict import BYTES, Counts, Finding

_TRACKS = (b"segment", b"arc", b"via")
_WORDS = {b"segment": "track", b"arc": "arc", b"via": "via", b"zone": "zone", b"net": "net row"}


def check_bytes(alignment: Alignment, may_leave: bool, counts: Counts) -> list[Finding]:
    """``may_leave``: whether copper may be gone (which of it, check ``copper`` says)."""
    before, after = alignment.before, alignment.after
    counts.bytes_compared += len(after.data)
    findings = list(_ends(before, after))
    for step in alignment.steps:
        if not step.equal:
            findings += _step(alignment, step, may_leave)
    findings += _gaps(alignment)
    return findings


def _ends(before: Sheet, after: Sheet) -> Iterator[Finding]:
    """What stands in front of the outermost list and behind it."""
    for rule, was, is_ in (
        ("head", before.head, after.head),
        ("tail", before.tail, after.tail),
    ):
        if was != is_:
            yield Finding(BYTES, rule, "file", f"the {rule} of the file is not the same")


def _step(alignment: Alignment, step: Step, may_leave: bool) -> Iterator[Finding]:
    before, after = alignment.before, alignment.after
    if step.before is None:
        item = step.after or 0
        fault = _row_fault(before, after, item)
        if fault:
            yield _at(after, after.start[item], "added", _item(after, item), fault)
    elif step.after is None:
        if not (may_leave and _can_leave(before, step.before)):
            where, offset = _item(before, step.before), before.start[step.before]
            yield _at(before, offset, "missing", where, "it is missing in AFTER")
    elif not step.alike:
        yield _difference(alignment, step.before, step.after)
    else:
        yield from _holes(alignment, step.before, step.after)


def _can_leave(sheet: Sheet, item: int) -> bool:
    return sheet.word(item) in _TRACKS or sheet.is_teardrop(item)


def _item(sheet: Sheet, item: int) -> str:
    word = sheet.word(item)
    if item in sheet.refs:
        return f"part {sheet.refs[item]}"
    return _WORDS.get(word, f'"{word.decode("utf-8", "replace")}" entry')


def _at(sheet: Sheet, offset: int, rule: str, where: str, what: str) -> Finding:
    return Finding(BYTES, rule, where, what, sheet.place(offset))


def _difference(alignment: Alignment, i: int, j: int) -> Finding:
    """Two lists that should be one: the first byte at which they part, holes left out."""
    mine, theirs = alignment.skeleton(False, i), alignment.skeleton(True, j)
    same = _common(mine.fixed, theirs.fixed)
    offset = alignment.after.start[j] + same
    for hole in theirs.holes:
        if hole.at <= same:
            offset += len(hole.gap) + len(hole.raw)
    was, is_ = mine.fixed[same : same + 24], theirs.fixed[same : same + 24]
    what = f"something else changed here: {_shown(was)} became {_shown(is_)}"
    offset = min(offset, alignment.after.end[j] - 1)
    return _at(alignment.after, offset, "unchanged", _item(alignment.after, j), what)


def _common(a: bytes, b: bytes) -> int:
    """Length of the common beginning, by halving."""
    low, high = 0, min(len(a), len(b))
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if a[:middle] == b[:middle] else (low, middle - 1)
    return low


def _shown(raw: bytes) -> str:
    return ascii(raw.decode("utf-8", "replace")) if raw else "nothing"


def _holes(alignment: Alignment, i: int, j: int) -> Iterator[Finding]:
    """Holes that differ must differ in the way their kind allows."""
    before, after = alignment.before, alignment.after
    area = before.word(i) == b"zone"  # of which no net may change, however it is spelt
    mine, theirs = alignment.skeleton(False, i).apart(alignment.skeleton(True, j), area)
    where = _item(before, i)  # the same in AFTER, where all but the holes is
    yield from _listed_holes(after, j, where, mine, theirs)
    old = {(h.kind, h.owner): h for h in mine if h.kind not in (FILL, MEMBER)}
    new = {(h.kind, h.owner): h for h in theirs if h.kind not in (FILL, MEMBER)}
    for key in sorted(old.keys() | new.keys()):
        was, is_ = old.get(key), new.get(key)
        if was and is_ and (was.at, was.gap, was.raw) == (is_.at, is_.gap, is_.raw):
            continue
        fault = _fault(alignment, i, was, is_)
        if fault:
            hole = is_ or was
            sheet = after if is_ else before
            yield _at(sheet, hole.file_at if hole else 0, fault[0], where, fault[1])


def _fault(
    alignment: Alignment, item: int, was: Hole | None, is_: Hole | None
) -> tuple[str, str] | None:
    """What is wrong with a hole that changed, None if nothing."""
    before = alignment.before
    hole = is_ or was
    if hole is None or hole.kind in (TYPE_MARK, ROW_NAME):
        return None
    if before.word(item) == b"zone" and not before.is_teardrop(item):
        return "zone net", "the zone's net changed; the outline of a zone stays as it is"
    if was is None and is_ is not None:
        return _new_list(alignment, item, is_)
    if is_ is None and hole.kind == NET_NAME:
        return "unchanged", "the name of the net is missing"
    return _other_spacing(was, is_) if was and is_ else None


def _other_spacing(was: Hole, is_: Hole) -> tuple[str, str] | None:
    if (was.at, was.gap) != (is_.at, is_.gap):
        return "white space", "the net stands elsewhere or with other white space"
    if spacing(was.raw) != spacing(is_.raw):
        return "white space", "the net is written with other white space"
    return None


def _new_list(alignment: Alignment, item: int, hole: Hole) -> tuple[str, str] | None:
    """A net list where there was none: spelt plainly, after another list, spaced as others."""
    before = alignment.before
    atoms = 3 if before.rows and hole.owner else 2
    plain = [b"(", *[b" "] * (atoms - 1), b")"]
    if hole.kind != NET or ATOM.split(hole.raw) != plain:
        return "white space", "the new net list is not written as others of this file"
    if alignment.skeleton(False, item).fixed[hole.at - 1 : hole.at] != b")":
        return "white space", "the new net list does not stand after another list"
    if hole.gap not in (before.pad_net_gaps if hole.owner else before.copper_net_gaps):
        return "white space", "no other net list of the file has this white space before it"
    return None


def _listed_holes(
    after: Sheet, item: int, where: str, mine: tuple[Hole, ...], theirs: tuple[Hole, ...]
) -> Iterator[Finding]:
    """Fills may be gone (check ``copper`` says which); those that stay are the same.

    Members of a net class may be renamed (check ``pins`` says to what).
    """
    left = iter([(h.owner, h.at, h.gap, h.raw) for h in mine if h.kind == FILL])
    forms = {(h.gap, *ATOM.split(h.raw)) for h in mine if h.kind == MEMBER}
    for hole in theirs:
        if hole.kind == FILL and (hole.owner, hole.at, hole.gap, hole.raw) not in left:
            what = "a filled area is not one of BEFORE"
            yield _at(after, hole.file_at, "unchanged", where, what)
        if hole.kind == MEMBER and (hole.gap, *ATOM.split(hole.raw)) not in forms:
            what = "a member of the net class is not written as others are"
            yield _at(after, hole.file_at, "white space", where, what)


def _row_fault(before: Sheet, after: Sheet, item: int) -> str:
    """What is wrong with a new row of the net table, "" if nothing."""
    if after.word(item) != b"net" or not before.rows or after.word(item - 1) != b"net":
        return "it is not in BEFORE"
    row, last = after.row_at(item), after.row_at(item - 1)
    pattern = ATOM.split(before.raw(before.rows[-1].item))
    if row is None or last is None or ATOM.split(after.raw(item)) != pattern:
        return "the new row is not written as others are"
    if not row.name.startswith(PRIVATE):
        return f"the new net {row.name} is not the private net of an open pin"
    if not last.number.isdecimal() or row.number != str(int(last.number) + 1):
        return f"the new row has the number {row.number} after {last.number}"
    return ""


def _gaps(alignment: Alignment) -> Iterator[Finding]:
    """White space between outermost lists: the same, or one of those around what left."""
    before, after = alignment.before, alignment.after
    allowed: list[bytes] = []
    row_gap: bytes | None = None
    for step in [*alignment.steps, Step(len(before), len(after), True)]:
        if step.before is not None:
            allowed.append(before.gap(step.before))
        if step.after is None:
            continue
        gap = after.gap(step.after)
        if step.before is None:
            good = gap == row_gap or after.word(step.after) != b"net"
        else:
            good = gap in allowed and (len(allowed) == 1 or all(not g.strip() for g in allowed))
            row_gap, allowed = before.gap(step.before + step.many - 1), []
        if not good:
            last = int(after.tree.end[0]) - 1
            offset = after.start[step.after] if step.after < len(after) else last
            what = f"the white space or text between entries changed: {_shown(gap[:24])} here"
            yield _at(after, offset, "white space", "file", what)
