"""Freedom -> the engine's problem: numbers only."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from renet.columns import PadColumns
from renet.engine.problem import Group as Seats
from renet.engine.problem import Problem
from renet.freedom.condition import Condition
from renet.freedom.groups import Group
from renet.freedom.needs import NeedsFunction
from renet.freedom.resolve import Freedom
from renet.model import Board, BoolArray, IntArray


def build_problem(
    board: Board,
    cols: PadColumns,
    freedom: Freedom,
    labels: IntArray,
    active: BoolArray,
    *,
    max_moves: int | None = None,
) -> Problem:
    """What the engine is asked.

    ``labels`` per pad: what copper joins; ``active`` per net: False is no part
    of the tangle.  Conditions that no free pin can break are left out.
    """
    needs = [one for one in freedom.conditions if isinstance(one, NeedsFunction)]
    nets = freedom.names.input_nets
    groups = tuple(_seats(group, needs, nets) for group in freedom.groups)
    wide = [pin for group in freedom.groups if len(group.sites[0]) > 1 for pin in group.pins]
    return Problem(
        cols=cols,
        pin_net=nets,
        pin_pads=tuple(pin.pads for pin in board.pins),
        labels=labels,
        active=active,
        weight=freedom.weight,
        groups=groups,
        max_moves=max_moves,
        conditions=tuple(_live(freedom, np.array(wide, dtype=np.int64))),
    )


def _live(freedom: Freedom, wide: IntArray) -> Sequence[Condition]:
    """Conditions that have to be asked: needs of pools are in ``allowed`` already."""
    free = np.flatnonzero(freedom.movable)
    return [
        one
        for one in freedom.conditions
        if np.isin(one.pins, wide if isinstance(one, NeedsFunction) else free).any()
    ]


def _seats(group: Group, needs: Sequence[NeedsFunction], nets: IntArray) -> Seats:
    sites = np.array(group.sites, dtype=np.int64)
    price = np.full(len(sites), group.price_nm, dtype=np.int64)
    allowed = _allowed(sites[:, 0], needs, nets) if sites.shape[1] == 1 else None
    return Seats(sites, price, group.exchange.reversible, group.exchange.inner, allowed)


def _allowed(pins: IntArray, needs: Sequence[NeedsFunction], nets: IntArray) -> BoolArray | None:
    """(item, site): whether the net of one pin may come to another; None where all may."""
    here = nets[pins]
    allowed = np.ones((len(pins), len(pins)), dtype=bool)
    for need in needs:
        needing = np.isin(here, sorted(need.nets))
        lacking = np.isin(pins, need.pins) & ~np.isin(pins, sorted(need.offering))
        allowed[np.ix_(needing, lacking)] = False
    same = here[:, None] == here[None, :]  # what stands there already may stay
    return None if (allowed | same).all() else allowed | same
