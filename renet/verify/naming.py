"""Check ``pins``: what pads and copper say of their nets holds together in AFTER.

Only what AFTER adds is a finding; what was already so in BEFORE is not.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping
from typing import NamedTuple

import numpy as np

from renet.model import NONE
from renet.verify.atoms import PRIVATE, is_plain, text, values
from renet.verify.column import texts
from renet.verify.pins import PinTable
from renet.verify.seats import Seat
from renet.verify.sheet import Sheet
from renet.verify.verdict import PINS, Counts, Finding, net_words


class _Slip(NamedTuple):
    rule: str
    where: str
    what: str


def check_pins(table: PinTable, moved: Mapping[int, Seat], counts: Counts) -> list[Finding]:
    """Numbers and names, pads of one pin, private names, marks, spelling.

    ``moved`` are the pins whose net changed.
    """
    counts.pins_compared += len(table)
    counts.pads_compared += len(table.pin_of)
    findings = list(_numbers(table))
    findings += _torn(table)
    findings += _shared_private(table)
    findings += _no_pins(table)
    findings += _private_names(table, moved)
    findings += _private_entries(table)
    findings += _marks(table, moved)
    findings += _spelling(table)
    return findings


def _numbers(table: PinTable) -> Iterator[Finding]:
    """Net numbers are in the table, once, under the name that stands beside them."""
    found = list(_slips(table.after, table))
    known = Counter(slip for slip, _ in _slips(table.before, table)) if found else Counter()
    for slip, offset in found:
        known[slip] -= 1
        if known[slip] < 0:
            yield Finding(PINS, *slip, table.after.place(offset))


def _slips(sheet: Sheet, table: PinTable) -> Iterator[tuple[_Slip, int]]:
    numbers: set[str] = set()
    names: set[str] = set()
    once = len(sheet.by_number) == len(set(sheet.row_names)) == len(sheet.rows)
    for row in () if once else sheet.rows:
        for kind, value, seen in (("number", row.number, numbers), ("name", row.name, names)):
            if value in seen:
                what = f"the {kind} {value} stands twice in the net table"
                yield _Slip("net table", f"net {row.number}", what), sheet.start[row.item]
            seen.add(value)
    odd = sheet.odd_lists if sheet.rows else ()
    bad = {raw: what for raw in odd if (what := _mismatch(sheet, raw))}
    for pad, raw in enumerate(sheet.pad_lists.rows if bad else ()):
        if raw in bad:
            yield _Slip("net table", table.pad_label(pad), bad[raw]), sheet.pad_net_spans[0][pad]
    lists = zip(sheet.copper.tolist(), sheet.copper_lists.rows, strict=True) if bad else ()
    for item, raw in lists:
        if raw in bad:
            where = sheet.copper_net_span(item)[0]
            yield _Slip("net table", sheet.word(item).decode(), bad[raw]), where
    yield from _zone_slips(sheet)


def _zone_slips(sheet: Sheet) -> Iterator[tuple[_Slip, int]]:
    """Zones that repeat the name of their net say the right one."""
    said = texts(sheet.tree, *sheet.zone_name_ends).to(_name_said)
    meant = sheet.copper_lists.to(sheet.net_names.__getitem__)
    nets = meant.some(np.searchsorted(sheet.copper, sheet.zones))
    for at, name, net in zip(sheet.zone_name_ends[0].tolist(), said.rows, nets, strict=True):
        if at >= 0 and name != net:
            what = f'it says net_name "{name}" but its net is "{net}"'
            yield _Slip("net table", "zone", what), at


def _name_said(raw: bytes) -> str:
    """The name in a list that repeats that of a net, "" where there is none."""
    return "".join(map(text, values(raw)[:1]))


def _mismatch(sheet: Sheet, raw: bytes) -> str:
    """What is wrong with a net list, "" if nothing."""
    atoms = values(raw)
    if not atoms:
        return ""
    number = text(atoms[0])
    if number not in sheet.by_number:
        return f"net number {number} is not in the net table"
    row = sheet.by_number[number]
    if atoms[0] != row.said[0]:
        return f"net number {number} is written otherwise than in the net table"
    name = row.name
    if len(atoms) > 1 and text(atoms[1]) != name:
        return f'net number {number} is "{name}" in the net table but "{text(atoms[1])}" here'
    return ""


def _torn(table: PinTable) -> Iterator[Finding]:
    """All pads of a pin are on one net."""
    for pin in sorted(set(table.pin_of[table.changed].tolist()) & table.more.keys()):
        pads, columns = table.more[pin], (table.before.pad_real_nets, table.after.pad_real_nets)
        had, has = (set(column.some(pads)) for column in columns)
        if len(has) > 1 and len(had) == 1:
            names = " and ".join(sorted({net_words(net) for net in has}))
            where = table.after.place(table.after.pad_at(pads[0]))
            what = f"its {len(pads)} pads are on different nets: {names}"
            yield Finding(PINS, "pads of one pin", table.label(pin), what, where)


def _shared_private(table: PinTable) -> Iterator[Finding]:
    """A private name stands at one pin only; carried by two it would join them."""
    shared = table.after.shared_names
    before, after = (_carriers(table, sheet, shared) for sheet in (table.before, table.after))
    for name, pins in sorted(after.items()):
        if len(pins) > 1 and before.get(name, set()) != pins:
            where = ", ".join(table.label(pin) for pin in sorted(pins, key=table.key))
            yield Finding(PINS, "private names", where, f"they share the private name {name}")


def _carriers(table: PinTable, sheet: Sheet, names: frozenset[str]) -> dict[str, set[int]]:
    """The pins that carry each of some names."""
    nets, found = sheet.pad_nets, dict[str, set[int]]()
    pads = (nets.where(names.__contains__) & (table.pin_of != NONE)).nonzero()[0]
    for pin, name in zip(table.pin_of[pads].tolist(), nets.some(pads), strict=True):
        found.setdefault(name, set()).add(pin)
    return found


def _no_pins(table: PinTable) -> Iterator[Finding]:
    """Pads that belong to no pin (unnumbered, unplated) keep what they carry."""
    for pad, was, is_ in table.other_nets:
        if table.pin_of[pad] == NONE:
            where = table.after.place(table.after.pad_at(pad))
            what = f"it belongs to no pin, but went from {was or 'no net'} to {is_ or 'no net'}"
            yield Finding(PINS, "pads of no pin", table.pad_label(pad), what, where)


def _private_names(table: PinTable, moved: Mapping[int, Seat]) -> Iterator[Finding]:
    """A private name tells of its pin where it is new, and stays where no net came or went."""
    for pad, was, is_ in table.other_nets:
        if not (was.startswith(PRIVATE) or is_.startswith(PRIVATE)):
            continue
        pin = int(table.pin_of[pad])
        if pin == NONE:
            continue
        seat = moved.get(pin)
        if seat is None:
            what = f"no net came or went, but {was or 'no net'} became {is_ or 'no net'}"
        elif is_.startswith(PRIVATE) and not tells_of(is_, seat):
            what = f"its private name {is_} tells of another pin"
        else:
            continue
        where = table.after.place(max(table.after.pad_at(pad), table.after.pad_net_spans[0][pad]))
        yield Finding(PINS, "private names", table.pad_label(pad), what, where)


def tells_of(private: str, seat: Seat) -> bool:
    """Whether a private name embeds the pin's part (a unit letter may follow) and number.

    The pin's name may stand between, with or without the number that some files add to it.
    """
    name = _slashed(seat.name)
    names = {name, name.removesuffix("_" + seat.number)} - {""}
    between = "|".join(re.escape(one + "-") for one in sorted(names))
    part, pad = re.escape(_slashed(seat.ref)), re.escape(_slashed(seat.number))
    pattern = rf"{re.escape(PRIVATE)}{part}[A-Z]?-({between})?Pad{pad}\)"
    return re.fullmatch(pattern, private, re.DOTALL) is not None


def _slashed(name: str) -> str:
    return name.replace("/", "{slash}")


def _private_entries(table: PinTable) -> Iterator[Finding]:
    """Rows and class members of private names follow the pins and nothing else."""
    before, after = table.before, table.after
    gone = {was for _, was, _ in table.other_nets} - {*after.pad_nets.kinds}
    come = {is_ for _, _, is_ in table.other_nets} - {*before.pad_nets.kinds}
    for kind, had, has in (
        ("row of the net table", before.row_names, after.row_names),
        ("member of a net class", before.member_names, after.member_names),
    ):
        if had == has:
            continue
        lost, new = (Counter(n for n in names if n.startswith(PRIVATE)) for names in (had, has))
        for name in sorted((lost - new).keys() - gone):
            yield Finding(PINS, "net table", name, f"its {kind} is gone, but a pin carries it")
        for name in sorted((new - lost).keys() - come):
            yield Finding(PINS, "net table", name, f"it has a new {kind}, but no pin got it")


def _marks(table: PinTable, seats: Mapping[int, Seat]) -> Iterator[Finding]:
    """The no-connect mark leaves a pin that gains a net and joins one that loses it."""
    before, after = table.before.pad_marks, table.after.pad_marks
    types = table.after.pad_types
    moved = {pad: seat for pin, seat in seats.items() for pad in table.pads_of(pin)}
    other = set((before != after).nonzero()[0].tolist())
    for pad in sorted(other.union(moved)):
        has, wanted = bool(after[pad]), bool(before[pad])
        if pad in moved and moved[pad].was is None:
            wanted = False
        elif pad in moved and moved[pad].is_ is None:
            wanted = types.one(pad) != b"" and (has or bool(before.any()))
        if has != wanted:
            what = "it has the no-connect mark" if has else "it has no no-connect mark"
            net = net_words(table.after.real(table.after.pad_nets.one(pad)))
            where = table.after.place(table.after.pad_at(pad))
            yield Finding(PINS, "mark", table.pad_label(pad), f"{what} and carries {net}", where)


def _spelling(table: PinTable) -> Iterator[Finding]:
    """A name is written as BEFORE writes it; a new one plainly, in quotes where all others are."""
    before, after = table.before, table.after
    if after.rows is before.rows and set(before.name_atoms()).issuperset(after.name_atoms()):
        return
    known = {*(row.said[1] for row in before.rows), *before.name_atoms()}
    written = [*(row.said[1] for row in after.rows), *after.name_atoms()]
    names = {text(raw) for raw in known}
    all_quoted = all(raw.startswith(b'"') for raw in known)
    for raw in dict.fromkeys(raw for raw in written if raw not in known):
        fresh = is_plain(raw) and (raw.startswith(b'"') or not all_quoted)
        if text(raw) in names or not fresh:
            shown = raw.decode("utf-8", "replace")
            what = f"AFTER writes {shown}, which BEFORE writes otherwise"
            yield Finding(PINS, "spelling", text(raw), what)
