"""A second opinion on written files, by a second programmer.

``verify_board``, ``verify_records``, ``verify_netlist``, ``verify_edif`` and
``verify_returned`` look at bytes and recompute everything the slow, plain way.
Nothing here imports ``freedom``, ``copper``, ``tangle``, ``engine`` or
``write``: an error there cannot agree with itself here.
"""

from renet.verify.board import verify_board
from renet.verify.edif import verify_edif
from renet.verify.ipc356 import verify_records
from renet.verify.netlist import verify_netlist
from renet.verify.returned import verify_returned
from renet.verify.verdict import (
    BYTES,
    CHECKS,
    COPPER,
    MOVES,
    PARTITION,
    PINS,
    RULES,
    Counts,
    Expect,
    Finding,
    Moved,
    Place,
    Verdict,
)

__all__ = [
    "BYTES",
    "CHECKS",
    "COPPER",
    "MOVES",
    "PARTITION",
    "PINS",
    "RULES",
    "Counts",
    "Expect",
    "Finding",
    "Moved",
    "Place",
    "Verdict",
    "verify_board",
    "verify_edif",
    "verify_netlist",
    "verify_records",
    "verify_returned",
]
