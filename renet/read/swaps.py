"""Change lists: text to :class:`renet.changes.ChangeList`.

The structure is checked first, with positions, by our own syntax tree; the
values are then read by sexpdata, which knows no positions.  An unknown entry is
an error: a list that says more than this version understands must not be
applied in part.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import sexpdata

from renet.changes import ChangeList, Figures, Left, Move, Source, Swap
from renet.errors import InputError
from renet.syntax import parse

_ADVICE = "write the list anew with `renet untangle`"
_VERSION = 1


def read_swaps(data: bytes) -> ChangeList:
    """A change list from its bytes; InputError says which entry is wrong."""
    parse(data)
    document = sexpdata.loads(data.decode("utf-8"), nil=None, true=None)
    entries = _entries(document, "renet_swaps")
    version, sources, copper, lefts, swaps = 0, [], "keep", [], []
    for entry in entries:
        name = _name(entry)
        if name == "version":
            version = int(_value(entry, int))
        elif name == "source":
            sources.append(Source(**_record(entry, kind=_word, file=_text, sha256=_text)))
        elif name == "copper":
            copper = _word(entry)
        elif name == "left":
            lefts.append(Left(**_record(entry, net=_text, tracks=_int, vias=_int, fills=_int)))
        elif name == "swap":
            swaps.append(_swap(entry))
        else:
            raise InputError(f'change list: unknown entry "{name}"', _ADVICE)
    if version != _VERSION:
        raise InputError(f"change list: version {version} is not known here", _ADVICE)
    changes = ChangeList(tuple(sources), tuple(swaps), copper, tuple(lefts))
    _check(changes)
    return changes


def _check(changes: ChangeList) -> None:
    """What no single entry can show: words, ids and pins that occur twice."""
    if changes.copper not in ("keep", "rip", "ignore"):
        raise InputError(f'change list: unknown copper mode "{changes.copper}"', _ADVICE)
    if any(source.kind not in ("board", "netlist") for source in changes.sources):
        raise InputError("change list: a source is neither board nor netlist", _ADVICE)
    ids = [swap.id for swap in changes.swaps]
    if len(set(ids)) != len(ids):
        raise InputError("change list: two swaps have the same number", _ADVICE)
    seen: set[tuple[str, str]] = set()
    for move in changes.moves:
        if (move.part, move.pin) in seen:
            raise InputError(f"change list: {move.part}:{move.pin} is moved twice", _ADVICE)
        seen.add((move.part, move.pin))


def _swap(entry: list[Any]) -> Swap:
    moves: list[Move] = []
    worth: dict[str, Figures] = {}
    if len(entry) < 2:
        raise InputError("change list: a swap has no number", _ADVICE)
    for child in entry[2:]:
        name = _name(child)
        if name == "move":
            fields = _record(child, part=_text, pin=_text, name=_text, was=_text, **{"is": _text})
            moves.append(_move(fields))
        elif name in ("alone", "lost_without"):
            fields = _record(child, crossings=_int, overlaps=_int, over_pads=_int, length_mm=_real)
            worth[name] = Figures(**fields)
        else:
            raise InputError(f'change list: unknown entry "{name}" in a swap', _ADVICE)
    return Swap(_whole(entry[1]), tuple(moves), worth.get("alone"), worth.get("lost_without"))


def _move(fields: dict[str, Any]) -> Move:
    try:
        return Move(
            fields["part"],
            fields["pin"],
            fields.get("name", ""),
            fields.get("was"),
            fields.get("is"),
        )
    except KeyError as missing:
        raise InputError(f"change list: a move lacks {missing}", _ADVICE) from None


def _record(entry: list[Any], **readers: Callable[[list[Any]], Any]) -> dict[str, Any]:
    """The children of ``entry`` by name; each at most once, none unknown."""
    found: dict[str, Any] = {}
    for child in entry[1:]:
        name = _name(child)
        if name not in readers or name in found:
            what = "repeated" if name in found else "unknown"
            raise InputError(f'change list: {what} entry "{name}" in "{_name(entry)}"', _ADVICE)
        found[name] = readers[name](child)
    if "was" not in readers and len(found) != len(readers):
        missing = ", ".join(sorted(set(readers) - set(found)))
        raise InputError(f'change list: "{_name(entry)}" lacks {missing}', _ADVICE)
    return found


def _entries(document: Any, root: str) -> list[Any]:
    if not isinstance(document, list) or _name(document) != root:
        raise InputError(
            f'this is no change list: its first word is not "{root}"',
            "give the .swaps file that `renet untangle` wrote",
        )
    return document[1:]


def _name(entry: Any) -> str:
    if not isinstance(entry, list) or not entry or not isinstance(entry[0], sexpdata.Symbol):
        raise InputError("change list: an entry has no name", _ADVICE)
    return str(entry[0].value())


def _value(entry: list[Any], kind: type | tuple[type, ...]) -> Any:
    if len(entry) != 2 or not isinstance(entry[1], kind) or isinstance(entry[1], bool):
        raise InputError(f'change list: "{_name(entry)}" has no proper value', _ADVICE)
    return entry[1]


def _text(entry: list[Any]) -> str:
    return str(_value(entry, str))


def _word(entry: list[Any]) -> str:
    return str(_value(entry, sexpdata.Symbol).value())


def _int(entry: list[Any]) -> int:
    return int(_value(entry, int))


def _real(entry: list[Any]) -> float:
    return float(_value(entry, (int, float)))


def _whole(value: Any) -> int:
    if not isinstance(value, int) or value < 1:
        raise InputError(f"change list: {value} is no swap number", _ADVICE)
    return value
