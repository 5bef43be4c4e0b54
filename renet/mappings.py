"""Functions of remapped instances: signals that move between pins only as a set.

``UART1@1_TX`` is the signal TX of UART1 in its mapping 1 (renet.rules, Peripheral).
Data sheets give some functions without a mapping; here they get theirs.
"""

from __future__ import annotations

import re
from collections.abc import Hashable, Mapping, Sequence
from typing import NamedTuple, TypeVar

from renet.columns import natural

_FORM = re.compile(r"([^_@\s]+)(?:@([A-Za-z0-9]+))?[_ ](.+)")
FIRST = "0"  # the mapping of a signal that is given once without and again with one
Key = TypeVar("Key", bound=Hashable)


class Remapped(NamedTuple):
    """A function taken apart; ``mapping`` is "" where none is given."""

    instance: str
    mapping: str
    signal: str


def taken_apart(function: str) -> Remapped | None:
    """Instance, mapping and signal of a function; None where it is not of that form."""
    found = _FORM.fullmatch(function)
    return Remapped(found[1], found[2] or "", found[3]) if found else None


def put(instance: str, mapping: str, signal: str) -> str:
    """The function as it is written."""
    return f"{instance}@{mapping}_{signal}"


def spread(offered: Mapping[Key, Sequence[str]]) -> dict[Key, tuple[str, ...]]:
    """The functions of one part's pins, every one of a remapped instance in its mapping.

    One without a mapping is in mapping 0 if its signal stands in another as well,
    else in every mapping.  Order is kept.
    """
    parsed = [taken_apart(f) for functions in offered.values() for f in functions]
    moving = {(p.instance, p.signal) for p in parsed if p and p.mapping}
    mappings: dict[str, set[str]] = {p.instance: set() for p in parsed if p and p.mapping}
    for one in parsed:
        if one and (one.instance, one.signal) in moving:
            mappings[one.instance].add(one.mapping or FIRST)

    def all_of(function: str) -> list[str]:
        one = taken_apart(function)
        if one is None or one.instance not in mappings:
            return [function]
        if (one.instance, one.signal) in moving:
            return [put(one.instance, one.mapping or FIRST, one.signal)]
        every = sorted(mappings[one.instance], key=natural)
        return [put(one.instance, mapping, one.signal) for mapping in every]

    return {
        key: tuple(dict.fromkeys(name for function in functions for name in all_of(function)))
        for key, functions in offered.items()
    }
