"""What names say: of pins by the usual written forms, of nets by what engineers call them.

Supply, ground, reference, oscillator, reset, boot, debug and open pins are known to
``freedom.names``, which the drafting shares with the untangling.  Here stands what only
the drafting asks.  All word lists are common practice, no source, except where a
comment says otherwise; they err towards keeping.
"""

from __future__ import annotations

import re

from renet.freedom.names import role_by_name

# A port pin of a controller.
_PORT = re.compile(
    r"P[A-K]_?\d{1,2}|P\d{1,2}[._]\d{1,2}|GPIO_?[A-Z]?\d{1,3}([A-Z]|_\w+)?|GP\d{1,2}"
    r"|(P|M|H)?IO_?[A-Z]?\d{1,3}(_\d{1,2})?|IO_?[A-Z]{1,2}\d{1,2}"
)
# A pin of programmable logic: its place along an edge, or pair number and bank.
_CELL = re.compile(
    r"P[LRTB]\d{1,3}[A-D]|(P?IO)[LRTB]_?\d{1,3}[AB]?(_\w+)?|IO_L\d{1,2}[PN]\w*"
    r"|P?IO\d_\d{1,3}[AB]?|IO_\d{1,2}_\d{1,3}"
)
_PIECES = re.compile(r"[\\/(),;|\s]+")
_NET_PIECES = re.compile(r"[\\/(),;|\s]+|(?<=\w)-(?=\w)")
_MARKS = str.maketrans("", "", "~{}$")

_ROLES = (
    ("USB", re.compile(r"\w*USB\w*[+-]?|U?D[+-]|U?D[PMN]\d?|CC[12]?|SBU[12]?|VBUS")),
    (
        "radio",
        re.compile(r"RF(_\w+)?|RF_?(IN|OUT|IO|[PN]|\d)\w{0,2}|ANT(ENNA)?\w{0,3}|LNA_?\w{0,4}"),
    ),
    (
        "flash bus",
        re.compile(
            r"(Q|O)SPI\w*|\w*FLASH\w*|PSRAM\w*|SPI[CDQWH]{1,2}\w?|FSPI\w*"
            r"|\w+_SPI_\w+|CSSPIN|HOLDN?|SPICLK\w?|SPICS\d"
            r"|P?IO[LRTB]_\w+_(SS|SCK|SDI|SDO)"
        ),
    ),
    ("oscillator", re.compile(r"\w*(XTAL|CRYSTAL)\w*|OSC\w*|X(IN|OUT)\w?")),
    ("boot", re.compile(r"\w*(BOOT|CDONE|C_?RESET|CFG_?DONE|PROGRAMN?|STRAP|CBSEL|PUDC)\w*")),
    ("reset", re.compile(r"\w*(RESET|_RST|RSTN?_|NRST|MCLR)\w*|RSTN?")),
    (
        "debug",
        re.compile(r"\w*(JTAG|SWDIO|SWCLK|SWD|SWO|DBG|DEBUG)\w*|UPDI|(\w+_|M)T(DI|DO|MS|CK)"),
    ),
    (
        "safety",  # facts 8.4: locked unless the engineer names it
        re.compile(r"\w*(ESTOP|E_STOP|INTERLOCK|WATCHDOG|WDT|WDI|CHARGER|SAFETY)\w*"),
    ),
)

# Words by which a net says that it needs a peripheral.
_BUS = re.compile(
    r"(.*_)?(SCL|SDA|TXD?|RXD?|RTS|CTS|MISO|MOSI|SCLK|SCK|CIPO|COPI|SDO|SDI|NSS|BCLK|LRCLK|MCLK"
    r"|CANH?|CANL?|FDCAN|I2C|I2S|(LP)?US?ART|SPI|SAI|SDIO|SDMMC|SI|SO|DIN|DOUT|PWM|TIM"
    r"|ADC|DAC|AIN|MDIO|MDC|CMD|DAT|CLK|SENSE|ANALOG|TEMP|NTC|WIPER|POT|TOUCH|FADER|AUDIO|MIC)\d{0,2}(_.*)?[+-]?"
)
_ANALOG = re.compile(r"(ADC\w*|AIN\d*|AN\d+|DAC\w*|A\d{1,2}|VIN[PM]?\d*|COMP\w*)[+-]?")
_CLOCK_NET = re.compile(r"(.*_)?CLK_?(IN|\d+_?M\w*)?\d?|CLOCK\w*|\d+M(HZ)?(_CLK)?|.*OSC.*")
_SERIAL_CLOCK = re.compile(r".*(SCK|SCLK|SPI\w*CLK|I2S|BCLK|MCLK|SCL|SD_?CLK|TCK).*")

FUNCTION = re.compile(r"([A-Z][A-Z0-9]*?)(\d*)(@[A-Za-z0-9]+)?_([A-Z][A-Z0-9_]*[+-]?)")
PRIVATE = re.compile(r"(Net-\(|N-\d|unconnected-)")


def pieces(name: str, number: str = "") -> tuple[str, ...]:
    """The pieces of a pin name in capitals; a pad number hung on at its end is cut off."""
    plain = name.translate(_MARKS).upper()
    if number and plain.endswith(f"_{number.upper()}"):
        plain = plain[: -len(number) - 1]
    return tuple(piece for piece in _PIECES.split(plain) if piece)


def is_cell(name: str, number: str = "") -> bool:
    """Whether a pin name is that of a pin of programmable logic."""
    return any(_CELL.fullmatch(piece) for piece in pieces(name, number))


def is_port(name: str, number: str = "") -> bool:
    """Whether a pin name is that of a port pin of a controller, or of logic."""
    return is_cell(name, number) or any(_PORT.fullmatch(p) for p in pieces(name, number))


def last_word(net: str) -> str:
    """A net's own name below its sheets, in capitals."""
    return net.translate(_MARKS).rstrip("/").rsplit("/", 1)[-1].upper()


def pin_role(name: str, number: str = "") -> str:
    """The role that a pin name gives, "" for a pin that only carries signals."""
    found = pieces(name, number)
    for piece in found:
        role = role_by_name(piece) or _role(piece)
        if role:
            return role
    return role_by_name(name)


def net_role(net: str) -> str:
    """The role that a net's own name gives, "" for an ordinary signal."""
    if PRIVATE.match(net.rsplit("/", 1)[-1]) or PRIVATE.match(net):
        return ""
    for piece in _NET_PIECES.split(last_word(net)):
        role = _role(piece) or role_by_name(piece)
        if role:
            return role
    return ""


def _role(piece: str) -> str:
    return next((role for role, words in _ROLES if words.fullmatch(piece)), "")


def bus_word(net: str) -> bool:
    """Whether a net's name says that a peripheral stands behind it."""
    return any(_BUS.fullmatch(piece) for piece in _NET_PIECES.split(last_word(net)) if piece)


def interrupt(net: str) -> bool:
    """Whether a net is called like one that interrupts."""
    return bool(re.fullmatch(r"(.*_)?(INT|IRQ|NINT)\d?(_.*)?", last_word(net)))


def analog(name: str, number: str = "") -> bool:
    """Whether a pin name is that of an analogue pin and nothing else."""
    found = pieces(name, number)
    return bool(found) and all(_ANALOG.fullmatch(piece) for piece in found)


def clock_net(net: str) -> bool:
    """Whether a net is called like a clock that drives logic; a serial clock is a signal."""
    word = last_word(net)
    return bool(_CLOCK_NET.fullmatch(word)) and not _SERIAL_CLOCK.fullmatch(word)
