"""What the values of a rules file must be: one :class:`Kind` for each sort of value."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any, NamedTuple

from renet.nearest import quoted
from renet.rules import Word

# Line of a value, or of what lies below it along these keys and list indices.
Lines = Callable[..., int]
Take = Callable[[Any, Lines], Any]


class Kind(NamedTuple):
    """What a value must be: told in words, shown by an example, and taken in.

    ``take`` gets the value and its line finder and returns the value for the
    record, or None when it is not of this kind.
    """

    must: str
    example: str
    take: Take


def _word(value: Any, line: Lines) -> Word | None:
    return Word(value, line()) if isinstance(value, str) and value else None


def _listed(take: Take, least: int = 1, most: float = math.inf) -> Take:
    """Takes a list of ``least`` to ``most`` values of one kind."""

    def take_list(value: Any, line: Lines) -> tuple[Any, ...] | None:
        if not isinstance(value, list) or not least <= len(value) <= most:
            return None
        taken = tuple(take(v, lambda *below, i=i: line(i, *below)) for i, v in enumerate(value))
        return None if any(v is None for v in taken) else taken

    return take_list


def _number(least: float, above: bool = False) -> Take:
    def take(value: Any, line: Lines) -> float | None:
        if isinstance(value, bool) or not isinstance(value, int | float):
            return None
        if not least <= value <= 1e9 or (above and value == least):  # refuses nan as well
            return None
        return float(value)

    return take


def _layer(value: Any, line: Lines) -> int | Word | None:
    if isinstance(value, int) and not isinstance(value, bool) and value != 0:
        return value
    return _word(value, line)


def _position(value: Any, line: Lines) -> int | None:
    return value if isinstance(value, int) and not isinstance(value, bool) and value > 0 else None


def _positions(value: Any, line: Lines) -> tuple[tuple[int, ...], ...] | None:
    """One set of positions or a list of sets."""
    one = _listed(_position, 2)(value, line)
    return _listed(_listed(_position, 2))(value, line) if one is None else (one,)


def choice(*names: str) -> Kind:
    """One of these words."""
    shown = " or ".join(quoted(name) for name in names)
    return Kind(
        f"must be {shown}",
        quoted(names[0]),
        lambda value, line: _word(value, line) if value in names else None,
    )


def _pairing(value: Any, line: Lines) -> Any:
    if value in ("straight", "mirrored", "row-swapped"):
        return _word(value, line)
    if not isinstance(value, dict) or not value:
        return None
    pairs = tuple((Word(a, line(a)), _word(b, lambda a=a: line(a))) for a, b in value.items())
    return None if any(b is None for _, b in pairs) else pairs


def _file(value: Any, line: Lines) -> Word | None:
    """A file in or below the folder of the rules file, so that rules cannot point elsewhere."""
    word = _word(value, line)
    if word is None or not word.isprintable() or "\\" in word or ":" in word:
        return None
    return None if word.startswith("/") or ".." in word.split("/") else word


def _flag(value: Any, line: Lines) -> bool | None:
    return value if isinstance(value, bool) else None


NAME = Kind("must be a name in quotes", '"U3"', _word)
PINS = Kind(
    "must be a list of one or more pin numbers, ranges or names",
    '["IO_A*", "12-27"]',
    _listed(_word),
)
NO_PINS = Kind("must be a list of pin numbers, ranges or names", PINS.example, _listed(_word, 0))
FAR_PINS = Kind("must be a list of one or more PART:PIN words", '["U3:12", "J3:*"]', _listed(_word))
NO_FAR_PINS = Kind("must be a list of PART:PIN words", FAR_PINS.example, _listed(_word, 0))
NETS = Kind("must be a list of one or more net names", '["/CLK", "/SPI_*"]', _listed(_word))
NO_NETS = Kind("must be a list of net names", NETS.example, _listed(_word, 0))
TWO_NETS = Kind("must name two nets, P and N", '["/CAN_P", "/CAN_N"]', _listed(_word, 2, 2))
BUS = Kind("must be a list of at least two net names", '["/D0", "/D1"]', _listed(_word, 2))
WORDS = Kind("must be a list of one or more names", '["TX", "RX"]', _listed(_word))
TUPLES = Kind(
    "must be a list of lists of PART:PIN words",
    '[["RN1:1", "RN1:8"], ["RN1:2", "RN1:7"]]',
    _listed(_listed(_word)),
)
SITES = Kind("must be a list of pairs of pins", '[["A3", "A4"]]', _listed(_listed(_word, 2, 2)))
INNER = Kind("must be sets of positions, counted from 1", "[[1, 2]]", _positions)
FILE = Kind("must be a file in the folder of the rules file or below it", '"functions.csv"', _file)
FLAG = Kind("must be true or false", "true", _flag)
AMOUNT = Kind("must be a number from 0 to 1e9", "5.0", _number(0.0))
POSITIVE = Kind("must be a number above 0, at most 1e9", "1.0", _number(0.0, above=True))
LAYERS = Kind(
    "must be a list of copper layers, counted from 1 at the front or -1 at the back, or names",
    "[1, -1]",
    _listed(_layer, 0),
)
MAP = Kind(
    'must be "straight", "mirrored", "row-swapped" or a table of pins', '{1 = "2"}', _pairing
)
