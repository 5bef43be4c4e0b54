"""A netlist of either kind, for those who only want to know what it says."""

from __future__ import annotations

from renet.model import Netlist
from renet.read.edif import read_edif
from renet.read.kind import EDIF, NETLIST, kind_of
from renet.read.netlist import read_netlist

NETLISTS = (NETLIST, EDIF)


def read_any_netlist(data: bytes) -> Netlist:
    """What the netlist in ``data`` says; InputError with line and column."""
    return read_edif(data)[0] if kind_of(data) == EDIF else read_netlist(data)[0]
