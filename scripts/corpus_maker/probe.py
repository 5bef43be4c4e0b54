"""The sonde's probe board: it meets the buoy's J7 with its own J1, pin by pin.

The carried nets have the same names on both boards.  On this side, too, they
went to whichever pins of the small controller were near, in no good order.
"""

from __future__ import annotations

from corpus_maker import kinds as k
from corpus_maker.buoy import SONDE, Row
from corpus_maker.design import Design, NetClass, Part, mm
from corpus_maker.fills import pour
from corpus_maker.grid import WIDTHS
from corpus_maker.router import Router

PARTS: list[Row] = [
    ("J1", k.HEADER_2X10, "BUOY", 6, 18, 0),
    ("U1", k.SMALL_CONTROLLER, "CTRL32", 27, 18, 0),
    ("J2", k.HEADER_1X4, "ELECTRODES", 44, 10, 90),
    ("J3", k.HEADER_1X4, "OPTICS", 44, 26, 90),
    ("C1", k.CAPACITOR, "100 nF", 20, 11, 90),
    ("C2", k.CAPACITOR, "100 nF", 33, 10, 90),
    ("C3", k.CAPACITOR, "10 µF", 13.5, 5.5, 90),
    ("R1", k.RESISTOR, "10 k", 17, 31, 0),
    ("R2", k.RESISTOR, "1 k", 36, 32, 0),
    ("D1", k.LIGHT, "blue", 40.5, 33.5, 180),
    ("TP1", k.TEST_POINT, "SWDIO", 37, 17, 0),
    ("TP2", k.TEST_POINT, "SWCLK", 37, 20, 0),
    ("H1", k.HOLE, "M2.5", 20, 3, 0),
    ("H2", k.HOLE, "M2.5", 26, 33, 0),
]

PORTS = {
    "TX": "IO_A9", "RX": "IO_A2", "CLK": "IO_B8", "D0": "IO_A5", "D1": "IO_B10", "D2": "IO_A0",
    "D3": "IO_A7", "CS_PH": "IO_B6", "CS_OXY": "IO_A3", "CS_TURB": "IO_A10", "WIPER": "IO_B11",
    "PUMP": "IO_A1", "LEAK": "IO_B7", "WAKE": "IO_A4", "SYNC": "IO_B9", "LAMP": "IO_A6",
}  # fmt: skip

NETS = {
    "GND": "U1.VSS J1.2 J1.19 J2.4 J3.4 C1.2 C2.2 C3.2 D1.K",
    "+3V3": "U1.VDD U1.VDDA J1.20 C1.1 C2.1 C3.1 R1.1 J3.1",
    "/NRST": "U1.NRST R1.2",
    "/SWDIO": "U1.SWDIO TP1.1",
    "/SWCLK": "U1.SWCLK TP2.1",
    "/ELECTRODE_A": "U1.IO_B4 J2.3",
    "/ELECTRODE_B": "U1.IO_B5 J2.2",
    "/ELECTRODE_C": "U1.IO_A11 J2.1",
    "/OPTIC_OUT": "U1.IO_B3 J3.2",
    "/OPTIC_IN": "U1.IO_B2 J3.3",
    "/STATUS": "U1.IO_B0 R2.1",
    "=D1.2": "R2.2 D1.A",
}

ROUTED = ("/SWDIO", "/SWCLK", "/OPTIC_OUT", "/OPTIC_IN", "/ELECTRODE_A", "/ELECTRODE_B", "=D1.2",
          "/STATUS", "/NRST")  # fmt: skip


def probe() -> Design:
    """The probe board with two layers: sensors routed, the connector's nets not."""
    design = Design("probe", "Sonde probe", (mm(48), mm(36)), (mm(100), mm(80)), 2)
    design.parts = [
        Part(ref, kind, value, mm(x), mm(y), angle) for ref, kind, value, x, y, angle in PARTS
    ]
    for net, pins in NETS.items():
        design.connect(net, pins)
    for name, (pin, _) in SONDE.items():
        design.connect(f"/SONDE_{name}", f"J1.{pin} U1.{PORTS[name]}")
    names = tuple(design.net_names())
    design.classes = [NetClass("Default", mm(0.15), mm(0.2), mm(0.6), mm(0.3), names)]
    router = Router(design)
    for part, pad in design.pads_of("GND"):
        if pad.kind == "smd" and not router.drop("GND", part, pad, WIDTHS[0], lambda x, y: True):
            raise ValueError(f"no room for a via beside {part.ref}.{pad.number}")
    lost = [pin for net in (*ROUTED, "+3V3") for pin in router.join(net)]
    if lost:
        raise ValueError(f"not routed: {lost}")
    router.finish()
    design.zones.append(pour(design, "GND", -1, "ground"))
    return design
