"""Nets that belong together: pairs by suffix, peripherals by function."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from renet.columns import natural
from renet.draft.evidence import Evidence
from renet.draft.functions import Function, known_functions, named_functions, wanted
from renet.draft.records import FREE, KEPT, Entry, Line, Verdict
from renet.draft.words import PRIVATE
from renet.freedom.spots import Spots
from renet.model import Part

_SUFFIXES = (("_P", "_N"), ("_p", "_n"), ("+", "-"), ("_DP", "_DN"), ("_H", "_L"), ("P", "N"))
_SITE = re.compile(r"(.*\d)([AaPp])(\D.*|$)")
_SITE_MATE = {"A": "B", "a": "b", "P": "N", "p": "n"}
Verdicts = dict[int, Verdict]


def seats(ev: Evidence, part: Part, verdicts: Mapping[int, Verdict]) -> dict[str, int]:
    """Net name -> its only pin on a part, for named nets whose pins are not kept."""
    return {
        net: pin
        for net, pin in _single(ev, part).items()
        if pin in verdicts and verdicts[pin].state != KEPT and not PRIVATE.match(net)
    }


def _single(ev: Evidence, part: Part) -> dict[str, int]:
    """Net name -> its only pin on a part, supplies aside."""
    found: dict[str, list[int]] = {}
    for pin in part.pins:
        if ev.signal(pin):
            found.setdefault(ev.net(pin), []).append(pin)
    return {net: pins[0] for net, pins in found.items() if len(pins) == 1}


def pairs(ev: Evidence, part: Part, verdicts: Verdicts) -> list[Entry]:
    """Differential pairs of a programmable part: they move as pairs, polarity kept."""
    on = seats(ev, part, verdicts)
    sites = _pair_sites(ev, part, verdicts)
    neighbours = Spots(ev.board, [_index(ev, part)]).neighbours
    entries = []
    for positive, negative in couples(on):
        a, b = on[positive], on[negative]
        if not {verdicts[a].state, verdicts[b].state} & {FREE}:
            continue
        if (a, b) not in sites and b not in neighbours[a]:
            continue  # they do not stand as a pair: nothing says that they are one
        title = (f"{part.ref}: {positive} and {negative} are a pair by their suffixes.",)
        fields: tuple[tuple[str, object], ...] = (
            ("nets", [positive, negative]),
            ("part", part.ref),
        )
        if (a, b) in sites:
            numbers = [[ev.board.pins[p].number for p in site] for site in sites]
            fields += (("sites", tuple(Line(site) for site in numbers)),)
        entries.append(Entry(f"pair {part.ref} {positive}", "pair", title, fields))
    return entries


def _index(ev: Evidence, part: Part) -> int:
    return ev.board.pins[part.pins[0]].part


def couples(nets: Iterable[str]) -> list[tuple[str, str]]:
    """(P, N) net names; each net in one couple at most."""
    known = set(nets)
    taken: set[str] = set()
    found = []
    for plus, minus in _SUFFIXES:
        for net in sorted(known, key=lambda name: (natural(name), name)):
            mate = net[: -len(plus)] + minus
            if net.endswith(plus) and len(net) > len(plus) + 1 and mate in known:
                if plus == "P" and not net[-2].isdigit():
                    continue
                if not {net, mate} & taken:
                    taken |= {net, mate}
                    found.append((net, mate))
    return found


def _pair_sites(ev: Evidence, part: Part, verdicts: Verdicts) -> list[tuple[int, int]]:
    """Pins of programmable logic whose names differ in A/B or P/N only, P first."""
    by_name: dict[str, int] = {}
    for pin in part.pins:
        head = re.split(r"[/_]", ev.board.pins[pin].name.replace("IO_", "IO"))[:2]
        by_name.setdefault("_".join(head[: 2 if head[0][:2] == "IO" else 1]), pin)
    found = []
    for name, pin in by_name.items():
        site = _SITE.fullmatch(name)
        if site:
            mate = by_name.get(f"{site[1]}{_SITE_MATE[site[2]]}{site[3]}")
            if mate is not None and KEPT not in (verdicts[pin].state, verdicts[mate].state):
                found.append((pin, mate))
    return sorted(found, key=lambda pair: natural(ev.board.pins[pair[0]].number))


def peripherals(ev: Evidence, part: Part, verdicts: Verdicts) -> list[Entry]:
    """Offers, needs and peripherals of a controller whose functions are known.

    Nets on kept pins are among them: nobody else may have what they use.
    """
    on = _single(ev, part)
    using = {net: wanted(ev, pin)[0] for net, pin in on.items()}
    using = {net: need for net, need in using.items() if need}
    if not any(verdicts[on[net]].state == FREE for net in using):
        return []
    entries = _offers(ev, part, verdicts, {on[net] for net in using})
    grouped: set[str] = set()
    for _, nets in sorted(_groups(using).items()):
        nets.sort(key=lambda name: (natural(name), name))
        entry = _peripheral(ev, part, nets, using)
        if entry:
            grouped.update(nets)
            entries.append(entry)
    entries += [_needs(part, net, using[net]) for net in sorted(using) if net not in grouped]
    return entries


def _groups(using: dict[str, tuple[Function, ...]]) -> dict[tuple[str, str], list[str]]:
    """Nets of one remapped device, whatever they are called; else of one kind and stem."""
    found: dict[tuple[str, str], list[str]] = {}
    for net, need in using.items():
        devices = {f.device for f in need}
        remapped = len(devices) == 1 and all(f.remapped for f in need)
        found.setdefault((need[0].kind, need[0].device if remapped else _stem(net)), []).append(net)
    return found


def _stem(net: str) -> str:
    """What is left of a net's name without its last word: the instance it belongs to."""
    return re.split(r"[_.\-](?=[^_.\-]*$)", net)[0]


def _peripheral(
    ev: Evidence, part: Part, nets: list[str], using: dict[str, tuple[Function, ...]]
) -> Entry | None:
    """One record for the nets of one instance; None where they are not of one."""
    shared = set.intersection(*({f.instance for f in using[net]} for net in nets))
    if len(nets) < 2 or not shared:
        return None
    now = min(shared, key=natural)
    signals = [next(f.signal for f in using[net] if f.instance == now) for net in nets]
    if len(set(signals)) != len(signals):
        return None
    kind = using[nets[0]][0].kind
    offered = [f for pin in part.pins for f in known_functions(ev, pin) if f.kind == kind]
    have: dict[str, set[str]] = {}
    for function in offered:
        have.setdefault(function.instance, set()).add(function.signal)
    instances = sorted((i for i, s in have.items() if set(signals) <= s), key=natural)
    title = [f"{part.ref}: {', '.join(nets)} are signals of one {kind}, now {now}."]
    if "@" in "".join(instances):
        title.append("A remap group, INSTANCE@MAPPING, stays whole, its instance to itself.")
    elif any(_elsewhere(offered, name, signal) for name in instances for signal in signals):
        title.append("If its signals only move as a set: a table with the column mapping says so.")
    fields = (("nets", nets), ("signals", signals), ("instances", instances), ("part", part.ref))
    return Entry(f"peripheral {part.ref} {nets[0]}", "peripheral", tuple(title), fields)


def _elsewhere(offered: list[Function], instance: str, signal: str) -> bool:
    """Whether one signal of an instance stands on several pins."""
    return sum((f.instance, f.signal) == (instance, signal) for f in offered) > 1


def _needs(part: Part, net: str, need: tuple[Function, ...]) -> Entry:
    words = sorted({f"{f.kind}*_{f.signal}" for f in need})
    title = (f"{part.ref}: {net} is on {' or '.join(f.name for f in need)}.",)
    fields = (("nets", [net]), ("functions", words), ("part", part.ref))
    return Entry(f"needs {part.ref} {net}", "needs", title, fields)


def _offers(ev: Evidence, part: Part, verdicts: Verdicts, using: set[int]) -> list[Entry]:
    """What the schematic or a table says that pins can do; a name's own pieces need no record.

    Of kept pins those are written that are in use: what they use is taken.
    """
    entries = []
    for pin in ev.ordered(part):
        words = ev.functions.get(pin, ())
        if ev.chosen.get(pin) and ev.chosen[pin] not in words and pin not in ev.complete:
            words = (*words, ev.chosen[pin])
        if not words or (verdicts[pin].state == KEPT and pin not in using):
            continue
        entry = ev.board.pins[pin]
        said = ev.function_source.get(pin, "the schematic")
        title = [f"{part.ref}:{entry.number} {entry.name}: by {said}."]
        fields: tuple[tuple[str, object], ...] = (
            ("part", part.ref),
            ("pins", [entry.number]),
            ("functions", list(words)),
        )
        gone = [f.name for f in named_functions(ev, pin) if f.name not in words]
        if pin in ev.complete and gone:
            fields += (("only", True),)
            title.append(f"So of its name, {', '.join(gone)} does not count.")
        entries.append(Entry(f"offers {part.ref} {entry.number}", "offers", tuple(title), fields))
    return entries
