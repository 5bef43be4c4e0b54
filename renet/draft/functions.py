"""What pins can do, and what the nets on them need of that.

A function is written INSTANCE_SIGNAL, ``UART2_TX``.  It is read from the
schematic's alternates, a table, or the pieces of a pin name such as
``PA9/USART1_TX`` or ``GPIO26_ADC0``.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import NamedTuple

from renet.draft.evidence import Evidence
from renet.draft.words import FUNCTION, is_port, last_word
from renet.freedom.names import functions_in
from renet.model import NONE

_SPLIT = re.compile(r"[_\W]+")
_AF = re.compile(r"\(?AF\d+\)?")
_SAME = {"TXD": "TX", "RXD": "RX", "SCLK": "SCK", "CLK": "SCK", "CIPO": "MISO", "COPI": "MOSI"}


class Function(NamedTuple):
    """``UART2@1_TX`` taken apart: kind UART, device UART2, instance UART2@1, signal TX.

    Without a mapping the instance is the device.
    """

    name: str
    kind: str
    device: str
    instance: str
    signal: str

    @property
    def remapped(self) -> bool:
        """Whether it moves only with all other signals of its device."""
        return self.instance != self.device


def known_functions(ev: Evidence, pin: int) -> tuple[Function, ...]:
    """The functions a pin is known to have, in the order in which they were read."""
    entry = ev.board.pins[pin]
    words = list(ev.functions.get(pin, ()))
    if pin not in ev.complete:
        words += filter(None, [ev.chosen.get(pin, "")])
        words += functions_in(entry.name)[1:]
    return _all_parsed(words)


def named_functions(ev: Evidence, pin: int) -> tuple[Function, ...]:
    """The functions that a pin's name alone tells of."""
    return _all_parsed(functions_in(ev.board.pins[pin].name))


def _all_parsed(words: Iterable[str]) -> tuple[Function, ...]:
    found = (_parsed(word) for word in words if not is_port(word) and not _AF.fullmatch(word))
    return tuple(dict.fromkeys(function for function in found if function))


def _parsed(word: str) -> Function | None:
    found = FUNCTION.fullmatch(word)
    if not found:
        return None
    kind, number, mapping, signal = found.groups("")
    if is_port(signal):  # RTC_GPIO4 is one more name of a port
        return None
    return Function(word, kind, kind + number, kind + number + mapping, signal)


def wanted(ev: Evidence, pin: int) -> tuple[tuple[Function, ...], str]:
    """The functions of a pin that its net may be using, and how that is known.

    The one chosen in the schematic stands alone; else those whose signal the
    net's name ends in, and among them those whose instance it names as well.
    """
    functions = known_functions(ev, pin)
    chosen = ev.chosen.get(pin, "")
    picked = tuple(f for f in functions if chosen in (f.name, f"{f.device}_{f.signal}"))
    if picked:
        return picked, "chosen in the schematic"
    if ev.board.pins[pin].net == NONE:
        return (), ""
    words = _SPLIT.split(last_word(ev.net(pin)))
    signal = [f for f in functions if _ends(words, f.signal)]
    exact = [f for f in signal if f.device in words]
    alike = [f for f in signal if f.kind in words]
    return tuple(exact or alike or signal), "the net's name"


def _ends(words: list[str], signal: str) -> bool:
    parts = [part for part in _SPLIT.split(signal) if part]
    if not parts or len(parts) > len(words):
        return False
    tail = words[-len(parts) :]
    return all(
        a == b or _SAME.get(a, a) == _SAME.get(b, b) for a, b in zip(tail, parts, strict=True)
    )
