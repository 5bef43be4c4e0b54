"""The change list as data: which pin had which net and which it gets.

A change list knows names only (part, pin, net), so it can be read against any
copy of the board, the netlist, or the schematic.  All ``was`` are read before
any ``is`` is written: the order of moves carries no meaning.
"""

from __future__ import annotations

from typing import NamedTuple


class Figures(NamedTuple):
    """Tangle in four numbers, or a difference of two tangles."""

    crossings: int
    overlaps: int
    over_pads: int
    length_mm: float


class Move(NamedTuple):
    """One pin: the net it had and the net it gets; None is no net."""

    part: str
    pin: str
    name: str
    was: str | None
    is_: str | None


class Swap(NamedTuple):
    """The smallest set of moves that can be taken or left alone (ids count from 1)."""

    id: int
    moves: tuple[Move, ...]
    alone: Figures | None = None
    lost_without: Figures | None = None


class Source(NamedTuple):
    """A file the list was made for: ``board`` or ``netlist``, its name and SHA-256."""

    kind: str
    file: str
    sha256: str


class Left(NamedTuple):
    """Copper of one net that leaves the board with the change."""

    net: str
    tracks: int
    vias: int
    fills: int


class ChangeList(NamedTuple):
    """Everything ``apply`` needs besides the files themselves.

    ``tied`` names the list of the board set that this one is a member of: no
    member is applied without the others.
    """

    sources: tuple[Source, ...]
    swaps: tuple[Swap, ...]
    copper: str = "keep"
    left: tuple[Left, ...] = ()
    tied: str = ""

    @property
    def moves(self) -> tuple[Move, ...]:
        """All moves of all swaps."""
        return tuple(move for swap in self.swaps for move in swap.moves)

    def only(self, ids: frozenset[int]) -> ChangeList:
        """The list with these swaps alone; their worth no longer holds and is dropped.

        What leaves the board depends on the swaps taken, so ``left`` is dropped too.
        """
        taken = tuple(Swap(s.id, s.moves) for s in self.swaps if s.id in ids)
        return ChangeList(self.sources, taken, self.copper, tied=self.tied)

    def inverse(self) -> ChangeList:
        """The list that undoes this one (nothing can bring back copper that left)."""
        swaps = tuple(
            Swap(s.id, tuple(m._replace(was=m.is_, is_=m.was) for m in s.moves)) for s in self.swaps
        )
        return ChangeList((), swaps, self.copper)
