"""Connectors with a fixed pinout, by shape and net pattern (facts 4.4), and plain headers.

The far end is not on the board, so their pins stay; a plain header is asked
about, because both of its ends may be the engineer's own.
"""

from __future__ import annotations

import re
from collections.abc import Callable

from renet.draft.evidence import Evidence, prefix
from renet.draft.shape import Shape, on_both_sides, shape_of
from renet.draft.words import last_word, pieces
from renet.model import Part

_PREFIXES = frozenset({"J", "P", "CN", "CON", "EXT", "UEXT", "HDR", "PMOD", "JTAG", "SWD", "PGM"})
_NOT_CONNECTORS = frozenset(
    {"U", "IC", "Q", "D", "R", "RN", "RP", "RR", "RM", "RA", "K", "REL", "SW", "T", "TR", "F", "L"}
    | {"C", "LED", "DS", "Y", "FET", "BUT", "A", "M", "BZ", "LS"}
)
_WORDS = re.compile(
    r"conn|header|pinsocket|usb|hdmi|rj-?45|magjack|ffc|fpc|d-?sub|sd_?card|micro_?sd|_jack"
    r"|receptacle|card_?edge|screw_?terminal",
    re.IGNORECASE,
)


def is_connector(ev: Evidence, part: Part) -> bool:
    """Whether a part joins the board to something else: by reference, outline name or shape."""
    letters = prefix(part.ref)
    if on_both_sides(ev.board, part):
        return True
    if re.search("jumper", part.footprint, re.I):
        return False
    if letters in _PREFIXES or _WORDS.search(part.footprint):
        return letters not in {"U", "IC"} or bool(re.search(r"conn", part.footprint, re.I))
    return (
        letters not in _NOT_CONNECTORS and len(part.pins) >= 4 and shape_of(ev.board, part).header
    )


def standard(ev: Evidence, part: Part) -> str:
    """The standard connector that a part is, "" for a plain one."""
    shape = shape_of(ev.board, part)
    said = _said(ev, part)
    for name, test in _TESTS:
        if test(part, said, shape):
            return name
    return ""


Said = dict[str, str]


def _said(ev: Evidence, part: Part) -> Said:
    """What is known of each pad number: net and pin name in one string."""
    found = {}
    for pin in part.pins:
        entry = ev.board.pins[pin]
        words = (*pieces(entry.name, entry.number), last_word(ev.net(pin)))
        mark = " GND" if entry.net in ev.supply and "GND" in last_word(ev.net(pin)) else ""
        found[entry.number.upper()] = " ".join(words) + mark
    return found


def _count(said: Said, words: str) -> int:
    pattern = re.compile(words)
    return sum(1 for text in said.values() if pattern.search(text))


def _has(said: Said, pattern: dict[str, str]) -> bool:
    return all(re.search(words, said.get(number, "")) for number, words in pattern.items())


def _usb_c(part: Part, said: Said, shape: Shape) -> bool:
    whole = {"A1", "A12", "B1", "B12"} <= said.keys() and _has(said, {"A4": "VBUS|5V"})
    lettered = len(said) <= 28 and (whole or _has(said, {"A5": "CC", "B5": "CC"}))
    return lettered or "USB_C" in part.footprint.upper()


def _usb(part: Part, said: Said, shape: Shape) -> bool:
    named = "USB" in f"{part.footprint} {part.ref} {part.value}".upper()
    data = _count(said, r"\bD\+|\bD-|USB\w*D") >= 2 and _count(said, "VBUS") >= 1
    return named or (data and len(said) <= 20)


_NETWORK = r"(?<![A-Z0-9])(T[XD]?[+-]|R[XD]?[+-]|TX_?[PN]|RX_?[PN]|ETH\w*_[PN]|MDI\w*[+\-PN])"


def _rj45(part: Part, said: Said, shape: Shape) -> bool:
    named = re.search(r"RJ-?45|MAGJACK|ETHERNET", f"{part.footprint} {part.value}", re.I)
    pairs = _count(said, _NETWORK)
    return bool(named) or (8 <= len(said) <= 20 and pairs >= 4 and not shape.header)


def _sd(part: Part, said: Said, shape: Shape) -> bool:
    data = _count(said, r"DAT(A)?_?[0-3]") >= 2
    return (
        8 <= len(said) <= 16 and data and _count(said, r"CMD|MOSI") >= 1 and not shape.header
    ) or bool(re.search(r"micro_?sd|sd_?card", f"{part.footprint} {part.value}", re.I))


def _debug(part: Part, said: Said, shape: Shape) -> bool:
    if re.search(r"JTAG|SWD(?![A-Z])", f"{part.footprint} {part.ref} {part.value}", re.I):
        return True
    words = r"SWDIO|SWCLK|SWDCLK|\bSWD\b|SWO|TMS|TCK|TDI|TDO|UPDI|JTAG"
    few = _count(said, words) >= 2 and len(said) <= 20  # a longer header has them among others
    return few or (len(said) <= 6 and _count(said, words) >= 1)


def _sbc(part: Part, said: Said, shape: Shape) -> bool:
    grounds = ("6", "9", "14", "20", "25", "30", "34", "39")
    ground = sum("GND" in said.get(number, "") for number in grounds)
    power = sum(bool(re.search("5V", said.get(n, ""))) for n in ("2", "4"))
    return len(said) == 40 and len(shape.rows) == 2 and shape.header and ground >= 6 and power > 0


def _hdmi(part: Part, said: Said, shape: Shape) -> bool:
    named = "HDMI" in f"{part.footprint} {part.value}".upper()
    lanes = _count(said, r"(?<![A-Z0-9])(D[012]|CK|CLK|TMDS\w*)_?[+\-PN](?![A-Z0-9])")
    return named or (19 <= len(said) <= 24 and lanes >= 6 and not shape.header)


def _edge(part: Part, said: Said, shape: Shape) -> bool:
    text = f"{part.footprint} {part.value}"
    named = re.search(r"\bM\.?2\b|M2_|_M2|PCIE?|CARD_?EDGE|EDGE_?CARD|DIMM", text, re.I)
    return len(said) >= 8 and (bool(named) or shape.both_sides or _keyed(said))


def _keyed(said: Said) -> bool:
    """Whether the numbers are those of 75 places of which a key takes eight in a row (M.2)."""
    numbers = {int(number) for number in said if number.isdecimal() and len(number) < 4}
    inside = numbers & set(range(1, 76))
    missing = set(range(1, 76)) - inside
    keys = [k for k in range(2, 68) if set(range(k, k + 8)) <= missing]
    return len(inside) >= 59 and max(numbers) <= 79 and any(k + 7 < max(inside) for k in keys)


def _plug(part: Part, said: Said, shape: Shape) -> bool:
    return bool(re.search(r"jack|barrel|coax|\bBNC|\bSMA\b|RCA", part.footprint, re.I))


def _monitor(part: Part, said: Said, shape: Shape) -> bool:
    return bool(re.search(r"D-?SUB|VGA|DB-?9|DB-?15", f"{part.footprint} {part.ref}", re.I))


_TESTS: tuple[tuple[str, Callable[[Part, Said, Shape], bool]], ...] = (
    ("a USB-C connector", _usb_c),
    ("a USB connector", _usb),
    ("an HDMI connector", _hdmi),
    ("a network connector", _rj45),
    ("a memory card socket", _sd),
    ("a debug connector", _debug),
    ("a 40-pin single-board-computer header", _sbc),
    ("a card-edge or module connector", _edge),
    ("a D-sub connector", _monitor),
    ("a jack or a coaxial socket", _plug),
)
