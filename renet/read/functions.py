"""A CSV of pin functions (part, pin, function, perhaps mapping) -> records of the rules file."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable

from renet.errors import RulesError
from renet.mappings import put, spread, taken_apart
from renet.nearest import quoted, suggestion
from renet.rules import Offers, Rules, Word

COLUMNS = ("part", "pin", "function")
MAPPING = "mapping"
MAX_BYTES = 16 << 20


def with_functions(rules: Rules, read: Callable[[str], bytes]) -> Rules:
    """``rules`` with every ``[[offers]]`` that names a file replaced by the rows of that file.

    ``read`` gets the name as the rules file has it.
    """
    offers: list[Offers] = []
    for record in rules.offers:
        offers += read_functions(read(record.file), record.file) if record.file else [record]
    return rules._replace(offers=tuple(offers))


def read_functions(data: bytes, file: str) -> list[Offers]:
    """One record for each pin of the file, in the order in which pins first appear.

    Raises RulesError that names ``file`` and the line.  The columns may stand in
    any order and have other columns beside them; rows without any text are skipped.
    The rows of a pin are all that it can do, whatever its name says.
    """
    reader = csv.reader(io.StringIO(_decode(data, file), newline=""), strict=True)
    found: dict[tuple[str, str], tuple[int, list[str]]] = {}
    places: tuple[int, ...] = ()
    try:
        for row in reader:
            cells = [cell.strip() for cell in row]
            if not any(cells):
                continue
            if not places:
                places = _header(cells, file, reader.line_num)
                continue
            part, pin, word, mapping = _cells(cells, places, file, reader.line_num)
            function = _placed(word, mapping, file, reader.line_num)
            found.setdefault((part, pin), (reader.line_num, []))[1].append(function)
    except csv.Error as error:
        raise RulesError(f"not CSV: {error}", file=file, line=reader.line_num) from None
    names: dict[tuple[str, str], tuple[str, ...]] = {}
    for part in dict.fromkeys(part for part, _ in found):
        names |= spread({key: row[1] for key, row in found.items() if key[0] == part})
    return [
        Offers(
            Word(part, line, file), (Word(pin, line, file),), names[part, pin], only=True, line=line
        )
        for (part, pin), (line, _) in found.items()
    ]


def _decode(data: bytes, file: str) -> str:
    if len(data) > MAX_BYTES:
        raise RulesError(f"larger than {MAX_BYTES >> 20} MiB", "split the file", file=file)
    try:
        return data.removeprefix(b"\xef\xbb\xbf").decode()
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise RulesError("not UTF-8 text", "save the file as UTF-8", file=file, line=line) from None


def _header(cells: list[str], file: str, line: int) -> tuple[int, ...]:
    titles = [cell.lower() for cell in cells]
    for column in COLUMNS:
        if column not in titles:
            raise RulesError(
                f"the first row has no column {quoted(column)}",
                suggestion(column, titles, "the first row must be part,pin,function"),
                file=file,
                line=line,
            )
    last = [titles.index(MAPPING)] if MAPPING in titles else []
    return (*(titles.index(column) for column in COLUMNS), *last)


def _cells(cells: list[str], places: tuple[int, ...], file: str, line: int) -> list[str]:
    """Part, pin, function, and the mapping or ""."""
    found = [cells[at] if at < len(cells) else "" for at in places]
    for column, cell in zip(COLUMNS, found, strict=False):
        if not cell:
            raise RulesError(f"no {column} in this row", "fill it in", file=file, line=line)
    return [*found, ""][: len(COLUMNS) + 1]


def _placed(function: str, mapping: str, file: str, line: int) -> str:
    """The function in its mapping; RulesError where it can be in none."""
    if not mapping:
        return function
    one = taken_apart(function)
    if one is None or one.mapping not in ("", mapping):
        raise RulesError(
            f"{quoted(function)} cannot be in mapping {quoted(mapping)}",
            "write the function as INSTANCE_SIGNAL",
            file=file,
            line=line,
        )
    if not re.fullmatch("[A-Za-z0-9]+", mapping):
        raise RulesError(
            f"{quoted(mapping)} is no mapping", "write letters and digits", file=file, line=line
        )
    return put(one.instance, mapping, one.signal)
