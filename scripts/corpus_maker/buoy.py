"""The buoy's main board: parts, places and nets (millimetres from the top left corner).

An estuary water-quality buoy: a controller, a radio module, a memory card, four
analogue channels, four lamps.  The sonde connector J7 came late, when the rest
was routed; its nets went to whichever controller pins were free.
"""

from __future__ import annotations

from corpus_maker import kinds as k
from corpus_maker.design import Design, Kind, NetClass, Part, mm

SIZE = (90, 60)
ORIGIN = (60, 45)

Row = tuple[str, Kind, str, float, float, int]

FRONT: list[Row] = [
    ("U1", k.CONTROLLER, "CTRL100", 44, 30, 0),
    ("U2", k.RADIO, "LINK868", 17, 19, 0),
    ("U3", k.QUAD_AMPLIFIER, "AMP4", 40, 49, 0),
    ("U4", k.QUAD_GATE, "GATE4", 45, 13, 90),
    ("U5", k.REGULATOR, "REG33", 74, 10, 0),
    ("Y1", k.CRYSTAL, "16 MHz", 29.5, 29.75, 90),
    ("J1", k.BATTERY, "BATTERY", 66, 3.5, 0),
    ("J2", k.COAX, "ANTENNA", 4.75, 17, 0),
    ("J3", k.BUS_SOCKET, "SERVICE", 71, 56.5, 0),
    ("J4", k.CARD_SLOT, "CARD", 12, 45, 0),
    ("J5", k.HEADER_1X6, "ANALOGUE", 40, 57.25, 0),
    ("J6", k.HEADER_1X5, "DEBUG", 60, 48, 0),
    ("J7", k.HEADER_2X10, "SONDE", 83, 30, 0),
    ("RN1", k.ARRAY_4, "4x 47Ω", 71, 30, 0),
    ("FB1", k.BEAD, "600Ω @ 100 MHz", 52, 43, 0),
    ("SW1", k.BUTTON, "RESET", 54.5, 51, 0),
    ("D1", k.LIGHT, "red", 30, 4, 270),
    ("D2", k.LIGHT, "green", 34, 4, 270),
    ("D3", k.LIGHT, "amber", 54, 4, 270),
    ("D4", k.LIGHT, "white", 58, 4, 270),
    ("D5", k.DIODE, "60 V 1 A", 84, 9, 90),
    ("D6", k.DIODE, "60 V 1 A", 66, 10, 0),
    ("C1", k.CAPACITOR, "12 pF", 26, 28.25, 90),
    ("C2", k.CAPACITOR, "12 pF", 26, 32, 270),
    ("C7", k.LARGE_CAPACITOR, "22 µF", 70, 14.5, 90),
    ("C8", k.LARGE_CAPACITOR, "22 µF", 78.5, 14.5, 90),
    ("C9", k.CAPACITOR, "100 nF", 21.5, 29.5, 180),
    ("C10", k.CAPACITOR, "10 µF", 23.5, 50.5, 90),
    ("C15", k.CAPACITOR, "100 nF", 37, 43, 0),
    ("C16", k.CAPACITOR, "100 nF", 55, 13, 90),
    ("R1", k.RESISTOR, "22Ω", 69, 51, 90),
    ("R2", k.RESISTOR, "22Ω", 72, 51, 90),
    ("R3", k.RESISTOR, "10 k", 37, 41.25, 180),
    ("R4", k.RESISTOR, "10 k", 32.5, 43, 180),
    ("R5", k.RESISTOR, "1 k", 30, 8, 90),
    ("R6", k.RESISTOR, "1 k", 34, 8, 90),
    ("R7", k.RESISTOR, "1 k", 54, 8, 90),
    ("R8", k.RESISTOR, "1 k", 58, 8, 90),
    ("R9", k.RESISTOR, "47 k", 76.5, 46, 0),
    ("R10", k.RESISTOR, "100 k", 76, 39.5, 45),
    ("R11", k.RESISTOR, "10 k", 34.5, 45.75, 270),
    ("R12", k.RESISTOR, "1 k", 31.5, 47, 0),
    ("R13", k.RESISTOR, "1 k", 31.5, 48.75, 0),
    ("R14", k.RESISTOR, "10 k", 34.5, 52.25, 90),
    ("R15", k.RESISTOR, "1 k", 31.5, 52.25, 0),
    ("R16", k.RESISTOR, "1 k", 31.5, 50.5, 0),
    ("R17", k.RESISTOR, "10 k", 45.5, 52.25, 90),
    ("R18", k.RESISTOR, "1 k", 48.5, 52.25, 180),
    ("R19", k.RESISTOR, "1 k", 48.5, 50.5, 180),
    ("R20", k.RESISTOR, "10 k", 45.5, 45.75, 270),
    ("R21", k.RESISTOR, "1 k", 48.5, 47, 180),
    ("R22", k.RESISTOR, "1 k", 48.5, 48.75, 180),
    ("TP2", k.TEST_POINT, "3V3", 62, 16, 0),
    ("TP3", k.TEST_POINT, "SYNC", 66, 42, 0),
    ("TP4", k.TEST_POINT, "CLOCK", 76.5, 22, 0),
    ("H1", k.HOLE, "M3", 3.5, 3.5, 0),
    ("H2", k.HOLE, "M3", 86.5, 3.5, 0),
    ("H3", k.HOLE, "M3", 86.5, 56.5, 0),
    ("H4", k.HOLE, "M3", 24, 56.5, 0),
    ("FID", k.FIDUCIAL, "mark", 3, 35, 0),
    ("FID", k.FIDUCIAL, "mark", 78, 3, 0),
]

BACK: list[Row] = [
    ("C3", k.CAPACITOR, "100 nF", 40, 29.25, 0),
    ("C4", k.CAPACITOR, "100 nF", 43, 33.5, 90),
    ("C5", k.CAPACITOR, "100 nF", 48, 31, 180),
    ("C6", k.CAPACITOR, "100 nF", 46, 26.5, 270),
    ("C11", k.CAPACITOR, "10 nF", 34.25, 47.75, 0),
    ("C12", k.CAPACITOR, "10 nF", 34.25, 50.25, 0),
    ("C13", k.CAPACITOR, "10 nF", 45.75, 50.25, 180),
    ("C14", k.CAPACITOR, "10 nF", 45.75, 47.75, 180),
    ("C17", k.CAPACITOR, "1 µF", 47.5, 34.5, 0),
    ("TP1", k.TEST_POINT, "GND", 57, 56, 0),
]

SONDE = {
    "TX": ("3", "IO_B4"), "RX": ("4", "IO_E12"), "CLK": ("5", "IO_C8"), "D0": ("6", "IO_D11"),
    "D1": ("7", "IO_B13"), "D2": ("8", "IO_E7"), "D3": ("9", "IO_C13"), "CS_PH": ("10", "IO_B9"),
    "CS_OXY": ("11", "IO_A8"), "CS_TURB": ("12", "IO_D3"), "WIPER": ("13", "IO_E9"),
    "PUMP": ("14", "IO_D8"), "LEAK": ("15", "IO_E15"), "WAKE": ("16", "IO_C6"),
    "SYNC": ("17", "IO_D14"), "LAMP": ("18", "IO_D1"),
}  # fmt: skip
"""What the late connector carries: pin of J7, and the controller pin that was free."""

THROUGH_ARRAY = {"D0": 3, "D1": 1, "D2": 4, "D3": 2}
"""Data lines pass the series array, each through the element that was nearest to hand."""

FANNED_OUT = ("IO_B4", "IO_E12", "IO_C8", "IO_B13", "IO_E7", "IO_C13", "IO_B9", "IO_D3")
"""Port pins of sonde nets that have a short track and a via already ..."""

FANNED_OUT_SPARE = ("IO_C10", "IO_D5")
"""... and two spare ones that got theirs with the rest."""

NETS = {
    "GND": """U1.VSS U1.VSSA U2.GND U2.GND_A U2.GND_B U2.GND_C U2.GND_D U2.GND_E U3.V- U4.GND
        U5.GND Y1.CASE1 Y1.CASE2 J1.2 J2.EXT J3.GND J3.SH J4.VSS J4.SH J5.1 J6.3 J7.2 J7.19
        SW1.2 C1.2 C2.2 C3.2 C4.2 C5.2 C6.2 C7.2 C8.2 C9.2 C10.2 C11.2 C12.2 C13.2 C14.2 C15.2
        C16.2 C17.2 R4.2 R10.2 R12.1 R15.1 R18.1 R21.1 D1.K D2.K D3.K D4.K TP1.1""",
    "+3V3": """U1.VDD U1.VBAT U2.VCC U4.VCC U5.OUT J4.VDD J6.1 J7.20 FB1.2 C3.1 C4.1 C5.1 C6.1
        C8.1 C9.1 C10.1 C16.1 R3.1 R9.1 TP2.1""",
    "+3V3A": "U1.VDDA U1.VREF U3.V+ J5.6 FB1.1 C17.1",
    "/VBATT": "J1.1 D6.A J7.1",
    "/VUSB": "J3.VBUS D5.A",
    "/VSYS": "D5.K D6.K U5.IN U5.EN C7.1",
    "/NRST": "U1.NRST R3.2 C15.1 SW1.1 J6.5",
    "/BOOT": "U1.BOOT0 R4.1",
    "/SWDIO": "U1.SWDIO J6.2",
    "/SWCLK": "U1.SWCLK J6.4",
    "/USB_DM": "U1.USB_DM R1.2",
    "/USB_DP": "U1.USB_DP R2.2",
    "=R1.1": "R1.1 J3.D-",
    "=R2.1": "R2.1 J3.D+",
    "=Y1.1": "Y1.X1 C1.1 U1.OSC_IN",
    "=Y1.3": "Y1.X2 C2.1 U1.OSC_OUT",
    "/ANT": "U2.ANT J2.IN",
    "/RADIO_CS": "U2.CS U1.IO_A0",
    "/RADIO_SCK": "U2.SCK U1.IO_A1",
    "/RADIO_SDO": "U2.SDO U1.IO_A2",
    "/RADIO_SDI": "U2.SDI U1.IO_A3",
    "/RADIO_BUSY": "U2.BUSY U1.IO_A4",
    "/RADIO_IRQ": "U2.IRQ U1.IO_A5",
    "/RADIO_RST": "U2.~{RST} U1.IO_A6",
    "/CARD_D2": "J4.D2 U1.IO_A11",
    "/CARD_D3": "J4.D3 U1.IO_A12",
    "/CARD_CMD": "J4.CMD U1.IO_A13",
    "/CARD_CLK": "J4.CLK U1.IO_A14",
    "/CARD_D0": "J4.D0 U1.IO_A15",
    "/CARD_D1": "J4.D1 U1.IO_B0",
    "/CARD_DETECT": "J4.DETECT U1.IO_B1",
    "/PH_IN": "J5.2 R13.1",
    "/OXY_IN": "J5.3 R16.1",
    "/TURB_IN": "J5.4 R19.1",
    "/COND_IN": "J5.5 R22.1",
    "=U3.3": "U3.IN_A+ R13.2 C11.1",
    "=U3.2": "U3.IN_A- R11.2 R12.2",
    "/SENSE_PH": "U3.OUT_A R11.1 U1.IO_C0",
    "=U3.5": "U3.IN_B+ R16.2 C12.1",
    "=U3.6": "U3.IN_B- R14.2 R15.2",
    "/SENSE_OXY": "U3.OUT_B R14.1 U1.IO_C1",
    "=U3.10": "U3.IN_C+ R19.2 C13.1",
    "=U3.9": "U3.IN_C- R17.2 R18.2",
    "/SENSE_TURB": "U3.OUT_C R17.1 U1.IO_C3",
    "=U3.12": "U3.IN_D+ R22.2 C14.1",
    "=U3.13": "U3.IN_D- R20.2 R21.2",
    "/SENSE_COND": "U3.OUT_D R20.1 U1.IO_C2",
    "/ARM": "U4.B1 U4.B2 U4.B3 U4.B4 U1.IO_E4",
    "/LAMP1": "U4.A1 U1.IO_E3",
    "/LAMP2": "U4.A2 U1.IO_E2",
    "/LAMP3": "U4.A3 U1.IO_E0",
    "/LAMP4": "U4.A4 U1.IO_E1",
    "=R5.1": "U4.Y1 R5.1",
    "=R6.1": "U4.Y2 R6.1",
    "=R7.1": "U4.Y3 R7.1",
    "=R8.1": "U4.Y4 R8.1",
    "=D1.2": "R5.2 D1.A",
    "=D2.2": "R6.2 D2.A",
    "=D3.2": "R7.2 D3.A",
    "=D4.2": "R8.2 D4.A",
}


def _part(row: Row, back: bool) -> Part:
    ref, kind, value, x, y, angle = row
    return Part(ref, kind, value, mm(x), mm(y), angle, back)


def _late_nets(design: Design) -> None:
    """The sonde's nets, from J7 to the controller, data lines through the array."""
    extra = {"WAKE": "R9.2", "LEAK": "R10.1", "SYNC": "TP3.1", "CLK": "TP4.1"}
    for name, (pin, port) in SONDE.items():
        if name in THROUGH_ARRAY:
            element = THROUGH_ARRAY[name]
            design.connect(f"/SONDE_{name}", f"J7.{pin} RN1.{9 - element}")
            design.connect(f"/{name}", f"RN1.{element} U1.{port}")
        else:
            design.connect(f"/SONDE_{name}", f"J7.{pin} U1.{port} {extra.get(name, '')}")


def buoy(layers: int = 4) -> Design:
    """The main board with its nets, nothing routed."""
    design = Design(
        "buoy",
        "Estuary buoy, main board",
        (mm(SIZE[0]), mm(SIZE[1])),
        (mm(ORIGIN[0]), mm(ORIGIN[1])),
        layers,
    )
    design.parts = [_part(row, False) for row in FRONT] + [_part(row, True) for row in BACK]
    for net, pins in NETS.items():
        design.connect(net, pins)
    _late_nets(design)
    supply = ("+3V3", "+3V3A", "/VBATT", "/VSYS", "/VUSB", "GND")
    signals = tuple(n for n in design.net_names() if n not in supply)
    design.classes = [
        NetClass("Default", mm(0.15), mm(0.2), mm(0.6), mm(0.3), signals),
        NetClass("Supply", mm(0.15), mm(0.4), mm(0.6), mm(0.3), supply),
    ]
    return design
