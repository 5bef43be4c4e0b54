"""How each net of a swap moves: from which pins, with which functions, to which."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from renet.changes import Move, Swap
from renet.report.tables import net_shown, shown


class Seat(NamedTuple):
    """A pin and its function, as the part names it ("" if it has no name)."""

    pin: str
    name: str

    def __str__(self) -> str:
        return shown(f"{self.pin} {self.name}".rstrip())


class Route(NamedTuple):
    """A net on one part: the pins it leaves and the pins it takes, in list order."""

    net: str
    part: str
    left: tuple[Seat, ...]
    taken: tuple[Seat, ...]

    def __str__(self) -> str:
        was, now = (", ".join(map(str, seats)) or "-" for seats in (self.left, self.taken))
        return f"{net_shown(self.net)} on {shown(self.part)}: {was} -> {now}"


def routes(swap: Swap) -> list[Route]:
    """All nets of a swap by part, in the order in which its moves name them."""
    keys = dict.fromkeys(
        (move.part, net) for move in swap.moves for net in (move.was, move.is_) if net is not None
    )
    return [
        Route(
            net,
            part,
            _seats(m for m in swap.moves if m.part == part and m.was == net),
            _seats(m for m in swap.moves if m.part == part and m.is_ == net),
        )
        for part, net in keys
    ]


def touched(swaps: Iterable[Swap]) -> list[str]:
    """The nets that gain or lose a pin, by name."""
    moves = (move for swap in swaps for move in swap.moves)
    return sorted({net for move in moves for net in (move.was, move.is_) if net is not None})


def _seats(moves: Iterable[Move]) -> tuple[Seat, ...]:
    return tuple(Seat(move.pin, move.name) for move in moves)
