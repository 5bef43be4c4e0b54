"""What may trade places, as pin ids: the outcome of pools and units."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from renet.model import IntArray

Site = tuple[int, ...]
Key = tuple[int, ...]


class Exchange(NamedTuple):
    """How nets may lie on a site: turned end for end, and traded within ``inner`` positions.

    Positions count from 0.  The mirror image of an inner set of a reversible
    exchange is an inner set.
    """

    reversible: bool = False
    inner: tuple[tuple[int, ...], ...] = ()

    def key(self, nets: Key) -> Key:
        """The same for two tuples of nets exactly when turning and trading makes them equal."""
        plain = self._sorted(nets)
        return min(plain, self._sorted(nets[::-1])) if self.reversible else plain

    def _sorted(self, nets: Key) -> Key:
        made = list(nets)
        for positions in self.inner:
            values = sorted(nets[position] for position in positions)
            for position, net in zip(sorted(positions), values, strict=True):
                made[position] = net
        return tuple(made)


PLAIN = Exchange()


@dataclass(frozen=True, slots=True)
class Group:
    """Sites of equal length whose nets trade places whole; a pool has sites of one pin.

    ``sites`` are in the order of part reference and pin of their first pins.
    ``price_nm`` is the length that moving one pin must be worth.
    """

    rule: str
    line: int
    sites: tuple[Site, ...]
    price_nm: int
    exchange: Exchange = PLAIN

    @property
    def pins(self) -> tuple[int, ...]:
        """All pins, site by site."""
        return tuple(pin for site in self.sites for pin in site)

    def keys(self, nets: IntArray) -> list[Key]:
        """What stands on each site, up to turning and trading inside."""
        rows = nets[np.array(self.sites, dtype=np.int64)].tolist()
        if self.exchange == PLAIN:
            return list(map(tuple, rows))
        return [self.exchange.key(tuple(row)) for row in rows]
