"""Nets that are planes and so no part of the tangle, by the definition and nothing faster."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from renet import geometry
from renet.model import Board
from renet.verify.facts import Facts
from renet.verify.scope import SUPPLY_TYPES, supply_net
from renet.verify.seats import Seat
from renet.verify.touching import covers

_MANY_PADS = 12


class Planes:
    """The planes of a board; InputError at once where a zone has a corner that is none."""

    def __init__(self, board: Board, facts: Facts, seats: Sequence[Seat]) -> None:
        self._board, self._facts, self._seats = board, facts, seats
        self._outlines: dict[int, list[bytes]] = {}
        for zone in board.zones:
            if zone.net >= 0 and not zone.teardrop and not zone.rule_area:
                self._outlines.setdefault(zone.net, []).extend(zone.outline)
        geometry.check_points([text for texts in self._outlines.values() for text in texts])

    def nets(self) -> frozenset[str]:
        """Nets whose zones cover half of their pads, or that are supplies by type or by name."""
        return self._covered() | self._supplies()

    def _covered(self) -> frozenset[str]:
        """Zones of the net that cover two of its pads or more (others are teardrops, marked or
        not) cover the centres of at least half of them.
        """
        facts, found = self._facts, set()
        for net, outlines in self._outlines.items():
            at = facts.at[:, (facts.net == net) & (facts.pin >= 0)].T
            pads: list[tuple[int, int]] = [(x, y) for x, y in at.tolist()]
            inside: set[int] = set()
            for area in filter(len, map(geometry.points, outlines)):
                boxed = (at >= area.min(axis=0)) & (at <= area.max(axis=0))
                near, corners = boxed.all(axis=1).nonzero()[0].tolist(), area.tolist()
                here = {i for i in near if covers(corners, pads[i])}
                if len(here) > 1:
                    inside |= here
            if pads and 2 * len(inside) >= len(pads):
                found.add(self._board.nets[net])
        return frozenset(found)

    def _supplies(self) -> frozenset[str]:
        seats, nets = self._seats, self._board.nets
        count = Counter(seat.was for seat in seats if seat.was and seat.type in SUPPLY_TYPES)
        found = {net for net, pins in count.items() if pins >= 2}
        if not any(seat.type for seat in seats):
            pads = Counter(self._facts.net[self._facts.net >= 0].tolist())
            found |= {
                nets[net]
                for net, number in pads.items()
                if number > _MANY_PADS and supply_net(nets[net])
            }
        return frozenset(found)
