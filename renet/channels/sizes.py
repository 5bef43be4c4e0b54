"""Track width, clearance and via size of a plan: one set for the whole board.

Taken from the net class that carries most of the planned connections, with the
finer track or via that the board already has on those nets often (a class is a
starting value, copper is what was made); where the file has no classes, all from
the copper that the board already has on signal nets, the gap from what that copper
keeps; where it has none, from the defaults of facts, section 3
(0.15 mm track and gap, 0.6 mm via with a 0.3 mm hole; fabricators' usual minimum
for two layers).  The source is always named in the result.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection
from typing import NamedTuple

import numpy as np

from renet.channels.kept import gap_kept
from renet.errors import InputError
from renet.model import Board, BoolArray, IntArray, NetClass

TRACK_NM = 150_000
CLEARANCE_NM = 150_000
VIA_NM = 600_000
DRILL_NM = 300_000
LEAST_PITCH_NM = 20_000
OFTEN = 10


class Sizes(NamedTuple):
    """Nanometres throughout; ``source`` says where the figures are from."""

    track: int
    clearance: int
    via: int
    drill: int
    source: str

    @property
    def pitch(self) -> int:
        """Distance of neighbouring tracks of the grid."""
        return self.track + self.clearance

    @property
    def beside_via(self) -> int:
        """Least distance of a via's centre from the middle of a track of another net."""
        return (self.via + self.track + 1) // 2 + self.clearance

    @property
    def via_apart(self) -> int:
        """Least distance of the centres of vias of two nets."""
        return self.via + self.clearance


class Wanted(NamedTuple):
    """Sizes in nanometres that the user asked for; 0 where nothing was asked."""

    track: int = 0
    clearance: int = 0
    via: int = 0


NOTHING_ASKED = Wanted()


def sizes_of(
    board: Board, nets: IntArray, left_out: Collection[int], wanted: Wanted = NOTHING_ASKED
) -> Sizes:
    """Sizes for connections of ``nets`` (net ids, one per connection)."""
    found = (
        _finer(board, nets, _from_classes(board, nets))
        or _from_copper(board, left_out)
        or _defaults()
    )
    asked = [name for name in Wanted._fields if getattr(wanted, name)]
    if asked:
        named = f"{', '.join(asked)} as asked, else {found.source}"
        chosen = {name: getattr(wanted, name) for name in asked}
        found = found._replace(source=named, **chosen)
        if found.drill >= found.via:
            found = found._replace(drill=found.via // 2)
    if found.pitch < LEAST_PITCH_NM or min(found.track, found.clearance, found.via) <= 0:
        raise InputError(
            f"a track pitch of {found.pitch / 1e6:g} mm cannot be planned",
            "give --track, --clearance and --via in millimetres",
        )
    return found


def _defaults() -> Sizes:
    return Sizes(TRACK_NM, CLEARANCE_NM, VIA_NM, DRILL_NM, "defaults")


def _from_classes(board: Board, nets: IntArray) -> Sizes | None:
    """The class with most of the connections; nets that no class names count for the first."""
    if not board.classes:
        return None
    of = {name: index for index, entry in enumerate(board.classes) for name in entry.nets}
    votes = Counter(of.get(board.nets[net], 0) for net in nets.tolist())
    index = max(votes, key=lambda i: (votes[i], -i)) if votes else 0
    return _of_class(board.classes[index], board.classes[0])


def _of_class(entry: NetClass, fallback: NetClass) -> Sizes:
    """A size that the class does not give comes from the first class, then from the defaults."""
    return Sizes(
        entry.track or fallback.track or TRACK_NM,
        entry.clearance or fallback.clearance or CLEARANCE_NM,
        entry.via or fallback.via or VIA_NM,
        entry.drill or fallback.drill or DRILL_NM,
        f"net class {entry.name}",
    )


def _finer(board: Board, nets: IntArray, found: Sizes | None) -> Sizes | None:
    """Sizes of a class with the finer track and via that copper of ``nets`` shows."""
    if found is None:
        return None
    planned = np.zeros(len(board.nets) + 1, dtype=bool)
    planned[nets] = True
    track = _finest(board.tracks.width, planned[board.tracks.net])
    via = _finest(board.vias.size, planned[board.vias.net])
    if 0 < track < found.track:
        found = found._replace(track=track, source=f"{found.source}, track of the board")
    if 0 < via < found.via:
        drill = _finest(board.vias.drill, planned[board.vias.net] & (board.vias.size == via))
        source = f"{found.source}, via of the board"
        found = found._replace(via=via, drill=drill or min(found.drill, via // 2), source=source)
    return found


def _from_copper(board: Board, left_out: Collection[int]) -> Sizes | None:
    """The finest track and via that signal nets use often, and the gap they keep.

    The gap is at most a track (common practice, no source: gap and track of a board are
    of one size, and wider tracks carry power), and at most the default.
    """
    signal = np.ones(len(board.nets) + 1, dtype=bool)
    signal[list(left_out)] = False
    signal[-1] = False
    track = _finest(board.tracks.width, signal[board.tracks.net])
    if not track:
        return None
    via = _finest(board.vias.size, signal[board.vias.net]) or VIA_NM
    drill = _finest(board.vias.drill, signal[board.vias.net] & (board.vias.size == via))
    gap = gap_kept(board, signal, min(track, CLEARANCE_NM))
    return Sizes(track, gap, via, drill or min(DRILL_NM, via // 2), "copper of the board")


def _finest(values: IntArray, counts: BoolArray) -> int:
    """The smallest value that a tenth of them have at least; 0 where there is none."""
    votes = Counter(value for value in values[counts].tolist() if value > 0)
    often = [value for value, times in votes.items() if times * OFTEN >= votes.total()]
    return min(often, default=0)
