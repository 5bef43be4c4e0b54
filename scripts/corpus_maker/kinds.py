"""Symbols: the pins of every kind of part, by name and electrical type."""

from __future__ import annotations

from corpus_maker import outlines
from corpus_maker.design import Kind, Outline, PinDef

PASSIVE = "passive"
IN, OUT, BOTH = "input", "output", "bidirectional"
SUPPLY, SOURCE = "power_in", "power_out"


def _named(names: str, kinds: dict[str, str], default: str) -> tuple[PinDef, ...]:
    """Pins 1, 2, ... in the order of the names."""
    return tuple(
        PinDef(str(i + 1), name, kinds.get(name, default)) for i, name in enumerate(names.split())
    )


def _plain(outline: Outline) -> tuple[PinDef, ...]:
    """Unnamed passive pins, one per pad number."""
    return tuple(PinDef(n, "", PASSIVE) for n in dict.fromkeys(p.number for p in outline.pads) if n)


def _ports(letter: str, first: int, last: int) -> str:
    return " ".join(f"IO_{letter}{i}" for i in range(first, last + 1))


CONTROLLER_PINS = " ".join(
    (
        f"VBAT {_ports('A', 0, 7)} VDD VSS OSC_IN OSC_OUT {_ports('A', 8, 15)} {_ports('B', 0, 3)}",
        f"NRST BOOT0 {_ports('B', 4, 9)} VDD VSS {_ports('B', 10, 13)} VSSA VREF VDDA",
        f"{_ports('C', 0, 3)} {_ports('B', 14, 15)} {_ports('C', 4, 5)}",
        f"SWDIO SWCLK USB_DM USB_DP {_ports('C', 6, 15)} VDD VSS {_ports('D', 0, 8)}",
        f"{_ports('D', 9, 15)} VDD VSS {_ports('E', 0, 15)}",
    )
)
_CONTROLLER_TYPES = {
    **dict.fromkeys(("VBAT", "VDD", "VSS", "VSSA", "VREF", "VDDA"), SUPPLY),
    **dict.fromkeys(("NRST", "BOOT0", "OSC_IN", "SWCLK"), IN),
    "OSC_OUT": OUT,
}
CONTROLLER = Kind(
    "CTRL100", "U", "controller, 80 port pins", outlines.QUAD_100,
    _named(CONTROLLER_PINS, _CONTROLLER_TYPES, BOTH),
)  # fmt: skip

SMALL_CONTROLLER = Kind(
    "CTRL32", "U", "controller, 24 port pins", outlines.QUAD_32,
    _named(
        f"VDD NRST {_ports('A', 0, 5)} {_ports('A', 6, 11)} VSS VDDA "
        f"{_ports('B', 0, 5)} SWDIO SWCLK {_ports('B', 6, 11)} VDD VSS",
        {**dict.fromkeys(("VDD", "VSS", "VDDA"), SUPPLY), "NRST": IN, "SWCLK": IN},
        BOTH,
    ),
)  # fmt: skip

RADIO = Kind(
    "LINK868", "U", "radio module", outlines.RADIO,
    _named(
        "GND ANT GND_A TX_EN RX_EN GND_B TEST GND_C NC1 NC2 "
        "VCC GND_D ~{RST} IRQ BUSY SDI SDO SCK CS GND_E",
        {
            **dict.fromkeys(("GND", "GND_A", "GND_B", "GND_C", "GND_D", "GND_E", "VCC"), SUPPLY),
            **dict.fromkeys(("~{RST}", "SDI", "SCK", "CS"), IN),
            **dict.fromkeys(("IRQ", "BUSY", "SDO", "TX_EN", "RX_EN"), OUT),
            **dict.fromkeys(("NC1", "NC2"), "no_connect"),
        },
        PASSIVE,
    ),
)  # fmt: skip

CARD_SLOT = Kind(
    "CARD9", "J", "memory card slot", outlines.card_slot(),
    (
        *_named("D2 D3 CMD VDD CLK VSS D0 D1 DETECT", {"VDD": SUPPLY, "VSS": SUPPLY}, PASSIVE),
        PinDef("SH", "SHELL", PASSIVE),
    ),
)  # fmt: skip

BUS_SOCKET = Kind(
    "BUS5", "J", "serial bus socket", outlines.bus_socket(),
    (
        *_named("VBUS D- D+ ID GND", {"VBUS": SOURCE, "GND": SUPPLY}, PASSIVE),
        PinDef("SH", "SHELL", PASSIVE),
    ),
)  # fmt: skip

QUAD_AMPLIFIER = Kind(
    "AMP4", "U", "four amplifiers, rail to rail", outlines.NARROW_14,
    _named(
        "OUT_A IN_A- IN_A+ V+ IN_B+ IN_B- OUT_B OUT_C IN_C- IN_C+ V- IN_D+ IN_D- OUT_D",
        {
            **dict.fromkeys(("V+", "V-"), SUPPLY),
            **dict.fromkeys(("OUT_A", "OUT_B", "OUT_C", "OUT_D"), OUT),
        },
        IN,
    ),
    (("1", "2", "3"), ("5", "6", "7"), ("8", "9", "10"), ("12", "13", "14"), ("4", "11")),
)  # fmt: skip

QUAD_GATE = Kind(
    "GATE4", "U", "four gates of two inputs", outlines.NARROW_14,
    _named(
        "A1 B1 Y1 A2 B2 Y2 GND Y3 A3 B3 Y4 A4 B4 VCC",
        {
            **dict.fromkeys(("GND", "VCC"), SUPPLY),
            **dict.fromkeys(("Y1", "Y2", "Y3", "Y4"), OUT),
        },
        IN,
    ),
    (("1", "2", "3"), ("4", "5", "6"), ("8", "9", "10"), ("11", "12", "13"), ("7", "14")),
)  # fmt: skip

REGULATOR = Kind(
    "REG33", "U", "regulator, 3.3 V", outlines.regulator(),
    _named(
        "IN GND EN NC OUT",
        {"IN": SUPPLY, "GND": SUPPLY, "EN": IN, "NC": "no_connect", "OUT": SOURCE},
        PASSIVE,
    ),
)  # fmt: skip

CRYSTAL = Kind(
    "XTAL4", "Y", "crystal, case grounded", outlines.crystal(),
    _named("X1 CASE1 X2 CASE2", {}, PASSIVE),
)  # fmt: skip

LIGHT = Kind("LIGHT", "D", "light-emitting diode", outlines.LIGHT, _named("K A", {}, PASSIVE))
DIODE = Kind("DIODE", "D", "rectifier", outlines.LARGE_CHIP, _named("K A", {}, PASSIVE))
COAX = Kind("COAX", "J", "antenna socket", outlines.coax(), _named("IN EXT", {}, PASSIVE))


def plain(name: str, prefix: str, descr: str, outline: Outline) -> Kind:
    """A kind whose pins have no names."""
    return Kind(name, prefix, descr, outline, _plain(outline))


RESISTOR = plain("RES", "R", "resistor", outlines.SMALL_CHIP)
CAPACITOR = plain("CAP", "C", "capacitor", outlines.SMALL_CHIP)
LARGE_CAPACITOR = plain("CAP_L", "C", "capacitor", outlines.LARGE_CHIP)
BEAD = plain("BEAD", "FB", "ferrite bead", outlines.SMALL_CHIP)
ARRAY_4 = plain("RES_ARRAY4", "RN", "four isolated resistors", outlines.ARRAY_4)
ARRAY_8 = plain("RES_ARRAY8", "RN", "eight isolated resistors", outlines.ARRAY_8)
BUTTON = plain("BUTTON", "SW", "push button", outlines.button())
BATTERY = plain("BATT2", "J", "battery connector", outlines.battery())
HEADER_2X10 = plain("HDR2X10", "J", "header", outlines.HEADER_2X10)
HEADER_1X6 = plain("HDR1X6", "J", "header", outlines.HEADER_1X6)
HEADER_1X5 = plain("HDR1X5", "J", "header", outlines.HEADER_1X5)
HEADER_1X4 = plain("HDR1X4", "J", "header", outlines.HEADER_1X4)
TEST_POINT = plain("TEST", "TP", "test point", outlines.test_point())
HOLE = plain("HOLE", "H", "mounting hole", outlines.mounting_hole())
FIDUCIAL = plain("MARK", "FID", "placement mark", outlines.fiducial())
