"""A record as JSON text, piece by piece: what holds thousands of crossings is long."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from typing import Any

_ENCODER = json.JSONEncoder(indent=1, ensure_ascii=True, allow_nan=False)


def json_pieces(record: dict[str, Any]) -> Iterator[str]:
    """The text of a record with one key at least, as ``json.dumps(record, indent=1)`` gives it.

    A value that is an iterator becomes a list; entries of lists are made into
    text, and let go of, one by one.
    """
    lead = "{"
    for key, value in record.items():
        yield f"{lead}\n {_ENCODER.encode(key)}: "
        lead = ","
        if isinstance(value, (list, tuple, Iterator)):
            yield from _entries(value)
        else:
            yield _inside(value, 1)
    yield "\n}"


def _entries(values: Iterable[Any]) -> Iterator[str]:
    lead = "["
    for value in values:
        yield f"{lead}\n  {_inside(value, 2)}"
        lead = ","
    yield "\n ]" if lead == "," else "[]"


def _inside(value: Any, depth: int) -> str:
    """A value's text, its later lines moved in; strings in JSON have no line ends of their own."""
    return _ENCODER.encode(value).replace("\n", "\n" + " " * depth)
