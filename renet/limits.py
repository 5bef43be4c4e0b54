"""Limits that a result has to keep: ``crossings=0,over_pads=3,blocked=2``.

``blocked`` is a figure of the channel plan, which is made only where it has a limit.
"""

from __future__ import annotations

from collections.abc import Mapping

from renet.changes import Figures
from renet.errors import InputError

Limits = tuple[tuple[str, float], ...]

BLOCKED = "blocked"
NAMES = (*Figures._fields, BLOCKED)


def limits_of(text: str | None) -> Limits:
    """Limits as the user wrote them, in that order; InputError where one means nothing."""
    found: dict[str, float] = {}
    for piece in (text or "").split(",") if text is not None else ():
        name, equals, value = (part.strip() for part in piece.partition("="))
        if name not in NAMES:
            raise InputError(f'--fail-above knows no "{name}"', f"it knows {', '.join(NAMES)}")
        if not equals or name in found:
            raise InputError(f'--fail-above wants "{name}=NUMBER", once', "see --help")
        found[name] = _number(name, value)
    return tuple(found.items())


def wants_plan(limits: Limits) -> bool:
    """Whether the channel plan has to be made, for its figure has a limit."""
    return BLOCKED in dict(limits)


def exceeded(limits: Limits, figures: Mapping[str, float]) -> list[str]:
    """What is above its limit, in words; empty where all limits are kept."""
    return [
        f"{name} {figures[name]:g} is above the limit of {limit:g}"
        for name, limit in limits
        if figures[name] > limit
    ]


def _number(name: str, text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not 0 <= value < float("inf"):
        raise InputError(f'"{text}" is no limit for {name}', "give a number, 0 or more")
    return value
