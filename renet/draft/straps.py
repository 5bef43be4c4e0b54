"""Pins that some common controllers read at start-up or have wired inside, by type number.

Nothing on a board tells of them: such a pin is called like any port.  All from
memory, of part types that very many boards carry; they err towards keeping.
"""

from __future__ import annotations

import re

from renet.draft.words import pieces
from renet.model import Part, Pin

_TYPES: tuple[tuple[str, str, frozenset[int]], ...] = (
    (r"ESP32-?S3", "boot", frozenset({0, 3, 45, 46})),
    (r"ESP32-?S3.*R(8|16)", "flash bus", frozenset(range(33, 38))),
    (r"ESP32-?S2", "boot", frozenset({0, 45, 46})),
    (r"ESP32-?C3", "boot", frozenset({2, 8, 9})),
    (r"ESP32-?C6", "boot", frozenset({4, 5, 8, 9, 15})),
    (r"ESP32(?!-?[SCHP]\d)", "boot", frozenset({0, 2, 5, 12, 15})),
    (r"ESP32(?!-?[SCHP]\d)", "flash bus", frozenset(range(6, 12))),
    (r"ESP32.*WROVER", "flash bus", frozenset({16, 17})),
    (r"ESP8266|ESP-?12", "boot", frozenset({0, 2, 15})),
)
_PORT = re.compile(r"(?:GP)?IO_?(\d{1,2})")


def role_by_part(part: Part, pin: Pin) -> str:
    """The role that a pin of this type of part has whatever it is called, "" for none known."""
    found = (_PORT.fullmatch(piece) for piece in pieces(pin.name, pin.number))
    ports = {int(port[1]) for port in found if port}
    if not ports:
        return ""
    text = f"{part.value} {part.footprint}".upper()
    return next(
        (role for words, role, pins in _TYPES if ports & pins and re.search(words, text)), ""
    )
