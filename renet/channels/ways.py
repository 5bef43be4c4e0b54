"""What the path engines are asked and what they answer, on the track grid."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from renet.model import IntArray

Floats = NDArray[np.float64]


class Ends(NamedTuple):
    """Where a connection may get on the grid at one end: nodes, what each costs, its stub or -1."""

    nodes: IntArray
    cost: Floats
    stubs: IntArray


class Window(NamedTuple):
    """Rows and columns of a part of the grid, last ones not included."""

    top: int
    left: int
    bottom: int
    right: int


class Prices(NamedTuple):
    """What using a node, a diagonal or a via costs more per net in the way, and for its past."""

    present: float
    nodes: Floats
    cells: Floats
    vias: Floats


class Way(NamedTuple):
    """Nodes in order from end to end, and the stubs at both ends (-1: none)."""

    nodes: IntArray
    first: int
    last: int
