"""What existing copper joins: which pads are one node, and what touches what it should not."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np

from renet.columns import PadColumns
from renet.model import Board, BoolArray, IntArray
from renet.shapes import Elements, cores, elements
from renet.touch import clusters, touching


class Mode(Enum):
    """What ``--copper`` says about the copper that is already there."""

    KEEP = "keep"
    RIP = "rip"
    IGNORE = "ignore"


@dataclass(frozen=True, slots=True)
class Joined:
    """Clusters of copper of one net: equal labels are joined.

    Labels run through all kinds of copper alike (numbered as in ``shapes``): a
    cluster is labelled by its lowest element, so one that holds a pad bears the
    id of its lowest pad.  Fills are those of all zones in file order.
    """

    elements: Elements
    label: IntArray

    @property
    def pads(self) -> IntArray:
        """The label of every pad."""
        return self.label[: self.elements.tracks]

    @property
    def tracks(self) -> IntArray:
        """The label of every track."""
        return self.label[self.elements.tracks : self.elements.vias]

    @property
    def vias(self) -> IntArray:
        """The label of every via."""
        return self.label[self.elements.vias : self.elements.fills]

    @property
    def fills(self) -> IntArray:
        """The label of every fill."""
        return self.label[self.elements.fills :]


def join(board: Board, cols: PadColumns, nets: BoolArray, no_net: bool = False) -> Joined:
    """Join copper of one net that touches on a shared layer.

    Tracks, vias and fills take part where ``nets`` (by net id) says so, those of
    no net where ``no_net`` does; pads always take part, for pads that overlap
    are one node whatever becomes of the rest.  Copper that does not take part
    stays alone.
    """
    table = elements(board)
    taken = np.append(nets, no_net)[table.net]
    taken[: len(cols)] = True
    return Joined(table, clusters(table, cores(board, table, taken)))


def foreign(board: Board, table: Elements, mine: BoolArray) -> IntArray:
    """Touching pairs (k, 2) of an element of ``mine`` and any element of another net, or of none.

    Elements that both have no net are never foreign to each other.
    """
    on_layers = int(np.bitwise_or.reduce(table.layers[mine], initial=0))
    others = (table.layers & on_layers) != 0
    return touching(table, cores(board, table, mine), cores(board, table, others), same_net=False)


def overlapping(board: Board, table: Elements, mine: BoolArray) -> IntArray:
    """Touching pairs (k, 2) of an element of ``mine`` and any other of the same net, or none."""
    nets = np.zeros(int(table.net.max(initial=0)) + 2, dtype=bool)
    nets[table.net[mine]] = True
    others = cores(board, table, nets[table.net])
    return touching(table, cores(board, table, mine), others, same_net=True)
