"""Resistor arrays: which pins are the two ends of an element, and which of them may trade.

Told by pin names (``R1.1`` and ``R1.2``), or by shape: in a package with two
rows, element i of N is (i, 2N+1-i), its ends facing each other (facts 4.8, from
memory).  What neither tells is asked.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence

from renet.columns import natural
from renet.draft.buses import couples
from renet.draft.evidence import Evidence
from renet.draft.pins import never
from renet.draft.records import ASKED, FREE, KEPT, Entry, Found, Line, Verdict
from renet.draft.shape import shape_of
from renet.model import NONE, Part

_NAMED = re.compile(r"R?(\d{1,2})[._]([12])", re.IGNORECASE)
_COMMON = re.compile(r"COM(MON)?", re.IGNORECASE)
Pair = tuple[int, int]


def array(ev: Evidence, part: Part) -> Found:
    """Elements as units, pull-ups of one supply as a pool, everything else kept or asked."""
    pins = ev.ordered(part)
    common = [p for p in pins if _COMMON.fullmatch(ev.board.pins[p].name)]
    if len(common) == 1:
        return _bussed(ev, part, pins, common[0])
    elements = _by_name(ev, pins) or _by_shape(ev, part, pins)
    if not elements:
        return _unknown(ev, part, pins)
    verdicts = _verdicts(ev, part, elements)
    entries = _signal_elements(ev, part, elements, verdicts) + _pulls(ev, part, elements, verdicts)
    left = Verdict(KEPT, "alone", "no other element like it to trade with", "the element's nets")
    found = {pin: verdicts.get(pin) or never(ev, pin) or left for pin in pins}
    return Found(tuple(entries), tuple(found.items()))


def _by_name(ev: Evidence, pins: list[int]) -> list[Pair]:
    ends: dict[str, dict[str, int]] = {}
    for pin in pins:
        found = _NAMED.fullmatch(ev.board.pins[pin].name)
        if not found:
            return []
        ends.setdefault(found[1], {})[found[2]] = pin
    if any(len(pair) != 2 for pair in ends.values()):
        return []
    return [(pair["1"], pair["2"]) for _, pair in sorted(ends.items(), key=lambda e: int(e[0]))]


def _by_shape(ev: Evidence, part: Part, pins: list[int]) -> list[Pair]:
    """Elements of a two-row package whose numbers run round it as usual."""
    rows = shape_of(ev.board, part).rows
    numbers = [ev.board.pins[pin].number for pin in pins]
    if len(rows) != 2 or len(rows[0]) != len(rows[1]):
        return []
    if numbers != [str(i) for i in range(1, len(pins) + 1)]:
        return []
    facing = {frozenset(pair) for pair in zip(*rows, strict=True)}
    elements = [(pins[i], pins[-1 - i]) for i in range(len(pins) // 2)]
    return elements if {frozenset(pair) for pair in elements} == facing else []


def _verdicts(ev: Evidence, part: Part, elements: list[Pair]) -> dict[int, Verdict]:
    """Pins of elements that a reason keeps, with both ends of such an element."""
    found: dict[int, Verdict] = {}
    for pair in elements:
        for pin in pair:
            verdict = never(ev, pin)
            if verdict is None and ev.board.pins[pin].net == NONE and _other_tied(ev, pair, pin):
                verdict = Verdict(KEPT, "open", "its element is tied off", "the element's nets")
            if verdict:
                found[pin] = verdict
    return found


def _other_tied(ev: Evidence, pair: Pair, pin: int) -> bool:
    other = pair[1] if pair[0] == pin else pair[0]
    return ev.board.pins[other].net in ev.supply


def _signal_elements(
    ev: Evidence, part: Part, elements: list[Pair], verdicts: dict[int, Verdict]
) -> list[Entry]:
    free = [pair for pair in elements if not verdicts.keys() & set(pair)]
    used = [pair for pair in free if any(ev.board.pins[p].net != NONE for p in pair)]
    if len(free) < 2 or not used:
        _keep_alone([pair for pair in elements if not verdicts.keys() & set(pair)], verdicts)
        return []
    for pair in free:
        for pin in pair:
            why = "one end of an element that has equals"
            verdicts[pin] = Verdict(FREE, "array element", why, "pin names or package shape")
    coupled = _coupled(ev, free)
    single = [pair for pair in free if not any(set(pair) <= set(row) for row in coupled)]
    entries = []
    if len(coupled) > 1:
        title = f"{part.ref} {part.value}: pairs of elements that carry a pair of nets, P first."
        entries.append(_unit(ev, f"unit {part.ref} pairs", title, coupled))
    else:
        _keep_alone(coupled, verdicts)
    if len(single) > 1:
        title = f"{part.ref} {part.value}: isolated elements, all alike; each may be turned round."
        entry = _unit(ev, f"unit {part.ref}", title, single)
        entries.append(entry._replace(fields=(*entry.fields, ("reversible", True))))
    else:
        _keep_alone(single, verdicts)
    return entries


def _unit(ev: Evidence, key: str, title: str, rows: Sequence[Sequence[int]]) -> Entry:
    lines = tuple(
        Line([ev.board.pin_label(p) for p in row], " - ".join(ev.net(p) or "open" for p in row))
        for row in rows
    )
    return Entry(key, "unit", (title,), (("tuples", lines),))


def _keep_alone(rows: Iterable[Iterable[int]], verdicts: dict[int, Verdict]) -> None:
    why = "no other element like it to trade with"
    alone = Verdict(KEPT, "alone", why, "the element's nets")
    verdicts.update({pin: alone for row in rows for pin in row})


def _coupled(ev: Evidence, elements: list[Pair]) -> list[tuple[int, int, int, int]]:
    """Two elements each whose nets are a pair by their suffixes, at the one end or the other."""
    at = {ev.net(pin): pair for pair in elements for pin in pair if ev.net(pin)}
    found: list[tuple[int, int, int, int]] = []
    for positive, negative in couples(at):
        a, b = at[positive], at[negative]
        if a != b and not {*a, *b} & {pin for row in found for pin in row}:
            found.append((*a, *b))
    return sorted(found)


def _pulls(
    ev: Evidence, part: Part, elements: list[Pair], verdicts: dict[int, Verdict]
) -> list[Entry]:
    """Signal ends of elements whose other ends share a supply trade among themselves."""
    ends: dict[int, list[int]] = {}
    for a, b in elements:
        for pin, other in ((a, b), (b, a)):
            tied = ev.board.pins[other].net
            if tied in ev.supply and pin not in verdicts and ev.signal(pin):
                ends.setdefault(tied, []).append(pin)
    entries = []
    for tied, pins in sorted(ends.items(), key=lambda item: ev.board.nets[item[0]]):
        net = ev.board.nets[tied]
        if len(pins) < 2:
            continue
        pins.sort(key=lambda pin: natural(ev.board.pins[pin].number))
        for pin in pins:
            why = f"one of several elements whose other end is on {net}"
            verdicts[pin] = Verdict(FREE, "pull element", why, "pin names or package shape")
        entries.append(_pool(ev, part, f"elements to {net}: their other ends trade.", pins, net))
    return entries


def _pool(ev: Evidence, part: Part, what: str, pins: list[int], key: str) -> Entry:
    lines = tuple(Line(ev.board.pins[pin].number, ev.net(pin) or "open") for pin in pins)
    title = (f"{part.ref} {part.value}: {what}",)
    return Entry(f"pool {part.ref} {key}", "pool", title, (("part", part.ref), ("pins", lines)))


def _bussed(ev: Evidence, part: Part, pins: list[int], common: int) -> Found:
    """A bussed array: the common pin stays, the others trade."""
    why = "the common pin of a bussed array"
    found = {common: Verdict(KEPT, "common pin", why, "the pin's name")}
    for pin in pins:
        reason = never(ev, pin)
        if pin != common and reason:
            found[pin] = reason
    free = [pin for pin in pins if pin not in found]
    if len(free) < 2 or not any(ev.signal(pin) for pin in free):
        alone = Verdict(KEPT, "alone", "no other element to trade with", "the array's nets")
        return Found((), tuple((pin, found.get(pin, alone)) for pin in pins))
    for pin in free:
        why = "one of the like ends of a bussed array"
        found[pin] = Verdict(FREE, "bussed element", why, "the pins' names")
    entry = _pool(ev, part, "bussed; the common pin stays, the others trade.", free, "bussed")
    return Found((entry,), tuple((pin, found[pin]) for pin in pins))


def _unknown(ev: Evidence, part: Part, pins: list[int]) -> Found:
    """An array whose inside is not told: a question, with what would hold if isolated."""
    question = "isolated or bussed? Neither names nor shape tell its elements"
    asked = Verdict(ASKED, "array unknown", f"{part.ref}: {question}", "part shape")
    found = {pin: never(ev, pin) or asked for pin in pins}
    nets = Counter(ev.board.pins[pin].net for pin in pins)
    free = [pin for pin in pins if found[pin] is asked and nets[ev.board.pins[pin].net] == 1]
    left = Verdict(KEPT, "array unknown", "open, or perhaps the common pin", "the array's nets")
    found.update({pin: left for pin in pins if found[pin] is asked and pin not in free})
    title = (f"? {part.ref} {part.value}: {question}.", "If bussed, these ends may trade:")
    lines = tuple(Line(ev.board.pins[pin].number, ev.net(pin)) for pin in free)
    fields = (("part", part.ref), ("pins", lines))
    if len(free) < 2:
        kept = Verdict(KEPT, "array unknown", f"{part.ref}: {question}", "part shape")
        return Found((), tuple((p, kept if v is asked else v) for p, v in found.items()))
    entry = Entry(f"pool {part.ref}", "pool", title, fields, asked=True)
    return Found((entry,), tuple(found.items()))
