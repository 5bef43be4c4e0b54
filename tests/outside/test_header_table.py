"""A table of pin functions of others' making: the 40-pin header of gpiozero (BSD-3-Clause).

Its rows go through a CSV as a user would export them; what the draft then says of
instances is worked out here from the table itself.
"""

from __future__ import annotations

import re
from collections import defaultdict

import pytest
from cases.structures import board_of
from gpiozero.pins.data import PI4_J8

from renet.draft import draft_rules, explain, gather
from renet.read.functions import read_functions

_, _, TABLE = PI4_J8
FORM = re.compile(r"(UART|SPI|I2C)(\d) (\w+)")
PINS = {number: row for number, row in TABLE.items() if "gpio" in row}


def functions(row: dict[str, str]) -> list[tuple[str, str, str]]:
    """(kind, instance, signal) of a row."""
    found = (FORM.fullmatch(text) for text in row.values())
    return [(m[1], m[1] + m[2], m[3]) for m in found if m]


def csv() -> bytes:
    lines = ["part,pin,function"]
    for number, row in PINS.items():
        lines += [
            f"U1,{number},{text}" for key, text in row.items() if key in ("uart", "spi", "i2c")
        ]
    return "\n".join(lines).encode()


OFFERED: dict[str, dict[str, list[int]]] = defaultdict(lambda: defaultdict(list))
for at, line in PINS.items():
    for _kind, instance, signal in functions(line):
        OFFERED[instance][signal].append(at)
WANTED = {"UART": ("TXD", "RXD"), "SPI": ("MOSI", "SCLK"), "I2C": ("SDA", "SCL")}
BUSES = sorted(
    name for name, signals in OFFERED.items() if set(WANTED[name[:-1]]) <= signals.keys()
)


@pytest.mark.parametrize("bus", BUSES)
def test_a_bus_of_the_table_may_go_to_the_instances_that_the_table_gives(bus: str) -> None:
    signals = WANTED[bus[:-1]]
    nets = {OFFERED[bus][signal][0]: f"/{bus}_{signal}" for signal in signals}
    pins = [
        [str(number), PINS[number]["gpio"], "bidirectional", nets.get(number, "")]
        for number in sorted(PINS)
    ]
    board = board_of({"part": [{"ref": "U1", "value": "CTRL", "pins": pins}]})
    draft = draft_rules(gather(board, tables=read_functions(csv(), "table.csv")))
    (entry,) = (entry for entry in draft.entries if entry.section == "peripheral")
    fields = dict(entry.fields)
    same = [name for name in BUSES if name[:-1] == bus[:-1]]
    assert fields["instances"] == same
    assert dict(zip(fields["nets"], fields["signals"], strict=True)) == {
        f"/{bus}_{signal}": signal for signal in signals
    }
    assert "is free" in explain(draft, f"U1:{min(nets)}")


def test_the_header_itself_is_known_by_where_its_supplies_are() -> None:
    nets = {n: next(iter(row.values())) for n, row in TABLE.items() if "gpio" not in row}
    supplies = {"3V3": "+3V3", "5V": "+5V", "GND": "GND"}
    order = [*range(1, 41, 2), *range(40, 0, -2)]  # one row down, the other up
    pins = [[str(n), "", "", supplies.get(nets.get(n, ""), f"/N{n}")] for n in order]
    part = {"ref": "J8", "shape": "header", "pins": pins}
    draft = draft_rules(gather(board_of({"part": [part]})))
    assert "single-board-computer header" in explain(draft, "J8:3")
    assert draft.entries == ()
