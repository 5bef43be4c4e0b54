"""Adds a late connector to any board: a twelve-pin header whose nets go to open pins.

By text edits in the file's own shape: new rows in the net table where there is
one, names quoted or bare as the file has them, the new part outside the board's
corner so that it touches no copper.
"""

from __future__ import annotations

import hashlib
import math
import random
import re
from collections.abc import Sequence
from typing import NamedTuple

from cases.boardtext import BoardText, Edit, Node, TextPad, reference, splice

PINS = 12
PITCH = 2.54
AWAY = 5.0


class Late(NamedTuple):
    """A board with its late connector."""

    data: bytes
    ref: str
    nets: tuple[str, ...]


def add_connector(text: BoardText, part: str, pins: Sequence[str], seed: int) -> Late:
    """Put a header near the corner that is nearest to ``part`` and wire it to ``pins``.

    An open pin gets a new net; a pin that has a net shares it with the header.
    The pins (at most twelve) are dealt out to the header in random order.
    """
    chosen = list(dict.fromkeys(pins))[:PINS]
    random.Random(seed).shuffle(chosen)
    ref = _free_reference(text)
    pads = {pin: [p for p in text.pads if p.ref == part and p.number == pin] for pin in chosen}
    alone = _alone(text)
    nets: list[str] = []
    edits: list[Edit] = []
    for i, pin in enumerate(chosen):
        first = pads[pin][0]
        if not first.private and first.net not in alone:
            nets.append(str(first.net))
            continue
        nets.append(f"/LATE_{i + 1}")
    fresh = [net for net in nets if net.startswith("/LATE_")]
    numbers = dict(text.numbers)
    top = max(numbers.values(), default=0)
    numbers |= {net: top + 1 + i for i, net in enumerate(fresh)}
    for pin, net in zip(chosen, nets, strict=True):
        if net in fresh:
            edits += [edit for pad in pads[pin] for edit in _rewire(text, pad, net, numbers)]
            edits += _fan_out(text, pads[pin][0].net, net, numbers)
    edits += _table(text, fresh, numbers)
    edits.append(_header(text, part, ref, [text.net_list(net, numbers) for net in nets]))
    return Late(splice(text.data, edits), ref, tuple(nets))


def _alone(text: BoardText) -> set[str]:
    """Nets of one pin only."""
    pins: dict[str, set[tuple[str, str]]] = {}
    for pad in text.pads:
        if pad.net is not None:
            pins.setdefault(pad.net, set()).add((pad.ref, pad.number))
    return {net for net, found in pins.items() if len(found) == 1}


def _free_reference(text: BoardText) -> str:
    taken = {pad.ref for pad in text.pads}
    return next(ref for i in range(900, 2000) if (ref := f"J{i}") not in taken)


def _rewire(text: BoardText, pad: TextPad, net: str, numbers: dict[str, int]) -> list[Edit]:
    """Put a pad on a net; the mark of an open pin goes."""
    written = text.net_list(net, numbers)
    old = pad.node.one("net")
    if old:
        edits = [Edit(old.start, old.end, written)]
    else:
        before = [*pad.node.all("layers", "roundrect_rratio", "chamfer_ratio", "chamfer")][-1]
        edits = [Edit(before.end, before.end, b" " + written)]
    kind = pad.node.one("pintype")
    if kind and pad.type.endswith("+no_connect"):
        bare = b'(pintype "%s")' % pad.type.removesuffix("+no_connect").encode()
        edits.append(Edit(kind.start, kind.end, bare))
    return edits


def _fan_out(text: BoardText, old: str | None, net: str, numbers: dict[str, int]) -> list[Edit]:
    """Copper of the pin's own old net goes with it to the new one."""
    if old is None:
        return []
    there = str(text.numbers[old]) if text.rows else old
    here = b"(net %d)" % numbers[net] if text.rows else b"(net %s)" % text.name(net)
    edits = []
    for node in text.root.all("segment", "arc", "via", "zone"):
        found, name = node.one("net"), node.one("net_name")
        if found and found.atoms[1] == there:
            edits.append(Edit(found.start, found.end, here))
            if name:
                edits.append(Edit(name.start, name.end, b"(net_name %s)" % text.name(net)))
    return edits


def _indent(text: BoardText, node: Node) -> bytes:
    """The blanks before a list that begins its line."""
    line = text.data.rfind(b"\n", 0, node.start) + 1
    lead = text.data[line : node.start]
    return lead if not lead.strip() else b"  "


def _table(text: BoardText, fresh: Sequence[str], numbers: dict[str, int]) -> list[Edit]:
    """New rows after the last one, and members of the first net class where classes have them."""
    if not text.rows or not fresh:
        return []
    last = text.rows[-1]
    gap = text.newline + _indent(text, last)
    rows = b"".join(gap + text.net_list(net, numbers) for net in fresh)
    edits = [Edit(last.end, last.end, rows)]
    members = [*(text.root.one("net_class") or last).all("add_net")]
    if members:
        gap = text.newline + _indent(text, members[-1])
        more = b"".join(gap + b"(add_net %s)" % text.name(net) for net in fresh)
        edits.append(Edit(members[-1].end, members[-1].end, more))
    return edits


def _header(text: BoardText, part: str, ref: str, nets: Sequence[bytes]) -> Edit:
    """The new part, after the last one of the file."""
    last = text.parts[-1]
    x, y, step = _spot(text, part)
    word = text.data[last.start + 1 : last.start + 10].split()[0].decode()
    name = text.name("late:header_1x12").decode()
    front = text.name(_front(text)).decode()
    lines = [f"({word} {name} (layer {front}){_ident(text, ref)}", f"  (at {x:g} {y:g})"]
    lines += [f"  {line}" for line in _texts(text, ref)]
    for i, net in enumerate(nets):
        shape = "rect" if i == 0 else "circle"
        number = text.name(str(i + 1)).decode()
        layers = f"(layers {text.name('*.Cu').decode()} {text.name('*.Mask').decode()})"
        spot = f"(at 0 {i * step:g}) (size 1.7 1.7) (drill 1)"
        kind = ' (pintype "passive")' if b"(pintype" in text.data else ""
        pad = f"(pad {number} thru_hole {shape} {spot} {layers} {net.decode()}{kind}"
        lines.append(f"  {pad}{_ident(text, ref, i)})")
    gap = (text.newline + _indent(text, last)).decode()
    return Edit(last.end, last.end, (gap + gap.join([*lines, ")"])).encode())


def _ident(text: BoardText, *names: object) -> str:
    """An identifier in the file's manner."""
    digits = hashlib.sha256(repr(names).encode()).hexdigest()
    if text.version < 20200000:
        return f" (tstamp {digits[:8].upper()})" if len(names) == 1 else ""
    cut = (digits[:8], digits[8:12], f"4{digits[12:15]}", f"8{digits[15:18]}", digits[18:30])
    long = "-".join(cut)
    return f' (uuid "{long}")' if b"(uuid " in text.data else f" (tstamp {long})"


def _texts(text: BoardText, ref: str) -> list[str]:
    """Reference and value, as properties or texts, whichever the file has."""
    silk = text.name("F.SilkS").decode()
    last = text.parts[-1]
    modern = any(p.atoms[1] == "Reference" for p in last.all("property") if len(p.atoms) > 1)
    place = f"(at 0 -2) (layer {silk})"
    effects = "(effects (font (size 1 1) (thickness 0.15)))"
    rows = (("Reference", ref), ("Value", "LATE"))
    if modern:
        return [f'(property "{word}" "{value}" {place} {effects})' for word, value in rows]
    return [
        f"(fp_text {word.lower()} {text.name(value).decode()} {place} {effects})"
        for word, value in rows
    ]


def _front(text: BoardText) -> str:
    """The name of the first copper layer of the table."""
    layers = text.root.one("layers")
    assert layers is not None
    return next(
        row.atoms[1] for row in layers.children if row.atoms[2] in ("signal", "power", "mixed")
    )


_PLACE = re.compile(rb"\((?:start|end|at|mid|center|xy) (-?[\d.]+) (-?[\d.]+)")


def _spot(text: BoardText, part: str) -> tuple[float, float, float]:
    """Where pin 1 stands, and the way to the next pin: beside the corner nearest to the part.

    The corner is one of the box round all pads, tracks and lines of the board.
    """
    places = [
        (float(x), float(y))
        for node in text.root.all("gr_line", "gr_arc", "segment", "via", "arc")
        for x, y in _PLACE.findall(text.data, node.start, node.end)
    ]
    pads = [(reference(node), at) for node in text.parts for at in _pad_places(node)]
    places += [at for _, at in pads]
    left, top = (min(one) for one in zip(*places, strict=True))
    right, low = (max(one) for one in zip(*places, strict=True))
    px, py = next(at for ref, at in pads if ref == part)
    x = left - AWAY if px - left < right - px else right + AWAY
    up = py - top < low - py
    return round(x, 4), round(top if up else low, 4), PITCH if up else -PITCH


def _pad_places(part: Node) -> list[tuple[float, float]]:
    """Where the part's pads stand on the board."""
    fx, fy, angle = _at(part)
    cos, sin = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    spots = (_at(pad) for pad in part.all("pad"))
    return [(fx + x * cos + y * sin, fy + y * cos - x * sin) for x, y, _ in spots]


def _at(node: Node) -> tuple[float, float, float]:
    found = node.one("at")
    numbers = [float(atom) for atom in found.atoms[1:4]] if found else []
    x, y, angle = [*numbers, 0.0, 0.0, 0.0][:3]
    return x, y, angle
