"""Why one pin is kept, asked about or free, in a sentence."""

from __future__ import annotations

from renet.draft.draft import Draft
from renet.errors import InputError
from renet.freedom.select import Names
from renet.nearest import quoted

_WORDS = {"free": "is free", "asked": "is asked about", "kept": "is kept"}


def explain(draft: Draft, word: str) -> str:
    """One line for each pin that ``PART:PIN`` finds; RenetError where it finds none."""
    board = draft.evidence.board
    if ":" not in word:
        raise InputError(f"{quoted(word)} names no pin", 'write PART:PIN, such as "U3:12"')
    names = Names(board)
    pins = names.in_order(names.far_pins((word,), 0))
    return "\n".join(sentence(draft, pin) for pin in pins)


def sentence(draft: Draft, pin: int) -> str:
    """``U3:12 (IO_A4, net /LED_A) is free: why (evidence: what)``."""
    ev, verdict = draft.evidence, draft.verdicts[pin]
    entry = ev.board.pins[pin]
    net = f"net {ev.net(pin)}" if ev.net(pin) else "no net"
    said = ", ".join(filter(None, (entry.name, net)))
    label = ev.board.pin_label(pin)
    return f"{label} ({said}) {_WORDS[verdict.state]}: {verdict.why} (evidence: {verdict.evidence})"
