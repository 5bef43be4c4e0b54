"""Files made to break a program, each with its expected outcome: made here, not stored.

``tests/test_bombs.py`` runs every one, those that take seconds in a smaller size;
``scripts/fuzz --bombs`` runs all in their full size.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from cases.buoys import MIDDLE

MILLION = 1_000_000
PAD = b'    (pad "%d" smd rect (at %d 0) (size 1 1) (layers "F.Cu") (net %d "%s"))\n'


def board(*lists: bytes, nets: int = 1) -> bytes:
    """A board with a net table N0..Nn and these lists."""
    rows = b"".join(b'  (net %d "N%d")\n' % (n, n) for n in range(1, nets + 1))
    head = b'(kicad_pcb (version 20211014)\n  (layers (0 "F.Cu" signal) (31 "B.Cu" signal))\n'
    return head + b'  (net 0 "")\n' + rows + b"\n".join(lists) + b"\n)\n"


def part(ref: bytes, *pads: bytes) -> bytes:
    text = b'    (fp_text reference "%s" (at 0 0) (layer "F.SilkS"))\n' % ref
    return b'  (footprint "b:P" (layer "F.Cu") (at 0 0)\n' + text + b"".join(pads) + b"  )"


class Bomb(NamedTuple):
    """``made(size)`` is the file; ``said`` is what it is refused with, "" where it is used.

    Used means read and written without a move to the same bytes; up to the size
    ``measured`` also joined and measured.
    """

    what: str
    said: str
    made: Callable[[int], bytes]
    size: int = 1
    small: int = 0
    measured: int = 10**9

    @property
    def tested(self) -> int:
        """Its size in the tests."""
        return self.small or self.size


def _in_rows(count: int, nets: Callable[[int], bytes]) -> Iterator[bytes]:
    """So many pads, in rows of a thousand."""
    pad = b'    (pad "%d" smd rect (at %d %d) (size 0.5 0.5) (layers "F.Cu")%s)\n'
    return (pad % (n, n % 1000, 1 + n // 1000, nets(n)) for n in range(1, count + 1))


def pads(count: int) -> bytes:
    """One part with so many pads; every other one is on N1."""
    return board(part(b"U1", *_in_rows(count, lambda n: b' (net 1 "N1")' if n % 2 else b"")))


def on_one_point(count: int) -> bytes:
    """So many nets: a pad of each at one point, the other one elsewhere."""
    here = (PAD % (n, 0, n, b"N%d" % n) for n in range(1, count + 1))
    there = _in_rows(count, lambda n: b' (net %d "N%d")' % (n, n))
    return board(part(b"U1", *here), part(b"U2", *there), nets=count)


def at(word: bytes) -> Callable[[int], bytes]:
    """A board with this word for a coordinate, as often as is asked for."""
    return lambda count: MIDDLE.replace(b"(at -3 -1", b"(at " + word * count + b" -1")


def named(word: bytes) -> Callable[[int], bytes]:
    """A board with this inside the name of a net."""
    return lambda _: MIDDLE.replace(b"GND", b"G" + word + b"D")


def mixed(_: int) -> bytes:
    """Every third line ends as on another system."""
    lines = MIDDLE.split(b"\n")
    ends = [b"\r\n" if n % 3 == 1 else b"\n" for n in range(len(lines))]
    return b"".join(line + end for line, end in zip(lines, ends, strict=True)).removesuffix(b"\n")


_PADS = PAD % (1, 0, 1, b"N1"), PAD % (2, 0, 2, b"N2"), PAD % (3, 0, 1, b"N1")
_PART = part(b"U1", *_PADS)
_TRACK = b'  (segment (start 1 1) (end 1 1) (width 0) (layer "F.Cu") (net 1))'
_VIA = b'  (via (at 1 1) (size 0) (layers "F.Cu" "B.Cu") (net 1))'
_CROSSED = b"(pts (xy 0 0) (xy 9 9) (xy 9 0) (xy 0 9) (xy 0 0) (xy 0 0))"
_ZONE = (
    b'  (zone (net 2) (net_name "N2") (layer "F.Cu") (min_thickness 0.2)\n'
    b'    (polygon %s) (filled_polygon (layer "F.Cu") %s))' % (_CROSSED, _CROSSED)
)
_NO_NUMBER = "expected a decimal number"
_NO_TEXT = "not valid UTF-8"

BOMBS = (
    Bomb("nested lists, never closed", "nested", lambda n: b"(kicad_pcb " + b"(" * n, MILLION),
    Bomb("nested lists", "nested", lambda n: b"(kicad_pcb " + b"(" * n + b")" * (n + 1), MILLION),
    Bomb("an atom of 100 MB", "", lambda n: board(b'  (title "' + b"x" * n + b'")'), 10**8, 10**6),
    Bomb("a part of a million pads", "", pads, MILLION, 3_000, measured=100_000),
    Bomb("ten thousand nets on one point", "", on_one_point, 10_000, 500),
    Bomb("not a number", _NO_NUMBER, at(b"nan")),
    Bomb("an infinity", _NO_NUMBER, at(b"inf")),
    Bomb("a negative infinity", _NO_NUMBER, at(b"-inf")),
    Bomb("an exponent", _NO_NUMBER, at(b"1e999")),
    Bomb("a number of 400 digits", _NO_NUMBER, at(b"9"), 400),
    Bomb("a number of a million digits", _NO_NUMBER, at(b"9"), MILLION),
    Bomb("a zero byte", "zero byte", named(b"\0")),
    Bomb("a lone surrogate", _NO_TEXT, named(b"\xed\xa0\x80")),
    Bomb("bytes that are no UTF-8", _NO_TEXT, named(b"\xff")),
    Bomb("a byte order mark", "byte order mark", lambda _: b"\xef\xbb\xbf" + MIDDLE),
    Bomb("UTF-16", "UTF-16", lambda _: MIDDLE.decode().encode("utf-16")),
    Bomb("mixed line ends", "", mixed),
    Bomb("a reference twice", "", lambda _: board(_PART, _PART, nets=2)),
    Bomb("a net twice", "stands twice", lambda _: board(b'  (net 2 "N1")')),
    Bomb("pads at one spot", "", lambda _: board(_PART, nets=2)),
    Bomb("a track without length", "", lambda _: board(_PART, _TRACK, _VIA, nets=2)),
    Bomb("a zone that touches itself", "", lambda _: board(_PART, _ZONE, nets=2)),
    Bomb("the file twice", "after the end", lambda _: MIDDLE + MIDDLE),
    Bomb("nothing", "empty", lambda _: b""),
)  # fmt: skip
