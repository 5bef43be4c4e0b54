"""Which pin of a netlist is which pin of a board, where one of them has changed the names.

Same names go first.  A list of records may have its names in capitals, and cut
to its columns from the left or from the right: six for a reference, four or five
for a pin.  Such a name is taken for a longer one only where neither has any
other candidate; between two nothing is guessed, and the pin has no counterpart.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

Key = tuple[str, str]

_REFERENCE, _PIN = (6,), (4, 5)


class Counterparts(NamedTuple):
    """``of``: (part, pin) here -> (part, pin) there; ``doubt``: part here -> its candidates."""

    of: dict[Key, Key]
    doubt: dict[str, tuple[str, ...]]


def counterparts(ours: Iterable[Key], theirs: Iterable[Key], cut: bool) -> Counterparts:
    """Pair pins by part and number; ``cut``: names of ours may be cut, not only in capitals."""
    here, there = _pins(ours), _pins(theirs)
    parts, doubt = paired(here, there, _REFERENCE if cut else ())
    found: dict[Key, Key] = {}
    for part, other in parts.items():
        pins, _ = paired(here[part], there[other], _PIN if cut else ())
        found.update(((part, pin), (other, name)) for pin, name in pins.items())
    return Counterparts(found, doubt)


def paired(
    ours: Iterable[str], theirs: Iterable[str], widths: tuple[int, ...]
) -> tuple[dict[str, str], dict[str, tuple[str, ...]]]:
    """Names here -> the one name there that each can be; and those that could be several.

    ``widths`` are the lengths at which a name of ours may have been cut.
    """
    mine, yours = dict.fromkeys(ours), dict.fromkeys(theirs)
    found = {name: name for name in mine if name in yours}
    long: dict[str, dict[str, None]] = {}
    for name in yours:
        if name not in found:
            for form in _forms(name.upper(), widths):
                long.setdefault(form, {})[name] = None
    wanted = {name: tuple(long.get(name.upper(), ())) for name in mine if name not in found}
    claims: dict[str, int] = {}
    for candidates in wanted.values():
        for name in candidates:
            claims[name] = claims.get(name, 0) + 1
    doubt = {}
    for name, candidates in wanted.items():
        if len(candidates) == 1 and claims[candidates[0]] == 1:
            found[name] = candidates[0]
        elif candidates:
            doubt[name] = candidates
    return found, doubt


def _forms(name: str, widths: tuple[int, ...]) -> set[str]:
    """A name in capitals, whole and cut."""
    cut = {part for width in widths if len(name) > width for part in (name[:width], name[-width:])}
    return {name} | cut


def _pins(keys: Iterable[Key]) -> Mapping[str, list[str]]:
    found: dict[str, list[str]] = {}
    for part, pin in keys:
        found.setdefault(part, []).append(pin)
    return found
