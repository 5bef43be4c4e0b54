"""One small board for tests that want names: a controller, a sonde connector, two arrays."""

from __future__ import annotations

from strategies.rules import Spec, pinned_board

from renet.freedom import Freedom, resolve
from renet.model import Board
from renet.read.rules import read_rules

CHIP = (
    # number, name, type, net
    ("1", "VDD", "power_in", "+3V3"),
    ("2", "IO_A1", "bidirectional", "/SONDE_TX"),
    ("3", "IO_A2", "bidirectional", "/SONDE_RX"),
    ("4", "IO_A3", "bidirectional", "/LED_A"),
    ("5", "IO_A4/SWDIO", "bidirectional", "/DEBUG_IO"),
    ("6", "~{RESET}", "input", "/RESET"),
    ("7", "IO_B1", "bidirectional", ""),
    ("8", "IO_B2", "bidirectional", "/CAN_P"),
    ("9", "IO_B3", "bidirectional", "/CAN_N"),
    ("10", "NC", "no_connect", ""),
    ("11", "IO_B4", "bidirectional", "GND"),
    ("12", "GND", "power_in", "GND"),
)
PLUG = ("GND", "/SONDE_TX", "/SONDE_RX", "/LED_A", "", "+3V3")
ARRAY = ("/SONDE_TX", "/LED_A", "/CAN_P", "", "/CAN_N", "/RESET", "/LED_A", "/SONDE_RX")
NETS = (
    *("+3V3", "/SONDE_TX", "/SONDE_RX", "/LED_A", "/DEBUG_IO", "/RESET"),
    *("/CAN_P", "/CAN_N", "GND", "/OLD"),
)


def buoy() -> Board:
    """U3 in a row, J7 in a row, RN1 and RN2 of 10k and RN9 of 4k7 with eight pins each."""
    chip = [Spec(number, name, kind, net, (int(number), 0)) for number, name, kind, net in CHIP]
    plug = [Spec(str(i), "", "passive", net, (0, i)) for i, net in enumerate(PLUG, start=1)]
    array = [
        Spec(str(i), f"R{i}", "passive", net, (i % 4, i // 5)) for i, net in enumerate(ARRAY, 1)
    ]
    parts = {"U3": chip, "J7": plug, "RN1": array, "RN2": array, "RN9": array}
    return pinned_board(parts, NETS, {"RN1": "10k", "RN2": "10k", "RN9": "4k7"})


def freedom_of(text: str, left_out: frozenset[int] = frozenset()) -> Freedom:
    """What a rules file sets free on the buoy."""
    return resolve(buoy(), read_rules(text.encode()), {}, left_out)


def labels(freedom: Freedom) -> list[str]:
    """The movable pins as ``PART:PIN``, in order."""
    board = freedom.names.board
    every = freedom.names.in_order(range(len(board.pins)))
    return [board.pin_label(pin) for pin in every if freedom.movable[pin]]


def kept(freedom: Freedom) -> dict[str, str]:
    """Pins that stay, with the reason."""
    return {freedom.names.label(pin): why for pin, why in freedom.kept}
