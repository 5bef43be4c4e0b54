"""Supply domains of a programmable part: which bank a pin is in, and what feeds the bank.

Pins trade only where the same net feeds them (facts 4.5).  A bank is told by the
number in the names of its supply pins and in the names of its signal pins.
"""

from __future__ import annotations

import re
from typing import NamedTuple

from renet.draft.evidence import Evidence
from renet.draft.words import pieces
from renet.model import NONE, Part

_SUPPLY = re.compile(r"(?:[A-Z]*_)?V_?(?:CC|DD)_?P?IO_?B?_?(\d{1,3})(?:\[\d+\]|_[A-Z]?\d+)?")
_SUPPLY_O = re.compile(r"VCCO_(\d{1,3})(?:\[\d+\]|_\d+)?")
_SIGNAL = tuple(
    re.compile(words)
    for words in (
        r"IO_L\d{1,2}[PN]\w*?_(\d{1,3})",
        r"IO_\d{1,2}_(\d{1,3})",
        r"P?IO(\d)_\w+",
        r"\w*BANK_?(\d{1,3})\w*",
    )
)


class Banks(NamedTuple):
    """``of``: pin id -> name of its supply domain, "" where it is not known.

    ``several``: whether the banks are fed by different nets, so that it matters.
    """

    of: dict[int, str]
    several: bool


def banks_of(ev: Evidence, part: Part) -> Banks:
    """The supply domains of a part's pins."""
    feeds: dict[str, set[int]] = {}
    for pin in part.pins:
        entry = ev.board.pins[pin]
        for piece in pieces(entry.name):
            found = _SUPPLY.fullmatch(piece) or _SUPPLY_O.fullmatch(piece)
            if found and entry.net != NONE:
                feeds.setdefault(found[1], set()).add(entry.net)
    nets = {net for fed in feeds.values() for net in fed}
    if len(nets) < 2:
        return Banks({}, False)
    of: dict[int, str] = {}
    for pin in part.pins:
        bank = _bank(ev.board.pins[pin].name, feeds.keys())
        if bank:
            of[pin] = " and ".join(sorted(ev.board.nets[net] for net in feeds[bank]))
    return Banks(of, True)


def _bank(name: str, known: object) -> str:
    """The bank that a signal pin's name gives, if some supply pin has the same."""
    for piece in pieces(name):
        for pattern in _SIGNAL:
            found = pattern.fullmatch(piece)
            if found and found[1] in known:  # type: ignore[operator]
                return found[1]
    return ""
