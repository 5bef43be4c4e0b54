"""[[domain]]: pins of one supply voltage or one side of an isolation; nets never cross.

Scope: pins.  Legal by construction: every pool and every unit is divided by
domain before anybody searches.  Why: a pin left alone by the division says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from renet.errors import RulesError
from renet.freedom.select import Names
from renet.nearest import quoted
from renet.rules import Rules

Domains = Mapping[int, str]  # pin -> name; a pin that is not in it is in no domain, ""


def domains_of(names: Names, rules: Rules) -> Domains:
    """The domain of every pin that a [[domain]] names; RulesError for a pin in two."""
    found: dict[int, tuple[str, int]] = {}
    for domain in rules.domains:
        for pin in names.far_pins(domain.pins, domain.line):
            name, line = found.setdefault(pin, (domain.name, domain.line))
            if name != domain.name:
                raise RulesError(
                    f"{names.label(pin)} is in domain {quoted(name)} (line {line}) "
                    f"and in domain {quoted(domain.name)} (line {domain.line})",
                    "a pin has one domain only",
                    line=domain.line,
                )
    return {pin: name for pin, (name, _) in found.items()}


def divided(domains: Domains, pins: Iterable[int]) -> dict[str, list[int]]:
    """``pins`` by domain, each in the order given."""
    parts: dict[str, list[int]] = {}
    for pin in pins:
        parts.setdefault(domains.get(pin, ""), []).append(pin)
    return parts
