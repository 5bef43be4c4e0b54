"""From evidence to a draft: one verdict for every pin, entries in a fixed order."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from renet.columns import natural
from renet.draft import buses, kinds
from renet.draft.arrays import array
from renet.draft.evidence import Evidence, prefix
from renet.draft.lanes import orders
from renet.draft.memories import memory
from renet.draft.pins import never
from renet.draft.pools import in_doubt, programmable
from renet.draft.records import KEPT, Entry, Found, Verdict
from renet.draft.sections import sections
from renet.draft.sockets import connector
from renet.draft.words import bus_word, pieces
from renet.model import Part

_PROTECTION = frozenset({"D", "TVS", "ESD", "DA", "FL", "RV"})


@dataclass(frozen=True, slots=True)
class Draft:
    """``verdicts`` is by pin id, all pins; ``kinds`` by part id; ``entries`` in file order."""

    evidence: Evidence
    kinds: dict[int, str]
    verdicts: dict[int, Verdict]
    entries: tuple[Entry, ...]

    def count(self) -> Counter[str]:
        """How many pins are free, asked and kept."""
        return Counter(verdict.state for verdict in self.verdicts.values())


def draft_rules(ev: Evidence) -> Draft:
    """Judge every pin of the board; parts in natural order of their references."""
    board = ev.board
    found = {index: kinds.kind_of(ev, part) for index, part in enumerate(board.parts)}
    verdicts: dict[int, Verdict] = {}
    entries: list[Entry] = []
    repeated = Counter(part.ref for part in board.parts)
    order = sorted(found, key=lambda index: (natural(board.parts[index].ref), index))
    for index in order:
        part = board.parts[index]
        alone = repeated[part.ref] == 1 and part.ref and ":" not in part.ref
        result = None if alone else _nothing(ev, part, "fault")
        result = result or _part(ev, index, found)
        verdicts.update(result.verdicts)
        entries += result.entries
        if result.entries and found[index] in (kinds.LOGIC, kinds.CONTROLLER):
            entries += _together(ev, part, found[index], verdicts)
    return Draft(ev, found, verdicts, tuple(entries))


def _together(ev: Evidence, part: Part, kind: str, verdicts: dict[int, Verdict]) -> list[Entry]:
    """Pairs, buses and peripherals of a programmable part."""
    own = buses.peripherals(ev, part, verdicts) if kind == kinds.CONTROLLER else []
    return own + buses.pairs(ev, part, verdicts) + orders(ev, part, verdicts)


def _part(ev: Evidence, index: int, found: dict[int, str]) -> Found:
    part, kind = ev.board.parts[index], found[index]
    if kind in (kinds.LOGIC, kinds.CONTROLLER):
        return programmable(ev, index, found)
    if kind in (kinds.UNKNOWN, kinds.MODULE):
        return in_doubt(ev, part, kind)
    if kind == kinds.CONNECTOR:
        return connector(ev, part)
    if kind == kinds.ARRAY:
        return array(ev, part)
    if kind in (kinds.GATES, kinds.AMPLIFIER):
        return sections(ev, part)
    if kind == kinds.MEMORY:
        return memory(ev, part)
    return _nothing(ev, part, kind)


def _talks(ev: Evidence, part: Part) -> bool:
    """Whether a part has pins of a serial bus, as lights with a controller inside have."""
    pins = (ev.board.pins[pin] for pin in part.pins)
    return any(bus_word(word) for pin in pins for word in pieces(pin.name, pin.number))


def _nothing(ev: Evidence, part: Part, kind: str) -> Found:
    """A part none of whose pins is traded."""
    why, name = "its functions are fixed", "fixed function"
    if kind == "fault":
        why, name = "its part has no reference that rules can name", "fault"
    elif kind == kinds.CRYSTAL:
        why, name = "a crystal or an oscillator", "oscillator"
    elif prefix(part.ref) in _PROTECTION and len(part.pins) > 2 and not _talks(ev, part):
        why, name = "keeps the order connector, suppressor, circuit", "protection"
    elif kind == kinds.SMALL:
        why, name = "a part with two pins has nothing to trade", "two pins"
    kept = Verdict(KEPT, name, why, "the part")
    return Found((), tuple((pin, never(ev, pin) or kept) for pin in ev.ordered(part)))
