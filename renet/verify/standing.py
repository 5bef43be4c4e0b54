"""One state of the board, before or after, seen pin by pin and part by part."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

from renet.verify.seats import Seats

Facts = frozenset[tuple[int, str]]


class Violation(NamedTuple):
    """What is wrong: the rule and its line, the (seat, net) facts, and a sentence."""

    rule: str
    facts: Facts
    what: str


class Standing:
    """The nets of all seats before (``after`` false) or after, with distances on demand."""

    def __init__(self, seats: Seats, after: bool) -> None:
        self.seats, self._after = seats, after
        self._pitch: dict[int, int] = {}

    def net(self, seat: int) -> str | None:
        """The net of a seat in this state."""
        columns = self.seats.columns
        return columns.is_[seat] if self._after else columns.was[seat]

    def fact(self, seat: int) -> tuple[int, str]:
        """The seat with its net, which it must have."""
        return seat, self.net(seat) or ""

    def parts(self, ref: str, line: int) -> Iterator[tuple[str, list[int]]]:
        """The part of that name, or every part by itself."""
        if ref:
            yield ref, self.seats.part(ref, line)
            return
        for name, here in self.seats.by_ref.items():
            if all(self.seats.columns.alone[i] for i in here):
                yield name, here

    def carrying(self, here: Iterable[int], nets: frozenset[str]) -> list[int]:
        """The seats that carry one of the nets."""
        return [i for i in here if self.net(i) in nets]

    def distance2(self, a: int, b: int) -> int | None:
        """Squared distance of the nearest two pad centres; None without plated pads."""
        at = self.seats.columns.at
        pairs = ((p, q) for p in at[a] for q in at[b])
        return min(((p[0] - q[0]) ** 2 + (p[1] - q[1]) ** 2 for p, q in pairs), default=None)

    def neighbours(self, a: int, b: int) -> bool:
        """Two pins of one part at most 1.25 pitches apart."""
        parts = self.seats.columns.part
        part = parts[a]
        if a == b or part != parts[b]:
            return False
        if part not in self._pitch:
            self._pitch[part] = self._find_pitch(part)
        near = self.distance2(a, b)
        return near is not None and 16 * near <= 25 * self._pitch[part]

    def _find_pitch(self, part: int) -> int:
        """The smallest squared distance, other than nought, of two pins; 0 if there is none.

        Every pair is looked at; the order by x only lets the search stop where
        x alone is already farther.
        """
        at = sorted(
            (x, y, i)
            for i, seat in enumerate(self.seats.all)
            if seat.part == part
            for x, y in seat.at
        )
        best = 0
        for k, (x, y, i) in enumerate(at):
            for u, v, j in at[k + 1 :]:
                if best and (u - x) ** 2 >= best:
                    break
                apart = (u - x) ** 2 + (v - y) ** 2
                if i != j and apart and (not best or apart < best):
                    best = apart
        return best
