"""What a pin's type and its name say about whether a signal may go there.

The word lists are common practice, no source: the forms in which supply,
ground, reference, oscillator, reset, boot, debug and open pins are usually
written.  They err towards keeping: a pin that they catch wrongly is listed
with its reason, and naming it by its number frees it.
"""

from __future__ import annotations

import re

SUPPLY = "supply"
GROUND = "ground"
OPEN = "not-connected"

_TYPES = {"power_in": SUPPLY, "power_out": SUPPLY, "no_connect": OPEN}

# One pattern a role, matched against a whole piece of a name in capitals.
# The order decides where two would match.
_WORDS = (
    (GROUND, r"\w*[ADEPS]?(GND|VSS)\w*|E?PAD|EP|THERMAL|[+-]?0V|SHIELD|SHELL"),
    ("reference", r"\w*V?REF[+-]?[A-Z]?\d*[+-]?|VREF\w*[+-]?"),
    (
        SUPPLY,
        r"[ADEIP]?V_?(CC|DD|EE|PP)[\w.+-]*|\w+_(VCC|VDD|AVDD|DVDD)\w*|IOV(CC|DD)\w*"
        r"|V_?(BAT|CAP|SYS|BUS|IN|OUT|IO|CORE|REG|PWR|PLL|AUX|INT|BST|M)_?\d*[+-]?"
        r"|A?VREG\w*|V[1-9]V?\d|[+-]?\d{1,2}V\d{0,2}|V[+-]|BAT[+-]?|VBACKUP|VTREF|VTARGET",
    ),
    (
        "oscillator",
        r"(\w+_)?OSC\w*|\w*XTAL\w*|X_?(IN|OUT|I|O)\d{0,2}K?|X[CL][12]|(L|H)(FX|SE|XT)\w{1,4}"
        r"|XT\w*|CLK_?IN\d?",
    ),
    (
        "reset",
        r"(\w*_)?[NC]?_?(RST|RESET)_?[BN]?\d?|PERST\w*|N?_?MCLR_?[BN]?|N?POR|RUN|CHIP_?(PU|EN)|EN",
    ),
    (
        "boot",
        r"(\w+_)?N?BOOT\w*|BSEL\d?|STRAP\w*|PROG(RAM)?_?[BN]?|C?DONE|INIT_?[BN]?|CFG_?\d"
        r"|CCLK",
    ),
    (
        "debug",
        r"(N?JTAG_?|NJ?|J)?T(DI|DO|MS|CK|RST)_?N?|JTAG\w*|(\w+_)?SW(D|DIO|CLK|DCLK|O|DAT|V)"
        r"|UPDI|DBG\w*|DEBUG\w*|PG(C|D|EC|ED)\d?|TEST(EN|MODE)?\d?",
    ),
    (OPEN, r"NC[0-9_]*|N\.C\.|DNC|RE?SV\w{0,2}|RSVD\w*"),
)
_PATTERNS = tuple((role, re.compile(words)) for role, words in _WORDS)

_PIECES = re.compile(r"[/(),;|\s]+|(?<=\w)-(?=\w)")
_MARKS = str.maketrans("", "", "~{}$")
_SUFFIX = re.compile(r"(_[A-Z]?\d{1,3}|\[\d{1,3}\])$")


def role_by_type(kind: str) -> str:
    """What an electrical type makes of a pin that carries no signal, "" for a signal pin."""
    return _TYPES.get(kind, "")


def role_by_name(name: str) -> str:
    """What a pin name makes of a pin that should not be traded unasked, "" for a signal pin.

    Every piece between ``/ ( ) , ; |``, blanks and inner hyphens is looked at,
    with and without a number hung on (``GND_15``, ``VCC[6]``): a pin that can
    be a debug pin is one.
    """
    if name.upper() == "N/C":
        return OPEN
    for piece in _PIECES.split(name.translate(_MARKS).upper()):
        for word in dict.fromkeys((piece, _SUFFIX.sub("", piece))):
            for role, pattern in _PATTERNS:
                if word and pattern.fullmatch(word):
                    return role
    return ""


def functions_in(name: str) -> tuple[str, ...]:
    """The functions that a pin name tells of: itself and its pieces, in order.

    ``PB3 (MOSI/OC2A)`` gives itself, ``PB3``, ``MOSI`` and ``OC2A``.
    """
    pieces = re.split(r"[/(),;|\s]+", name)
    return tuple(dict.fromkeys(word for word in (name, *pieces) if word))
