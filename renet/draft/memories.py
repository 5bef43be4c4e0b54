"""Memories: bits within a byte, bytes with their strobes (facts 4.6).

A static memory gives back what was written, whatever the order of its data
pins: its bits are asked about.  A memory without address pins has its commands
come over the data bits: nothing of it may trade.  The prime bit of a byte (0, 8,
16 ...) stays first in it: write levelling of some controllers watches it alone.
Parts with a command/address bus (CA0 ...) get nothing, nor do those whose value
says that they are of that family: there the data bits carry the mode registers.
"""

from __future__ import annotations

import re

from renet.draft.evidence import Evidence
from renet.draft.pins import never
from renet.draft.records import ASKED, FREE, KEPT, Entry, Found, Line, Verdict
from renet.draft.words import pieces
from renet.model import NONE, Part

_DATA = re.compile(r"DQ([UL]?)(\d{1,2})|DQ(\d{1,2})")
_ADDRESS = re.compile(r"A\d{1,2}")
_STROBE = re.compile(r"([UL]?)DQS([UL]?)(\d?)([#_]?[NPCT+-]?)")
_MASK = re.compile(r"([UL]?)DQ?M([UL]?)(\d?)(_N)?")
_STATIC = re.compile(r"(?:I/O|IO|DQ?|Q)_?(\d{1,2})")  # common practice, no source
_ROM = re.compile(r"ROM|FLASH|(?:^|[A-Z])(27|28|29|39)[A-Z]{1,4}\d{3}", re.I)  # from memory
_COMMANDS = re.compile(r"R(D?)Y.*|VPP|BYTE|RESET|RP|INT|IRQ|NMI|M1|HALT")
BITS = 8


def memory(ev: Evidence, part: Part) -> Found:
    """Verdicts on a memory's pins, and byte lanes as units where they are known."""
    pins = ev.ordered(part)
    if _is_static(ev, part):
        return _static(ev, part)
    why = _excluded(ev, part)
    lanes = [] if why else _lanes(ev, part)
    kept = Verdict(KEPT, "memory", why or "a memory's pin outside its bytes", "the pins' names")
    if not lanes:
        return Found((), tuple((pin, never(ev, pin) or kept) for pin in pins))
    strobed = len(lanes[0]) > BITS + 1
    state = FREE if strobed else ASKED
    reason = "a bit, mask or strobe of a byte lane; its byte trades whole, its bits inside it"
    if not strobed:
        reason += ": does the controller read nothing but what it wrote?"
    mark = Verdict(state, "memory byte", reason, "the pins' names")
    prime = Verdict(
        state, "prime bit", "the prime bit of its byte stays first in it", mark.evidence
    )
    found = {pin: mark for lane in lanes for pin in lane}
    found.update({lane[0]: prime for lane in lanes})
    if len(lanes) < 2:
        found.update({pin: kept for lane in lanes for pin in (lane[0], *lane[BITS:])})
    entry = _entry(ev, part, lanes, not strobed)
    return Found((entry,), tuple((pin, found.get(pin) or never(ev, pin) or kept) for pin in pins))


def _excluded(ev: Evidence, part: Part) -> str:
    words = _words(ev, part)
    if re.search(r"LPDDR", part.value, re.I) or {"CA0", "CA1", "CA2"} <= words:
        return "low-power memories read mode registers over the data bits: none may trade"
    if not any(_ADDRESS.fullmatch(word) for word in words):
        return "it has no address pins, so commands come over its data bits: none may trade"
    return ""


def _words(ev: Evidence, part: Part) -> set[str]:
    pins = (ev.board.pins[pin] for pin in part.pins)
    return {word for pin in pins for word in pieces(pin.name, pin.number)}


def _is_static(ev: Evidence, part: Part) -> bool:
    """Whether it is written and read by WE, OE and CS alone, and is no read-only memory."""
    words = _words(ev, part)
    control = [{"WE", "W", "WR", "WE_N", "NWE"}, {"OE", "G", "RD", "OE_N", "NOE"}]
    select = {"CS", "CE", "E", "CS1", "CE1", "E1", "CS_N", "CE_N", "NCS", "NCE"}
    if _ROM.search(part.value) or any(_COMMANDS.fullmatch(word) for word in words):
        return False
    return all(words & names for names in (*control, select))


def _static(ev: Evidence, part: Part) -> Found:
    """The data bits of a static memory, byte by byte: a question."""
    bits: dict[int, list[int]] = {}
    for pin in ev.ordered(part):
        found = _STATIC.fullmatch(ev.board.pins[pin].name.strip("~{}"))
        if found and ev.signal(pin) and not never(ev, pin):
            bits.setdefault(int(found[1]) // BITS, []).append(pin)
    whole = {byte: pins for byte, pins in sorted(bits.items()) if len(pins) == BITS}
    what = "a data bit: is the memory written by nobody else than who reads it?"
    mark = Verdict(ASKED, "memory byte", what, "the pins' names")
    kept = Verdict(KEPT, "memory", "a memory's pin outside its bytes", "the pins' names")
    verdicts = {pin: mark for pins in whole.values() for pin in pins}
    entries = []
    for byte, pins in whole.items():
        title = (
            f"? {part.ref} {part.value}: may its bits {BITS * byte} to {BITS * byte + 7} trade?",
            "Yes, if all that is read from it was written over the same pins on this board.",
        )
        lines = tuple(Line(ev.board.pins[p].number, _bit(ev, p)) for p in pins)
        fields = (("part", part.ref), ("pins", lines))
        entries.append(Entry(f"pool {part.ref} byte {byte}", "pool", title, fields, asked=True))
    every = ((p, verdicts.get(p) or never(ev, p) or kept) for p in ev.ordered(part))
    return Found(tuple(entries), tuple(every))


def _bit(ev: Evidence, pin: int) -> str:
    return f"{ev.board.pins[pin].name} {ev.net(pin)}"


def _lanes(ev: Evidence, part: Part) -> list[tuple[int, ...]]:
    """Complete bytes: eight bits, then mask and strobes where the part has them for every byte."""
    bits: dict[int, dict[int, int]] = {}
    extra: dict[int, list[int]] = {}
    for pin in ev.ordered(part):
        for word in pieces(ev.board.pins[pin].name, ev.board.pins[pin].number):
            data, byte = _DATA.fullmatch(word), _byte_of(word)
            if data:
                index = int(data[2] or data[3]) + (BITS if data[1] == "U" else 0)
                bits.setdefault(index // BITS, {})[index % BITS] = pin
            elif byte is not None:
                extra.setdefault(byte, []).append(pin)
    lanes = []
    for byte, found in sorted(bits.items()):
        if len(found) < BITS:
            return []
        lanes.append((*(found[i] for i in range(BITS)), *extra.get(byte, [])))
    every = [pin for lane in lanes for pin in lane]
    whole = all(ev.board.pins[pin].net != NONE and not _held(ev, pin) for pin in every)
    alike = len({len(lane) for lane in lanes}) == 1
    return lanes if whole and alike else []


def _held(ev: Evidence, pin: int) -> bool:
    """Whether a reason keeps a pin; DM0 is a mask here, whatever it is on a USB connector."""
    verdict = never(ev, pin)
    words = pieces(ev.board.pins[pin].name, ev.board.pins[pin].number)
    mask = any(_MASK.fullmatch(word) for word in words)
    return verdict is not None and not (mask and verdict.kind.startswith("USB"))


def _byte_of(word: str) -> int | None:
    """The byte that a mask or a strobe belongs to, None for other pins."""
    for pattern in (_STROBE, _MASK):
        found = pattern.fullmatch(word)
        if found:
            letter = found[1] or found[2]
            return int(found[3]) if found[3] else {"U": 1, "L": 0, "": 0}[letter]
    return None


def _entry(ev: Evidence, part: Part, lanes: list[tuple[int, ...]], asked: bool) -> Entry:
    """One unit of all bytes; of a single byte a pool of its bits but the prime one."""
    mark = "? " if asked else ""
    if len(lanes) == 1:
        lines = tuple(Line(ev.board.pins[p].number, ev.net(p)) for p in lanes[0][1:BITS])
        one = f"{mark}{part.ref} {part.value}: the bits of its byte trade, the prime bit stays."
        pool = (("part", part.ref), ("pins", lines))
        return Entry(f"pool {part.ref} byte", "pool", (one,), pool, asked)
    title = (
        f"{mark}{part.ref} {part.value}: bytes trade whole with their masks and strobes,",
        "bits inside a byte but for the prime bit, which write levelling may watch.",
    )
    tuples = tuple(
        Line([ev.board.pin_label(p) for p in lane], f"from {ev.net(lane[0])}") for lane in lanes
    )
    fields = (("tuples", tuples), ("inner", [list(range(2, BITS + 1))]))
    return Entry(f"unit {part.ref} bytes", "unit", title, fields, asked)
