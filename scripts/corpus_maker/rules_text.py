"""Rules files of the corpus, written as an engineer would write them."""

from __future__ import annotations

_HEAD = """\
# What may be traded on the buoy's main board, revision C.
#
# The sonde connector J7 came when the rest was routed, and its nets took
# whichever port pins of U1 were left. Firmware reads the pin map from one table,
# so a moved pin is cheap there; the sonde's cable is in stock, so J7 stays as it is.

[board]
horizontal = [1]    # front: tracks run across
vertical = [-1]     # back: tracks run up and down
"""

_TAIL = """\

[[keep]]
# Routed, and passed radio and card tests: nothing of it moves, whatever the copper option.
nets = ["/RADIO_*", "/CARD_*"]

[[keep]]
# Analogue inputs sit on the quiet side; the lamps share one gate part.
nets = ["/SENSE_*", "/LAMP?", "/ARM"]

[[keep]]
# The other end is a cable that exists.
pins = ["J7:*"]

[[weight]]
# The only clock of the sonde: a crossing of it is worth four.
nets = ["/SONDE_CLK"]
factor = 4.0
"""

BUOY = f"""\
{_HEAD}
[[pool]]
part = "U1"
pins = [
    "IO_A7", "IO_A8", "IO_A9", "IO_A10",    # left side, between radio and card
    "IO_B*",                                # bottom, plain ports
    "IO_C4", "IO_C5", "51-64",              # right side, from the debug pins up to IO_C15
    "IO_D*",                                # right side and top
    "IO_E*",                                # top
]
keep = ["SWDIO", "SWCLK", "USB_D?"]         # debug and service port: the cradle has pins for them
cost_mm = 5.0                               # a line in the firmware's pin table
{_TAIL}"""

BUOY_BY_NUMBER = f"""\
{_HEAD}
[[pool]]
# This board file knows no pin names, so the ports go by pad number.
part = "U1"
pins = [
    "9", "14-16",                           # IO_A7 ... IO_A10: left, between radio and card
    "24", "25", "28-33", "36-39",           # IO_B2 ... IO_B13: bottom
    "47-50",                                # IO_B14, IO_B15, IO_C4, IO_C5
    "55-64",                                # IO_C6 ... IO_C15: right side
    "67-82",                                # IO_D0 ... IO_D15: right side and top
    "90-100",                               # IO_E5 ... IO_E15: top
]
cost_mm = 5.0                               # a line in the firmware's pin table
{_TAIL}"""

BUOY_IN_RECORDS = """\
# What may be traded on the buoy's main board, as every kind of file can say it: pins by number,
# plane nets by name, since lists of records and EDIF netlists know neither planes nor pin types.

[tangle]
leave_out = ["GND", "+3V3", "+3V3A"]

[[pool]]
part = "U1"
pins = [
    "14", "15", "16", "28", "29", "30", "31", "32", "33", "36", "37", "38", "55", "56", "57",
    "58", "59", "60", "61", "63", "64", "67", "68", "69", "70", "75", "81", "94", "97", "100",
]

[[keep]]
# The netlist calls the elements of the resistor array permutable; they are soldered already.
pins = ["RN1:*"]
"""

PROBE = """\
# What may be traded on the sonde's probe board.
#
# J1 meets the buoy's J7 pin by pin: neither changes without the other.

[board]
horizontal = [1]
vertical = [-1]

[[pool]]
part = "U1"
pins = ["IO_A*", "IO_B6", "IO_B7", "IO_B8", "IO_B9", "IO_B10", "IO_B11"]
keep = ["IO_A11"]                           # reserved for the third electrode
cost_mm = 5.0

[[keep]]
# The sensor side is routed and calibrated.
nets = ["/ELECTRODE_?", "/OPTIC_*"]

[[keep]]
pins = ["J1:*"]
"""
