"""Multi-gate logic and multi-section amplifiers: sections trade whole, like inputs trade inside.

The pin tables are from memory (facts 4.8); a table is used only where the part's
supply pins are where the table has them.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from renet.draft.evidence import Evidence
from renet.draft.kinds import amplifier_type, gate_type
from renet.draft.pins import never
from renet.draft.records import ASKED, FREE, KEPT, Entry, Found, Line, Verdict
from renet.model import NONE, Part

Rows = tuple[tuple[int, ...], ...]


class Table(NamedTuple):
    """Groups of sections by pin number, the positions (from 1) that may trade, the supply pins."""

    groups: tuple[Rows, ...]
    inner: tuple[tuple[int, ...], ...]
    supplies: tuple[int, ...]
    pins: int
    what: str


_TWO_IN = ((1, 2, 3), (4, 5, 6), (9, 10, 8), (12, 13, 11))
_OUT_FIRST = ((2, 3, 1), (5, 6, 4), (8, 9, 10), (11, 12, 13))
_INVERTERS = ((1, 2), (3, 4), (5, 6), (9, 8), (11, 10), (13, 12))
_EDGES = tuple((i, 21 - i - 1) for i in range(2, 10))  # D/Q or A/B facing each other: (2, 18) ...
_THROUGH = tuple((i, 21 - i) for i in range(2, 10))  # (2, 19), (3, 18) ...

_GATES = {
    "00": Table((_TWO_IN,), ((1, 2),), (14, 7), 14, "gates"),
    "02": Table((_OUT_FIRST,), ((1, 2),), (14, 7), 14, "gates"),
    "04": Table((_INVERTERS,), (), (14, 7), 14, "inverters"),
    "08": Table((_TWO_IN,), ((1, 2),), (14, 7), 14, "gates"),
    "14": Table((_INVERTERS,), (), (14, 7), 14, "inverters"),
    "32": Table((_TWO_IN,), ((1, 2),), (14, 7), 14, "gates"),
    "86": Table((_TWO_IN,), ((1, 2),), (14, 7), 14, "gates"),
    "244": Table(
        (
            ((2, 18), (4, 16), (6, 14), (8, 12)),
            ((11, 9), (13, 7), (15, 5), (17, 3)),
        ),
        (),
        (20, 10),
        20,
        "buffers of one enable",
    ),
    "245": Table((_EDGES,), (), (20, 10), 20, "channels"),
    "573": Table((_THROUGH,), (), (20, 10), 20, "latches of one enable"),
    "574": Table((_THROUGH,), (), (20, 10), 20, "flip-flops of one clock"),
    "374": Table(
        (((3, 2), (4, 5), (7, 6), (8, 9), (13, 12), (14, 15), (17, 16), (18, 19)),),
        (),
        (20, 10),
        20,
        "flip-flops of one clock",
    ),
}
_FORMS = (
    ((("A{}", "B{}", "Y{}"), ("{}A", "{}B", "{}Y")), "gates"),
    (
        (("IN{}+", "IN{}-", "OUT{}"), ("{}IN+", "{}IN-", "{}OUT"), ("{}+", "{}-", "OUT{}")),
        "amplifiers",
    ),
)
_DUAL = Table((((3, 2, 1), (5, 6, 7)),), (), (8, 4), 8, "amplifiers")
_QUAD = Table((((3, 2, 1), (5, 6, 7), (10, 9, 8), (12, 13, 14)),), (), (4, 11), 14, "amplifiers")


def table_of(part: Part) -> Table | None:
    """The pin table of a part, by its type number."""
    gate = gate_type(part)
    if gate:
        return _GATES.get(gate)
    digits = amplifier_type(part)
    if not digits:
        return None
    return _QUAD if digits in ("324", "2902", "074", "084") else _DUAL


def sections(ev: Evidence, part: Part) -> Found:
    """Units of a part's sections; all of it kept where no table fits."""
    table = table_of(part) or _named_table(ev, part)
    by_number = {ev.board.pins[pin].number: pin for pin in part.pins}
    why = "no pin table for this type"
    if table:
        why = _misfit(ev, by_number, table)
    pins = ev.ordered(part)
    if table is None or why:
        kept = Verdict(KEPT, "no pin table", why, "the part's value")
        return Found((), tuple((pin, never(ev, pin) or kept) for pin in pins))
    verdicts: dict[int, Verdict] = {}
    entries: list[Entry] = []
    for number, group in enumerate(table.groups, start=1):
        tuples = [tuple(by_number[str(n)] for n in row) for row in group]
        entries += _unit(ev, part, table, (number, tuples), verdicts)
    fixed = Verdict(KEPT, "control pin", f"belongs to no section of {part.ref}", "the pin table")
    return Found(tuple(entries), tuple((p, verdicts.get(p) or never(ev, p) or fixed) for p in pins))


def _named_table(ev: Evidence, part: Part) -> Table | None:
    """The sections that pin names tell of: A1 B1 Y1, IN_A+ IN_A- OUT_A; None where they do not."""
    by_name: dict[str, int] = {}
    for pin in part.pins:
        entry = ev.board.pins[pin]
        if entry.number.isdecimal() and len(entry.number) < 10:
            by_name.setdefault(re.sub(r"[^\w+-]|_", "", entry.name.upper()), int(entry.number))
    for forms, what in _FORMS:
        for form in forms:
            rows = [tuple(by_name.get(f.format(i), 0) for f in form) for i in "1234ABCD"]
            whole = tuple(row for row in rows if all(row))
            if len(whole) >= 2:
                inner = ((1, 2),) if what == "gates" else ()
                return Table((whole,), inner, (), 0, f"{what} by their pin names")
    return None


def _misfit(ev: Evidence, by_number: dict[str, int], table: Table) -> str:
    """Why the table does not fit the part on the board, "" where it does."""
    if not {str(n) for n in range(1, table.pins + 1)} <= by_number.keys():
        return f"its table has {table.pins} pins, the part has others"
    for number in table.supplies:
        if ev.board.pins[by_number[str(number)]].net not in ev.supply:
            return f"its table has a supply at pin {number}, the board has none there"
    return ""


def _unit(
    ev: Evidence,
    part: Part,
    table: Table,
    group: tuple[int, list[tuple[int, ...]]],
    verdicts: dict[int, Verdict],
) -> list[Entry]:
    number, tuples = group
    free = [row for row in tuples if not any(never(ev, pin) for pin in row)]
    used = [row for row in free if any(ev.board.pins[pin].net != NONE for pin in row)]
    rest = [row for row in tuples if row not in free]
    for row in rest:
        _keep_row(ev, row, verdicts)
    if len(free) < 2 or not used:
        alone = Verdict(KEPT, "alone", "no other section to trade with", "the pin table")
        verdicts.update({pin: alone for row in free for pin in row})
        return []
    analog = table.what.startswith("amplifiers")
    asked = analog or not table.supplies
    why = f"in one of several like {table.what}"
    state = ASKED if asked else FREE
    if analog:
        why += ": are they of equal precision, and neither matched nor paired thermally?"
    elif asked:
        why += ": are they all alike, and the inputs of one equal?"
    source = "the pin table, from memory" if table.supplies else "the pins' names"
    mark = Verdict(state, "section", why, source)
    verdicts.update({pin: mark for row in free for pin in row})
    title = [f"{part.ref} {part.value}: {table.what} of one package trade whole."]
    if asked:
        title = [f"? {part.ref} {part.value}: may its {table.what} trade whole, each as good?"]
    lines = tuple(
        Line([ev.board.pin_label(p) for p in row], ", ".join(ev.net(p) or "open" for p in row))
        for row in free
    )
    fields: tuple[tuple[str, object], ...] = (("tuples", lines),)
    if table.inner:
        fields += (("inner", [list(places) for places in table.inner]),)
        title.append("The inputs of one gate are equal.")
    return [Entry(f"unit {part.ref} {number}", "unit", tuple(title), fields, asked)]


def _keep_row(ev: Evidence, row: tuple[int, ...], verdicts: dict[int, Verdict]) -> None:
    """A section of which one pin is kept stays whole."""
    reasons = {pin: never(ev, pin) for pin in row}
    held = next(pin for pin in row if reasons[pin])
    why = f"its section stays, because {ev.board.pin_label(held)} does"
    stays = Verdict(KEPT, "section kept", why, "the pin table")
    verdicts.update({pin: reasons[pin] or stays for pin in row})
