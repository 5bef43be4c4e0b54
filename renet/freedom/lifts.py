"""Rules with one record less: what would be free if that record were not there.

Every record that forbids something can be lifted: ``[[keep]]``, the keep list of
a pool, ``[[mate]]`` and all side conditions each by itself, ``[[domain]]`` all
at once, for a net that crosses from one domain to another is stopped by both.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from renet.rules import Rules

_SECTIONS = {
    "keeps": "keep",
    "mates": "mate",
    "orders": "order",
    "pairs": "pair",
    "aparts": "apart",
    "besides": "beside",
    "needs": "needs",
    "peripherals": "peripheral",
}


class Lift(NamedTuple):
    """A record by name (``[[keep]] line 12``) and the rules without it."""

    rule: str
    rules: Rules


def lifts(rules: Rules) -> list[Lift]:
    """All records that can be lifted, by section, then in the order of the rules."""
    found = []
    for field, section in _SECTIONS.items():
        records = getattr(rules, field)
        for k, record in enumerate(records):
            rest = records[:k] + records[k + 1 :]
            name = f"[[{section}]] line {record.line}"
            found.append(Lift(name, rules._replace(**{field: rest})))
    for k, pool in enumerate(rules.pools):
        if pool.keep:
            pools = (*rules.pools[:k], pool._replace(keep=()), *rules.pools[k + 1 :])
            name = f"the keep list of [[pool]] line {pool.line}"
            found.append(Lift(name, rules._replace(pools=pools)))
    if rules.domains:
        found.append(Lift("[[domain]]", rules._replace(domains=())))
    return found


def bare(rules: Rules) -> Rules:
    """The rules with every such record lifted: pools, units and what counts are left."""
    nothing: dict[str, Any] = dict.fromkeys((*_SECTIONS, "domains"), ())
    pools = tuple(pool._replace(keep=()) for pool in rules.pools)
    return rules._replace(**nothing | {"pools": pools})
