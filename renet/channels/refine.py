"""A plan carried over to a finer grid, each way where it was, to be mended there.

Where tracks at the distance of the coarse grid leave room unused, that of the finer one
lets some more through; to lay all of them anew on it would take long, and get stuck sooner.
"""

from __future__ import annotations

import numpy as np

from renet.channels.access import Stubs
from renet.channels.lattice import Lattice
from renet.channels.ways import Way
from renet.model import NONE, IntArray

STEPS = (2, 3)


def finer(lattice: Lattice, pitch: int) -> tuple[int, Lattice]:
    """A grid that has all points of ``lattice``, and how many of its steps make one of that.

    Of ``STEPS`` those that divide the pitch of the grid, and of these the one on which tracks
    at ``pitch`` waste least, then the coarsest; 1 and the grid itself where none does.
    """
    found = [step for step in STEPS if lattice.pitch % step == 0]
    if not found:
        return 1, lattice
    step = min(found, key=lambda step: (-(-pitch * step // lattice.pitch) / step, step))
    small = Lattice(
        lattice.x,
        lattice.y,
        lattice.pitch // step,
        (lattice.columns - 1) * step + 1,
        (lattice.rows - 1) * step + 1,
    )
    return step, small


def stubs_used(ways: list[Way | None], stubs: Stubs) -> IntArray:
    """The stubs of some ways, in the order of their numbers."""
    ends = [end for way in ways if way is not None for end in (way.first, way.last)]
    return np.unique(np.array([end for end in ends if end != NONE], dtype=np.int64))


def carried(
    ways: list[Way | None], lattice: Lattice, step: int, stub: dict[int, int]
) -> list[Way | None]:
    """The same ways on the grid that :func:`finer` has made of ``lattice``, so many steps a step.

    ``stub`` says which number a stub has there.
    """
    named = {NONE: NONE, **stub}
    columns, rows = (lattice.columns - 1) * step + 1, (lattice.rows - 1) * step + 1
    found: list[Way | None] = []
    for way in ways:
        if way is None:
            found.append(None)
            continue
        layer, point = np.divmod(way.nodes, len(lattice))
        row, column = np.divmod(point, lattice.columns)
        steps = np.append(np.where(np.diff(layer) == 0, step, 1), 1)
        layer = np.repeat(layer, steps)
        row, column = _in_steps(row, step, steps), _in_steps(column, step, steps)
        nodes = layer * rows * columns + row * columns + column
        found.append(Way(nodes, named[way.first], named[way.last]))
    return found


def _in_steps(line: IntArray, step: int, steps: IntArray) -> IntArray:
    """Rows or columns on the finer grid: from each on to the next in so many steps."""
    start = np.cumsum(steps) - steps
    past = np.arange(steps.sum()) - np.repeat(start, steps)
    moved: IntArray = np.repeat(line * step, steps) + past * np.repeat(
        np.append(np.diff(line), 0), steps
    )
    return moved
