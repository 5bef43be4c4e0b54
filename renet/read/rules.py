"""Rules file -> records.

One table says what every section may hold; one reader goes by it.  A new kind
of rule is a record in ``renet.rules`` and a row in ``SECTIONS``.  What the words
mean on a board is not looked at here.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from renet import rules
from renet.errors import RulesError
from renet.nearest import quoted, suggestion
from renet.read.kinds import (
    AMOUNT,
    BUS,
    FAR_PINS,
    FILE,
    FLAG,
    INNER,
    LAYERS,
    MAP,
    NAME,
    NETS,
    NO_FAR_PINS,
    NO_NETS,
    NO_PINS,
    PINS,
    POSITIVE,
    SITES,
    TUPLES,
    TWO_NETS,
    WORDS,
    Kind,
    choice,
)
from renet.read.toml import Document, Path, parse
from renet.rules import Rules


class Section(NamedTuple):
    """A section: its name, its field in ``Rules``, its record and the kinds of its keys.

    ``one_of``: sets of keys, of which exactly one set must be there in full; flags aside.
    """

    name: str
    field: str
    record: Any
    keys: Mapping[str, Kind]
    one_of: tuple[tuple[str, ...], ...] = ()


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
        {"part": NAME, "pins": PINS, "functions": WORDS, "file": FILE, "only": FLAG},
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
        {"part": NAME, "nets": BUS, "direction": choice("either", "ascending", "descending")},
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
            "kind": choice("fast", "quiet"),
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
    found = read_sections(parse(data), SECTIONS)
    layers, tangle = found.pop("board", ()), found.pop("tangle", ())
    known = {section.name: section for section in SECTIONS}
    return Rules(
        horizontal=tuple(word for record in layers for word in record.horizontal),
        vertical=tuple(word for record in layers for word in record.vertical),
        include=tuple(word for record in tangle for word in record.include),
        leave_out=tuple(word for record in tangle for word in record.leave_out),
        board_line=layers[0].line if layers else 0,
        tangle_line=tangle[0].line if tangle else 0,
        **{known[name].field: records for name, records in found.items()},
    )


def read_sections(document: Document, sections: Sequence[Section]) -> dict[str, tuple[Any, ...]]:
    """The records of every section that is there, by its name; RulesError for any other."""
    known = {section.name: section for section in sections}
    for name in document.values:
        if name not in known:
            do = suggestion(name, known, f"the sections are {', '.join(known)}")
            raise _wrong(document, (name,), f"unknown section {quoted(name)}", do)
    return {
        name: _records(document, section)
        for name, section in known.items()
        if name in document.values
    }


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
        told = tuple(key for key, kind in section.keys.items() if key in table and kind is not FLAG)
        if told not in section.one_of:
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
