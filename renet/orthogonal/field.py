"""What the objective stands on: everything about a board that no exchange changes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from renet.channels.lattice import lay
from renet.channels.obstacles import ground_of, obstacles_of
from renet.channels.plan import Site
from renet.channels.sizes import Sizes
from renet.channels.stackup import Directions
from renet.copper import join
from renet.model import IntArray
from renet.orthogonal.cells import Cells, cells_of
from renet.orthogonal.escapes import Escape, escapes_of


@dataclass(frozen=True, slots=True)
class Field:
    """Escapes by pad, the cells, the pitch, weights of nets in thousandths."""

    escapes: tuple[Escape, ...]
    cells: Cells
    pitch: int
    weight: IntArray


def field_of(site: Site, directions: Directions, sizes: Sizes, weight: IntArray) -> Field:
    """The field of a board as the planner takes it."""
    joined = join(site.board, site.cols, site.counted)
    lattice = lay(_box(site), sizes.pitch, site.connections.ends.reshape(-1, 2))
    ground = ground_of(lattice, directions.layers, sizes, obstacles_of(site.board, site.counted))
    ways = "".join(directions.ways[layer] for layer in directions.layers)
    return Field(
        escapes_of(site.board, site.cols, joined, directions, sizes),
        cells_of(ground, ways),
        sizes.pitch,
        weight,
    )


def _box(site: Site) -> tuple[int, int, int, int]:
    """The box of the board's edge and of all pads."""
    edge = [point for line in site.board.edge for point in line]
    at = np.concatenate(
        [
            np.array(edge, dtype=np.int64).reshape(-1, 2),
            site.cols.corners.reshape(-1, 2),
            np.zeros((0 if len(site.cols) or edge else 1, 2), dtype=np.int64),
        ]
    )
    low, high = at.min(axis=0).tolist(), at.max(axis=0).tolist()
    return low[0], low[1], high[0], high[1]
