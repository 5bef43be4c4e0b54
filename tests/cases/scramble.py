"""Scrambles the nets of a part's pins on a real board, by text edits of pad nets."""

from __future__ import annotations

import random
import re
from collections import Counter
from collections.abc import Collection, Mapping, Sequence

from cases.boardtext import BoardText, Edit, reference, splice

NEVER = ("power_in", "power_out", "no_connect")
"""Types of pins that a rules file may not name."""

_SUPPLY = re.compile(
    r"(^|/)(GND|VSS|VDD|VCC|VBUS|VIN|VBAT|\+|-?\d+V|V\d|AGND|DGND|PWR)", re.IGNORECASE
)


def tradable(text: BoardText, ref: str, most_pads: int = 6) -> list[str]:
    """Pins of the part that carry a small signal net, in the order of the file."""
    sizes = Counter(pad.net for pad in text.pads)
    nets: dict[str, set[str | None]] = {}
    bad: set[str] = set()
    for pad in text.pads:
        if pad.ref != ref:
            continue
        nets.setdefault(pad.number, set()).add(pad.net)
        base = pad.type.split("+")[0]
        small = pad.net is not None and 2 <= sizes[pad.net] <= most_pads
        if not small or pad.private or base in NEVER or _SUPPLY.search(pad.net or ""):
            bad.add(pad.number)
    return [number for number, found in nets.items() if number not in bad and len(found) == 1]


def busiest(text: BoardText) -> tuple[str, list[str]]:
    """The part with most tradable pins (the first of several), with those pins."""
    refs = Counter(reference(part) for part in text.parts)
    choices = [(ref, tradable(text, ref)) for ref, times in refs.items() if ref and times == 1]
    return max(choices, key=lambda choice: len(choice[1]), default=("", []))


def scramble(text: BoardText, ref: str, pins: Sequence[str], seed: int) -> bytes:
    """The board with the nets of these pins dealt out anew among them, and unrouted.

    Tracks, vias and areas of these nets go: left where they are, they would short them.
    """
    order = list(pins)
    random.Random(seed).shuffle(order)
    nets = {pad.number: pad.net for pad in text.pads if pad.ref == ref}
    edits = _rewired(text, {(ref, p): nets[q] for p, q in zip(pins, order, strict=True)})
    gone = {net for pin in pins if (net := nets[pin])}
    return splice(text.data, [*edits, *_ripped(text, gone)])


def _ripped(text: BoardText, nets: Collection[str]) -> list[Edit]:
    """All top-level copper of these nets taken out."""
    numbers = {str(text.numbers[net]) for net in nets} if text.rows else set(nets)
    return [
        Edit(node.start, node.end, b"")
        for node in text.root.all("segment", "arc", "via", "zone")
        if node.value("net") in numbers
    ]


def exchange(text: BoardText, one: tuple[str, str], two: tuple[str, str]) -> bytes:
    """The board with the nets of two (reference, pin) exchanged by hand; both have a net."""
    nets = {(pad.ref, pad.number): pad.net for pad in text.pads}
    return splice(text.data, _rewired(text, {one: nets[two], two: nets[one]}))


def _rewired(text: BoardText, after: Mapping[tuple[str, str], str | None]) -> list[Edit]:
    edits = []
    for pad in text.pads:
        net, old = after.get((pad.ref, pad.number)), pad.node.one("net")
        if net is not None and old is not None:
            edits.append(Edit(old.start, old.end, text.net_list(net)))
    return edits


def pool_rules(ref: str, pins: Sequence[str]) -> bytes:
    """A rules file that frees these pins and nothing else."""
    numbers = ", ".join(quote(pin) for pin in pins)
    return f"[[pool]]\npart = {quote(ref)}\npins = [{numbers}]\n".encode()


def quote(text: str) -> str:
    """A TOML string."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'
