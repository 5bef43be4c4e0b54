"""What every kind of input can say of the buoy: pins by number, plane nets by name."""

RULES = b"""
[tangle]
leave_out = ["GND", "+3V3", "+3V3A"]

[[pool]]
part = "U1"
pins = [
    "14", "15", "16", "28", "29", "30", "31", "32", "33", "36", "37", "38", "55", "56", "57",
    "58", "59", "60", "61", "63", "64", "67", "68", "69", "70", "75", "81", "94", "97", "100",
]
"""
