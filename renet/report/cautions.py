"""What no figure of this program says: printed once below every result that somebody might build.

Sources: the project's facts, section 8.  The standards are named from memory as places to
look, none of their text or limits stands here but the two voltages, which are common guidance
(A. Bahl, PCB Design Magazine, July 2014, p. 42).
"""

from __future__ import annotations

SCHEMATIC = (
    "The schematic is not changed yet: the next transfer from it would undo this board. "
    "Edit these pins there first, then check its netlist with `renet verify --netlist`."
)
ORDER = (
    "A moved pin changes firmware, test fixtures, harness and documents: nothing is released "
    "until the change order is approved."
)
PARTS = (
    "Data sheets, errata and reference manuals overrule every rule used here: alternate functions, "
    "boot levels, voltage tolerance, current per group of pins."
)
POWER_UP = (
    "At power-up and in reset an output on its new pin may be pulled or driven: check before "
    "first power."
)
SAFETY = (
    "Safety-related, interlock, emergency-stop, reset, watchdog, charger, battery and "
    "protective-earth nets: changes need a functional-safety review by the standard that applies."
)
VOLTAGE = (
    "Above about 30 V rms or 60 V dc, creepage and clearance come from the product standard, not "
    "from here; no net moves across an isolation barrier."
)
SURGE = (
    "Keep the path connector, suppressor, circuit: no net may come to bypass its suppressor. "
    "Handle boards by the rules against electrostatic discharge."
)
KINDS = (
    "Analogue, radio-frequency, matched-length, differential, clock and switching-node nets need "
    "their own rules."
)
LAW = "Not approved: local codes and law, the parts' data sheets and a licensed engineer decide."
ESTIMATES = (
    "Estimates are first-order, made with the stack-up and formulas named here; no field solution "
    "and no sign-off. Re-simulate above about 1 GHz of edge content."
)
PLAN = (
    "A plan is no layout: it proves room for straight tracks of one width, nothing about "
    "current, length matching, differential pairs or return paths."
)

OF_MOVES = (SCHEMATIC, ORDER, PARTS, POWER_UP, SAFETY, VOLTAGE, SURGE, KINDS, LAW)
"""Where pins move."""

OF_A_PLAN = (ESTIMATES, PLAN, KINDS, VOLTAGE, LAW)
"""Where tracks are planned."""


def cautions(moved: bool, planned: bool) -> tuple[str, ...]:
    """Each caution that applies, once."""
    return tuple(dict.fromkeys((*(OF_A_PLAN if planned else ()), *(OF_MOVES if moved else ()))))
