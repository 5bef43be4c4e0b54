"""Part shape: how the pads of a part stand, in its own frame."""

from __future__ import annotations

import math
from collections import Counter
from itertools import pairwise
from typing import NamedTuple

from renet.model import Board, Part

_TOLERANCE = 60_000  # nm; pads that should be in line are, but for rounding


class Shape(NamedTuple):
    """Rows of pins (ids along each row), pitch and distance of the first two rows in mm.

    ``rows`` is empty unless all pins stand in one row or in two of like length.
    ``through``: all pads have holes.  ``both_sides``: pads without holes on the
    front and on the back, as an edge that is plugged has them.
    """

    rows: tuple[tuple[int, ...], ...]
    pitch: float
    gap: float
    through: bool
    both_sides: bool

    @property
    def header(self) -> bool:
        """Whether it stands like a pin header: rows as far apart as pins in a row."""
        usual = any(abs(self.pitch - size) < 0.06 for size in (1.27, 2.0, 2.54))
        return (
            self.through
            and usual
            and (len(self.rows) == 1 or (len(self.rows) == 2 and abs(self.gap - self.pitch) < 0.06))
        )


def shape_of(board: Board, part: Part) -> Shape:
    """The shape of a part; a pin with several pads stands at its first one."""
    both_sides = on_both_sides(board, part)
    turn = math.radians(part.angle)
    cos, sin = math.cos(turn), math.sin(turn)
    at: dict[int, tuple[float, float]] = {}
    through = bool(part.pins)
    for pin in part.pins:
        pad = board.pads[board.pins[pin].pads[0]]
        x, y = pad.x - part.x, pad.y - part.y
        at[pin] = (x * cos - y * sin, x * sin + y * cos)
        through = through and pad.through
    for axis in (0, 1):
        rows = _rows(at, axis)
        if rows:
            gap = abs(at[rows[0][0]][axis] - at[rows[-1][0]][axis]) / 1e6
            return Shape(
                rows, _pitch([at[pin][1 - axis] for pin in rows[0]]), gap, through, both_sides
            )
    return Shape((), 0.0, 0.0, through, both_sides)


def on_both_sides(board: Board, part: Part) -> bool:
    """Whether at least four pads lie on the front alone and four on the back alone."""
    back = 1 << (len(board.layers) - 1)
    pads = [board.pads[pad] for pin in part.pins for pad in board.pins[pin].pads]
    if len(pads) < 8 or back == 1:
        return False
    flat = Counter(pad.layers for pad in pads if not pad.through)
    return min(flat[1], flat[back]) >= 4


def _rows(at: dict[int, tuple[float, float]], axis: int) -> tuple[tuple[int, ...], ...]:
    """Pins grouped by one coordinate, sorted along the other; empty if not one or two rows."""
    lines: list[tuple[float, list[int]]] = []
    for pin, spot in sorted(at.items(), key=lambda item: item[1][axis]):
        if lines and abs(spot[axis] - lines[-1][0]) <= _TOLERANCE:
            lines[-1][1].append(pin)
        else:
            lines.append((spot[axis], [pin]))
    if not 1 <= len(lines) <= 2 or len(at) < 2 * len(lines):
        return ()
    if len(lines) == 2 and abs(len(lines[0][1]) - len(lines[1][1])) > 1:
        return ()
    return tuple(tuple(sorted(pins, key=lambda p: at[p][1 - axis])) for _, pins in lines)


def _pitch(places: list[float]) -> float:
    """The most usual step along a row, in mm."""
    steps = Counter(round((b - a) / 1e6, 2) for a, b in pairwise(places))
    return max(steps, key=lambda step: (steps[step], -step)) if steps else 0.0
