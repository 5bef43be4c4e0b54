"""Channels of plans laid by hand: where nets force each other above and below."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from renet.channels.figures import Channel, channels_of
from renet.channels.lattice import Lattice
from renet.channels.obstacles import Ground
from renet.channels.plan import Plan
from renet.channels.routes import Piece, Route
from renet.channels.sizes import Sizes
from renet.channels.stackup import Directions

PITCH = 300
LATTICE = Lattice(0, 0, PITCH, 40, 30)
Corner = tuple[int, int]


def plan(*ways: list[Corner]) -> Plan:
    """One net per way; corners in grid steps, rows on layer 0, columns on layer 1."""
    routes = []
    for net, way in enumerate(ways):
        at = [(x * PITCH, y * PITCH) for x, y in way]
        pieces = tuple(Piece(int(a[0] == b[0]), *a, *b, False) for a, b in pairwise(at))
        routes.append(Route(net, 0, 1, True, pieces, tuple(at[1:-1]), len(at) - 2, 0))
    free = np.zeros((2, len(LATTICE)), dtype=np.int64)
    ground = Ground(LATTICE, (0, 1), free, free, free, free, free[0])
    sizes = Sizes(150, 150, 600, 300, "made")
    return Plan(Directions("hv", "made", {}), sizes, ground, tuple(routes), 0, 1)


def middle(one: Plan) -> Channel:
    """The channel of rows 10 to 19."""
    found = [c for c in channels_of(one) if c.layer == 0 and c.low == 10 * PITCH]
    assert len(found) == 1
    return found[0]


def test_nets_that_stand_above_each_other_need_a_track_each() -> None:
    """Left-edge alone would put the first and the last on one track: they do not touch."""
    one = [(0, 5), (0, 12), (5, 12), (5, 2)]
    two = [(5, 25), (5, 14), (10, 14), (10, 2)]
    three = [(10, 25), (10, 16), (15, 16), (15, 25)]
    found = middle(plan(one, two, three))
    assert (found.tracks, found.least, found.straight) == (3, 2, 3)
    found = middle(plan(one, two, [(x, 35 - y if y == 25 else y) for x, y in three]))
    assert (found.least, found.straight) == (2, 2)


@pytest.mark.parametrize("shift", [0, 1])
def test_a_circle_is_told_where_the_plan_needs_a_dogleg(shift: int) -> None:
    """Net 0 comes from above and leaves below, net 1 the other way about, in the same columns.

    One column further apart, nothing forces them.
    """
    one = [(2, 5), (2, 11), (6, 11), (6, 13), (10, 13), (10, 25)]
    two = [(2 + shift, 25), (2 + shift, 12), (10 + shift, 12), (10 + shift, 5)]
    found = middle(plan(one, two))
    assert found.least == 2
    assert found.straight == (2 if shift else None)
