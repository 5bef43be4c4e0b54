"""What becomes of existing copper when pins change nets.

Copper ties a pin to where it is, goes with it (a fan-out, see ``clusters``), or
has to leave the board (``rip``, ``ignore``).  The rules are those of the design
(sections 2 and 6); whatever is done, no copper touches a pad of another net that
did not touch one before.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import fields, replace
from typing import NamedTuple, TypeVar

import numpy as np

from renet.changes import Left
from renet.clusters import Clusters
from renet.columns import PadColumns, pad_columns
from renet.copper import Mode, foreign
from renet.model import NONE, Board, BoolArray, IntArray, Pin, Tracks, Vias, Zone

Rows = TypeVar("Rows", Tracks, Vias)


class Opened(NamedTuple):
    """The fan-out of a pin that ends with no net, by index: it takes the pin's private name."""

    pin: int
    tracks: tuple[int, ...]
    vias: tuple[int, ...]
    zones: tuple[int, ...]


class CopperChange(NamedTuple):
    """What a move of pins does to copper, by index in the board before it.

    ``removed_fills`` are (zone, fill) of zones that stay; ``removed_zones`` and
    ``zones`` are teardrops.  ``tracks``, ``vias`` and ``zones`` are (index, new net).  In
    ``left``, sorted by net, arcs count as tracks and the fills of teardrops as fills.
    """

    removed_tracks: tuple[int, ...] = ()
    removed_vias: tuple[int, ...] = ()
    removed_zones: tuple[int, ...] = ()
    removed_fills: tuple[tuple[int, int], ...] = ()
    tracks: tuple[tuple[int, int], ...] = ()
    vias: tuple[tuple[int, int], ...] = ()
    zones: tuple[tuple[int, int], ...] = ()
    left: tuple[Left, ...] = ()
    opened: tuple[Opened, ...] = ()


def present(board: Board, mode: Mode, movable: BoolArray) -> BoolArray:
    """The nets (by id) whose copper counts, before and after alike; ``movable`` is by pin."""
    if mode is Mode.IGNORE:
        return np.zeros(len(board.nets), dtype=bool)
    counts = np.ones(len(board.nets) + 1, dtype=bool)
    if mode is Mode.RIP:
        counts[[board.pins[pin].net for pin in np.flatnonzero(movable).tolist()]] = False
    return counts[:-1]


def held_pins(board: Board, cols: PadColumns, mode: Mode, movable: BoolArray) -> dict[int, str]:
    """Pins among ``movable`` that copper forbids to move, each with why, in order of ids."""
    pins = np.flatnonzero(movable).tolist()
    clusters = Clusters(board, cols, pins)
    held = {pin: _reaches(clusters, pin, mode) or _locked(clusters, pin) for pin in pins}
    free = [pin for pin in pins if not held[pin]]
    held.update(_shorted(clusters, free))
    return {pin: why for pin, why in held.items() if why}


def _reaches(clusters: Clusters, pin: int, mode: Mode) -> str:
    """Why the pin cannot leave its own copper; empty if it can.

    Where the copper of its net would leave the board, only overlapping pads hold it,
    and a teardrop of which only a part is at the pin.
    """
    if mode is Mode.KEEP or clusters.board.pins[pin].net == NONE:
        found = clusters.reached(pin)
    else:
        pads = [clusters.other_pad(pin, clusters.touched(pin))]
        held = pads + [cluster.part for cluster in clusters.of(pin)]
        found = next((element for element in held if element != NONE), NONE)
    return f"its copper reaches {clusters.describe(found)}" if found != NONE else ""


def _locked(clusters: Clusters, pin: int) -> str:
    mine = [*clusters.touched(pin), *clusters.fan_out(pin)]
    return "locked copper is tied to it" if clusters.table.locked[mine].any() else ""


def _shorted(clusters: Clusters, pins: Iterable[int]) -> dict[int, str]:
    """Pins whose pads, or the fan-out that would go with them, touch copper of another net."""
    table = clusters.table
    owner = np.full(len(table), NONE)
    for pin in pins:
        owner[[*clusters.board.pins[pin].pads, *clusters.fan_out(pin)]] = pin
    found: dict[int, str] = {}
    for mine, other in foreign(clusters.board, table, owner != NONE).tolist():
        name = clusters.board.net_name(int(table.net[other]))
        what = "copper without a net" if name is None else f"copper of {name}"
        found.setdefault(int(owner[mine]), f"its copper touches {what}")
    return found


def carry(board: Board, new_nets: Mapping[int, int], mode: Mode) -> tuple[Board, CopperChange]:
    """The board after pins took new nets (pin -> net id or -1), and what that did to copper.

    Pins that already have the net given do not count as moved.  That no pin is
    moved which :func:`held_pins` forbids is the caller's business.
    """
    moved = {pin: net for pin, net in sorted(new_nets.items()) if net != board.pins[pin].net}
    if not moved:
        return board, CopperChange()
    change = _Carry(board, moved, mode).change()
    return _edited(board, moved, change), change


class _Carry:
    """Decides, element by element, what goes along and what leaves.

    Locked tracks, vias and teardrops never leave: no moved pin touches them.
    """

    def __init__(self, board: Board, moved: Mapping[int, int], mode: Mode) -> None:
        clusters = Clusters(board, pad_columns(board), moved)
        self.board, self.table = board, clusters.table
        self.changed = np.zeros(len(board.nets) + 1, dtype=bool)
        if mode is not Mode.KEEP:
            self.changed[[board.pins[pin].net for pin in moved] + list(moved.values())] = True
        self.changed[NONE] = False
        fan_outs = {pin: clusters.fan_out(pin) for pin in moved}
        self.along = {e: net for pin, net in moved.items() for e in fan_outs[pin]}
        self.opened = {pin: fan_outs[pin] for pin, net in moved.items() if net == NONE}
        self.zone = clusters.zone
        self.drops = {
            clusters.zone(e): net for e, net in self.along.items() if e >= self.table.fills
        }

    def change(self) -> CopperChange:
        """All that happens, with what leaves counted by net."""
        table, zones = self.table, self.board.zones
        gone = self.changed[table.net] & ~table.locked
        gone[list(self.along)] = False
        tracks = np.flatnonzero(gone[table.tracks : table.vias])
        vias = np.flatnonzero(gone[table.vias : table.fills])
        drops = [z for z, zone in enumerate(zones) if zone.teardrop and self._leaves(z)]
        fills = [
            (z, fill)
            for z, zone in enumerate(zones)
            if self.changed[zone.net] and not zone.teardrop
            for fill in range(len(zone.fills))
        ]
        lost = [z for z, _ in fills] + [z for z in drops for _ in zones[z].fills]
        return CopperChange(
            removed_tracks=tuple(tracks.tolist()),
            removed_vias=tuple(vias.tolist()),
            removed_zones=tuple(drops),
            removed_fills=tuple(fills),
            tracks=self._along(table.tracks, table.vias),
            vias=self._along(table.vias, table.fills),
            zones=tuple(sorted(self.drops.items())),
            left=self._left(tracks, vias, lost),
            opened=tuple(self._opened(pin, found) for pin, found in self.opened.items() if found),
        )

    def _opened(self, pin: int, fan_out: Iterable[int]) -> Opened:
        """The fan-out of one pin, element by element of its kind."""
        table = self.table
        mine = sorted(e for e in fan_out if e >= table.tracks)
        return Opened(
            pin,
            tuple(e - table.tracks for e in mine if e < table.vias),
            tuple(e - table.vias for e in mine if table.vias <= e < table.fills),
            tuple(sorted({self.zone(e) for e in mine if e >= table.fills})),
        )

    def _along(self, first: int, stop: int) -> tuple[tuple[int, int], ...]:
        """What goes along among the elements of one kind, counted from its first."""
        kind = ((e - first, net) for e, net in self.along.items() if first <= e < stop)
        return tuple(sorted(kind))

    def _leaves(self, zone: int) -> bool:
        """Whether a teardrop leaves."""
        entry = self.board.zones[zone]
        return bool(self.changed[entry.net]) and not entry.locked and zone not in self.drops

    def _left(self, tracks: IntArray, vias: IntArray, zones: list[int]) -> tuple[Left, ...]:
        board = self.board
        counts = [
            Counter(board.tracks.net[tracks].tolist()),
            Counter(board.vias.net[vias].tolist()),
            Counter(board.zones[z].net for z in zones),
        ]
        nets = sorted(set().union(*counts))
        return tuple(Left(board.net_name(net) or "", *(c[net] for c in counts)) for net in nets)


def _edited(board: Board, moved: Mapping[int, int], change: CopperChange) -> Board:
    """The board with pins, pads and copper as they are after the move."""
    marks = any(pin.no_connect for pin in board.pins)
    pins, pads = list(board.pins), list(board.pads)
    for index, net in moved.items():
        pin = pins[index]
        pins[index] = pin._replace(net=net, no_connect=net == NONE and _marked(pin, marks))
        for pad in pin.pads:
            pads[pad] = pads[pad]._replace(net=net)
    return replace(
        board,
        pins=tuple(pins),
        pads=tuple(pads),
        tracks=_rows(board.tracks, change.removed_tracks, change.tracks),
        vias=_rows(board.vias, change.removed_vias, change.vias),
        zones=_zones(board.zones, change),
    )


def _marked(pin: Pin, marks: bool) -> bool:
    """Whether a pin that loses its net is marked as open: where the board does so, on its type."""
    return marks and pin.type != ""


def _rows(rows: Rows, removed: Iterable[int], renetted: Iterable[tuple[int, int]]) -> Rows:
    net, stays = rows.net.copy(), np.ones(len(rows), dtype=bool)
    for index, new in renetted:
        net[index] = new
    stays[list(removed)] = False
    edited = replace(rows, net=net)
    return replace(edited, **{f.name: getattr(edited, f.name)[stays] for f in fields(rows)})


def _zones(zones: tuple[Zone, ...], change: CopperChange) -> tuple[Zone, ...]:
    edited = list(zones)
    for index, net in change.zones:
        edited[index] = zones[index]._replace(net=net)
    for index, _ in change.removed_fills:
        edited[index] = zones[index]._replace(fills=())
    gone = set(change.removed_zones)
    return tuple(zone for index, zone in enumerate(edited) if index not in gone)
