"""A design as a list of IPC-D-356A records: pads, then vias; thousandths of a millimetre."""

from __future__ import annotations

from corpus_maker.design import Design, PadDef, Part, Via
from corpus_maker.naming import Naming

UNIT = 1000
LONGEST = 14
"""Net columns of a record; longer names stand behind NNAME lines."""


def records_text(naming: Naming, newline: str = "\r\n") -> str:
    """The whole list."""
    design = naming.design
    words = _words(naming)
    lines = [f"C  {design.title}", f"P  JOB   {design.name.upper()}", "P  UNITS CUST 1"]
    lines += [f"P  {word}  {name}" for name, word in words.items() if word != name]
    for part in design.parts:
        for pad in part.kind.outline.pads:
            net = naming.net_name(design.net_of(part, pad.number)) if pad.number else ""
            lines.append(_pad(design, part, pad, words.get(net, "N/C")))
    lines += [_via(design, via, words.get(naming.net_name(via.net), "N/C")) for via in design.vias]
    return newline.join([*lines, "999", ""])


def _words(naming: Naming) -> dict[str, str]:
    """Net name -> what stands in the net columns."""
    names = sorted({naming.net_name(net) for net in naming.design.net_names()})
    long = [name for name in names if len(name) > LONGEST]
    return {
        name: f"NNAME{long.index(name) + 1}" if name in long else name for name in names
    }  # fmt: skip


def _pad(design: Design, part: Part, pad: PadDef, net: str) -> str:
    drilled = pad.kind != "smd"
    plated = pad.kind != "np_thru_hole"
    operation = "327" if not drilled else "317" if plated else "367"
    hole = f"D{pad.drill // UNIT:04d}{'P' if plated else 'U'}" if drilled else " " * 6
    side = 0 if drilled else design.layers if part.back else 1
    dash = "-" if pad.number else " "
    head = f"{operation}{net:<14}   {part.ref:<6}{dash}{pad.number:<4} {hole}A{side:02d}"
    high = 0 if pad.shape == "circle" else pad.h // UNIT
    size = f"X{pad.w // UNIT:04d}Y{high:04d}R{part.angle % 360:03d}"
    return f"{head}{_at(design, *part.place(pad))}{size} S{0 if drilled else 2 if part.back else 1}"


def _via(design: Design, via: Via, net: str) -> str:
    head = f"317{net:<14}   VIA   -    MD{via.drill // UNIT:04d}PA00"
    return f"{head}{_at(design, via.x, via.y)}X{via.size // UNIT:04d}Y0000R000 S3"


def _at(design: Design, x: int, y: int) -> str:
    """A place, y upwards."""
    ox, oy = design.origin
    return f"X{round((x + ox) / UNIT):+07d}Y{-round((y + oy) / UNIT):+07d}"
