"""Where the pins of one part are: distances, pitch and neighbours (see ``renet.rules``)."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from renet.model import Board, IntArray

# Common practice, no source: between the next pin of a row (1.0) and the diagonal of a grid (1.41).
_REACH_NUMERATOR, _REACH_DENOMINATOR = 5, 4


class Spots:
    """The plated pads of one or several parts taken as one (a repeated reference)."""

    def __init__(self, board: Board, parts: Iterable[int]) -> None:
        self.pins = [pin for part in parts for pin in board.parts[part].pins]
        self._at: dict[int, list[tuple[int, int]]] = {
            pin: [
                (board.pads[pad].x, board.pads[pad].y)
                for pad in board.pins[pin].pads
                if board.pads[pad].plated
            ]
            for pin in self.pins
        }
        rows = [(x, y, pin) for pin, spots in self._at.items() for x, y in spots]
        self._rows = _along_the_wider_axis(np.array(rows, dtype=np.int64).reshape(-1, 3))
        self.pitch2 = _least_square(self._rows)
        self._neighbours: dict[int, frozenset[int]] | None = None

    def distance2(self, a: int, b: int) -> int | None:
        """Squared distance of two pins in nm; None when one of them has no plated pad."""
        return min(
            ((ax - bx) ** 2 + (ay - by) ** 2 for ax, ay in self._at[a] for bx, by in self._at[b]),
            default=None,
        )

    def within(self, reach2: int, strictly: bool) -> dict[int, frozenset[int]]:
        """For every pin the other pins closer than the square root of ``reach2`` nm.

        Not ``strictly``: at that distance, too.
        """
        found: dict[int, set[int]] = {pin: set() for pin in self.pins}
        rows = self._rows
        for shift in range(1, len(rows)):
            step = rows[shift:] - rows[:-shift]
            if int((step[:, 0] ** 2).min()) > reach2:
                break
            square = step[:, 0] ** 2 + step[:, 1] ** 2
            near = square < reach2 if strictly else square <= reach2
            for a, b in zip(rows[:-shift, 2][near], rows[shift:, 2][near], strict=True):
                if a != b:
                    found[int(a)].add(int(b))
                    found[int(b)].add(int(a))
        return {pin: frozenset(others) for pin, others in found.items()}

    @property
    def neighbours(self) -> dict[int, frozenset[int]]:
        """For every pin the pins at most 1.25 pitches away."""
        if self._neighbours is None:
            top = self.pitch2 * _REACH_NUMERATOR**2
            self._neighbours = self.within(top // _REACH_DENOMINATOR**2, strictly=False)
        return self._neighbours


def _along_the_wider_axis(rows: IntArray) -> IntArray:
    """Rows (x, y, pin) sorted, with x and y exchanged where the spots spread more in y."""
    if len(rows) and np.ptp(rows[:, 1]) > np.ptp(rows[:, 0]):
        rows = rows[:, [1, 0, 2]]
    unique: IntArray = np.unique(rows, axis=0)
    return unique


def _least_square(rows: IntArray) -> int:
    """Smallest squared distance, not nought, between spots (x, y, pin) of two pins; else 0.

    ``rows`` are sorted and unique.  The two of the closest pair are ``shift``
    places apart for some shift at which the least gap in x alone is still
    smaller than the best.  Of pins at one point two are enough.
    """
    third = np.zeros(len(rows), dtype=bool)
    third[2:] = (rows[2:, :2] == rows[:-2, :2]).all(axis=1)
    rows = rows[~third]
    best = 0
    for shift in range(1, len(rows)):
        step = rows[shift:] - rows[:-shift]
        if best and int((step[:, 0] ** 2).min()) >= best:
            break
        square = step[:, 0] ** 2 + step[:, 1] ** 2
        real = square[(square > 0) & (step[:, 2] != 0)]
        if len(real):
            least = int(real.min())
            best = min(best, least) if best else least
    return best
