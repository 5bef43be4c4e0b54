"""IPC-D-356A written: the net columns of moved pins edited, or a whole list made from a board.

An update touches the 14 net columns of moved pads and nothing else; vias and
points along tracks stay as they are, since what becomes of copper is not known
here.  A list made anew has one record for every pad, in the order of the board.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import count
from typing import NamedTuple

from renet.model import NONE, Board, Pad
from renet.read.ipc356 import RecordSpans
from renet.splice import Edit, splice

_WIDTH = 14
_METRIC, _INCH = (1000, "1"), (2540, "0")
_MOST_PLACE, _MOST_SIZE = 999_999, 9_999


def record_bytes(data: bytes, spans: RecordSpans, before: Board, after: Board) -> bytes:
    """The file ``data`` of ``before`` turned into the file of ``after``."""
    edits = []
    for old, new in zip(before.pins, after.pins, strict=True):
        if old.net != new.net:
            name = after.net_name(new.net)
            word = spans.none if name is None else spans.words[name]
            edits += [_edit(spans.net[pad], word) for pad in new.pads if spans.net[pad][0] >= 0]
    return splice(data, sorted(edits))


def _edit(span: tuple[int, int], word: bytes) -> Edit:
    return Edit(span[0], span[1], word.ljust(_WIDTH))


class Exported(NamedTuple):
    """A list made from a board; ``shortened`` is (name on the board, name in the list)."""

    data: bytes
    shortened: tuple[tuple[str, str], ...]


def export_bytes(board: Board, holes: Sequence[int]) -> Exported:
    """All pads of ``board`` as records; ``holes`` has the drill of each pad in nm, 0 for none.

    Lengths are thousandths of a millimetre, or ten-thousandths of an inch where
    a size has too many digits for that.  Long net names get a NNAME line, long
    references and pin numbers are shortened and stay different from each other.
    """
    words = _net_words(board)
    refs = _shortened([part.ref for part in board.parts], 6, {"VIA"})
    pins = [
        _shortened([board.pins[pin].number for pin in part.pins], 4, set()) for part in board.parts
    ]
    step, digit = _units(board, holes)
    lines = ["C  IPC-D-356A, one record for each pad; copper is not described", "P  JOB   renet"]
    lines.append(f"P  UNITS CUST {digit}")
    lines += [f"P  {word}  {name}" for name, word in words.items() if word != name]
    for pad, hole in zip(board.pads, holes, strict=True):
        pin = "" if pad.pin == NONE else pins[pad.part][board.pins[pad.pin].number]
        net = "N/C" if pad.net == NONE else words[board.nets[pad.net]]
        head = f"{_operation(pad)}{net:<14}   {refs[board.parts[pad.part].ref]:<6}"
        lines.append(f"{head}{'-' if pin else ' '}{pin:<4} " + _place(board, pad, hole, step))
    data = "\n".join([*lines, "999", ""]).encode("utf-8")
    pairs = [refs, *pins]
    changed = {(name, word) for pair in pairs for name, word in pair.items() if name != word}
    return Exported(data, tuple(sorted(changed)))


def _operation(pad: Pad) -> str:
    if not pad.plated:
        return "367"
    return "317" if pad.through else "327"


def _net_words(board: Board) -> dict[str, str]:
    """Net name -> what stands in the net columns: itself, or a short name."""
    plain = {name for name in board.nets if _is_plain(name)}
    numbers = count(1)
    return {name: name if name in plain else f"NNAME{next(numbers)}" for name in board.nets}


def _is_plain(name: str) -> bool:
    fits = len(name) <= _WIDTH and name.isascii() and name.isprintable() and " " not in name
    return fits and name.upper() != "N/C" and not name.startswith("NNAME")


def _shortened(names: Sequence[str], width: int, taken: set[str]) -> dict[str, str]:
    """Names cut to ``width`` ASCII columns, each different; those that fit stay."""
    fits = {n for n in names if len(n) <= width and n.isascii() and n.isprintable()}
    fits = {n for n in fits if " " not in n and not n.startswith("-")} - taken
    used = fits | taken
    found = {name: name for name in names if name in fits}
    for name in names:
        if name not in found:
            found[name] = _free(name, width, used)
            used.add(found[name])
    return found


def _free(name: str, width: int, used: set[str]) -> str:
    """The name's beginning, with a number in place of its end where that is taken."""
    clean = "".join(c if c.isascii() and c.isalnum() else "_" for c in name).lstrip("-")
    if clean[:width] and clean[:width] not in used:
        return clean[:width]
    return next(
        word
        for number in range(1, 10**width)
        if (word := clean[: width - len(str(number))] + str(number)) not in used
    )


def _units(board: Board, holes: Sequence[int]) -> tuple[int, str]:
    sizes = [side for pad in board.pads for side in _size(pad)]
    places = [abs(c) for pad in board.pads for c in (pad.x, pad.y)]
    wide = max([*sizes, *holes], default=0) > _MOST_SIZE * _METRIC[0]
    far = max(places, default=0) > _MOST_PLACE * _METRIC[0]
    return _INCH if wide or far else _METRIC


def _size(pad: Pad) -> tuple[int, int]:
    u0, v0, u1, v1 = pad.shape.box
    return u1 - u0, v1 - v0


def _place(board: Board, pad: Pad, hole: int, step: int) -> str:
    """Columns 33 to 80: hole, access, place, size and turn; a disc has one size."""
    width, height = (min(round(side / step), _MOST_SIZE) for side in _size(pad))
    core = pad.shape.cores[0].points if pad.shape.cores else ()
    if width == height and len(core) == 1:
        height = 0
    drill = f"D{min(round(hole / step), _MOST_SIZE):04d}" if hole else "     "
    plating = ("P" if pad.plated else "U") if pad.through else " "
    access = _access(pad, len(board.layers))
    x, y = round(pad.x / step), -round(pad.y / step)
    turn = round(pad.angle) % 360
    return f"{drill}{plating}A{access:02d}X{x:+07d}Y{y:+07d}X{width:04d}Y{height:04d}R{turn:03d}"


def _access(pad: Pad, layers: int) -> int:
    """0 from both sides, else the layer it is reached on, counted from 1."""
    ends = 1 | 1 << max(layers - 1, 0)
    if pad.through or (layers > 1 and pad.layers & ends == ends):
        return 0
    return 1 if pad.layers & 1 or not pad.layers else pad.layers.bit_length()
