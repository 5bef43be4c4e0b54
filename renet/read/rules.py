"""Rules file -> records.

One table says what every section may hold; one reader goes by it.  A new kind
of rule is a record in ``renet.rules`` and a row in ``SECTIONS``.  What the words
mean on a board is not looked at here.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from renet import rules
from renet.errors import RulesError
from renet.nearest import quoted, suggestion
from renet.read.toml import Document, Path, parse
from renet.rules import Rules, Word


class Kind(NamedTuple):
    """What a value must be: told in words, shown by an example, and taken in.

    ``take`` gets the value and its line finder and returns the value for the
    record, or None when it is not of this kind.
    """

    must: str
    example: str
    take: Callable[[Any, Callable[..., int]], Any]


class Section(NamedTuple):
    """A section: its name, its field in ``Rules``, its record and the kinds of its keys.

    ``one_of``: sets of keys, of which exactly one set must be there in full.
    """

    name: str
    field: str
    record: Any
    keys: Mapping[str, Kind]
    one_of: tuple[tuple[str, ...], ...] = ()


def _word(value: Any, line: Callable[..., int]) -> Word | None:
    return Word(value, line()) if isinstance(value, str) and value else None


def _listed(
    take: Callable[[Any, Callable[..., int]], Any], least: int = 1, most: float = math.inf
) -> Callable[[Any, Callable[..., int]], Any]:
    """Takes a list of ``least`` to ``most`` values of one kind."""

    def take_list(value: Any, line: Callable[..., int]) -> tuple[Any, ...] | None:
        if not isinstance(value, list) or not least <= len(value) <= most:
            return None
        taken = tuple(take(v, lambda *below, i=i: line(i, *below)) for i, v in enumerate(value))
        return None if any(v is None for v in taken) else taken

    return take_list


def _number(least: float, above: bool = False) -> Callable[[Any, Callable[..., int]], Any]:
    def take(value: Any, line: Callable[..., int]) -> float | None:
        if isinstance(value, bool) or not isinstance(value, int | float):
            return None
        if not least <= value <= 1e9 or (above and value == least):  # refuses nan as well
            return None
        return float(value)

    return take


def _layer(value: Any, line: Callable[..., int]) -> int | Word | None:
    if isinstance(value, int) and not isinstance(value, bool) and value != 0:
        return value
    return _word(value, line)


def _position(value: Any, line: Callable[..., int]) -> int | None:
    return value if isinstance(value, int) and not isinstance(value, bool) and value > 0 else None


def _positions(value: Any, line: Callable[..., int]) -> tuple[tuple[int, ...], ...] | None:
    """One set of positions or a list of sets."""
    one = _listed(_position, 2)(value, line)
    return _listed(_listed(_position, 2))(value, line) if one is None else (one,)


def _choice(*names: str) -> Kind:
    shown = " or ".join(quoted(name) for name in names)
    return Kind(
        f"must be {shown}",
        quoted(names[0]),
        lambda value, line: _word(value, line) if value in names else None,
    )


def _pairing(value: Any, line: Callable[..., int]) -> Any:
    if value in ("straight", "mirrored", "row-swapped"):
        return _word(value, line)
    if not isinstance(value, dict) or not value:
        return None
    pairs = tuple((Word(a, line(a)), _word(b, lambda a=a: line(a))) for a, b in value.items())
    return None if any(b is None for _, b in pairs) else pairs


def _file(value: Any, line: Callable[..., int]) -> Word | None:
    """A file in or below the folder of the rules file, so that rules cannot point elsewhere."""
    word = _word(value, line)
    if word is None or not word.isprintable() or "\\" in word or ":" in word:
        return None
    return None if word.startswith("/") or ".." in word.split("/") else word


def _flag(value: Any, line: Callable[..., int]) -> bool | None:
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


class _Directions(NamedTuple):
    horizontal: tuple[int | str, ...] = ()
    vertical: tuple[int | str, ...] = ()
    line: int = 0


class _Tangle(NamedTuple):
    include: tuple[str, ...] = ()
    leave_out: tuple[str, ...] = ()
    line: int = 0


SECTIONS: tuple[Section, ...] = (
    Section("board", "", _Directions, {"horizontal": LAYERS, "vertical": LAYERS}),
    Section("tangle", "", _Tangle, {"include": NO_NETS, "leave_out": NO_NETS}),
    Section(
        "pool",
        "pools",
        rules.Pool,
        {"part": NAME, "pins": PINS, "keep": NO_PINS, "cost_mm": AMOUNT},
    ),
    Section(
        "unit",
        "units",
        rules.Unit,
        {"tuples": TUPLES, "reversible": FLAG, "inner": INNER, "cost_mm": AMOUNT},
    ),
    Section("mate", "mates", rules.Mate, {"a": NAME, "b": NAME, "map": MAP}),
    Section(
        "offers",
        "offers",
        rules.Offers,
        {"part": NAME, "pins": PINS, "functions": WORDS, "file": FILE},
        (("part", "pins", "functions"), ("file",)),
    ),
    Section(
        "needs",
        "needs",
        rules.Needs,
        {"nets": NETS, "functions": WORDS, "part": NAME, "shared": FLAG},
    ),
    Section(
        "peripheral",
        "peripherals",
        rules.Peripheral,
        {"nets": NETS, "signals": WORDS, "instances": WORDS, "part": NAME},
    ),
    Section(
        "order",
        "orders",
        rules.Order,
        {"part": NAME, "nets": BUS, "direction": _choice("either", "ascending", "descending")},
    ),
    Section(
        "pair",
        "pairs",
        rules.Pair,
        {"nets": TWO_NETS, "part": NAME, "sites": SITES, "invertible": FLAG},
    ),
    Section(
        "apart",
        "aparts",
        rules.Apart,
        {"nets": NETS, "others": NETS, "part": NAME, "distance_mm": POSITIVE},
    ),
    Section("beside", "besides", rules.Beside, {"nets": NETS, "part": NAME, "ground": NETS}),
    Section("domain", "domains", rules.Domain, {"name": NAME, "pins": FAR_PINS}),
    Section(
        "keep",
        "keeps",
        rules.Keep,
        {"nets": NO_NETS, "pins": NO_FAR_PINS},
        (("nets",), ("pins",), ("nets", "pins")),
    ),
    Section("weight", "weights", rules.Weight, {"nets": NETS, "factor": POSITIVE}),
    Section(
        "signal",
        "signals",
        rules.Signal,
        {
            "nets": NETS,
            "kind": _choice("fast", "quiet"),
            "swing_v": POSITIVE,
            "rise_ns": POSITIVE,
        },
    ),
)


def read_rules(data: bytes) -> Rules:
    """The records of a rules file, in the order of the file within each section.

    Raises RulesError with line and column.  A section may be written ``[name]``
    or ``[[name]]``.
    """
    document = parse(data)
    known = {section.name: section for section in SECTIONS}
    for name in document.values:
        if name not in known:
            do = suggestion(name, known, f"the sections are {', '.join(known)}")
            raise _wrong(document, (name,), f"unknown section {quoted(name)}", do)
    found = {
        name: _records(document, section)
        for name, section in known.items()
        if name in document.values
    }
    layers, tangle = found.pop("board", ()), found.pop("tangle", ())
    return Rules(
        horizontal=tuple(word for record in layers for word in record.horizontal),
        vertical=tuple(word for record in layers for word in record.vertical),
        include=tuple(word for record in tangle for word in record.include),
        leave_out=tuple(word for record in tangle for word in record.leave_out),
        board_line=layers[0].line if layers else 0,
        tangle_line=tangle[0].line if tangle else 0,
        **{known[name].field: records for name, records in found.items()},
    )


def _records(document: Document, section: Section) -> tuple[Any, ...]:
    value = document.values[section.name]
    path: Path = (section.name,)
    if isinstance(value, dict):
        return (_record(document, section, value, path),)
    if not isinstance(value, list) or not all(isinstance(entry, dict) for entry in value):
        what = f"{quoted(section.name)} must be a section"
        raise _wrong(document, path, what, f"write [[{section.name}]]")
    return tuple(
        _record(document, section, entry, (*path, index)) for index, entry in enumerate(value)
    )


def _record(document: Document, section: Section, table: dict[str, Any], path: Path) -> Any:
    title = f"[[{section.name}]]"
    for key in table:
        if key not in section.keys:
            do = suggestion(key, section.keys, f"the keys are {', '.join(section.keys)}")
            raise _wrong(document, (*path, key), f"unknown key {quoted(key)} in {title}", do)
    _check_complete(document, section, table, path)
    taken = {key: _value(document, section, (*path, key), table[key]) for key in table}
    return section.record(**taken, line=document.place(path).line)


def _check_complete(
    document: Document, section: Section, table: dict[str, Any], path: Path
) -> None:
    title = f"[[{section.name}]]"
    if section.one_of:
        if tuple(key for key in section.keys if key in table) not in section.one_of:
            choices = ", or ".join(" and ".join(keys) for keys in section.one_of)
            raise _wrong(document, path, f"{title} is not complete", f"it has either {choices}")
        return
    for key, kind in section.keys.items():
        if key not in table and key not in section.record._field_defaults:
            do = f"add a line such as {key} = {kind.example}"
            raise _wrong(document, path, f"{title} has no {quoted(key)}", do)


def _value(document: Document, section: Section, path: Path, value: Any) -> Any:
    key = str(path[-1])
    kind = section.keys[key]
    taken = kind.take(value, lambda *below: document.place((*path, *below)).line)
    if taken is None:
        what = f"{quoted(key)} of [[{section.name}]] {kind.must}"
        raise _wrong(document, path, what, f"write it like {key} = {kind.example}")
    return taken


def _wrong(document: Document, path: Path, what: str, do: str) -> RulesError:
    place = document.place(path)
    return RulesError(what, do, line=place.line, column=place.column)
