"""[[pool]]: pins of one part among which nets move freely.

Scope: the pins its words find, less its own ``keep``.  Legal: the nets on its
free pins stay the same, each as often, domain by domain.  Why: see ``claims``.
"""

from __future__ import annotations

from renet.freedom.claims import Claim, Claims
from renet.freedom.domain import Domains, divided
from renet.freedom.groups import Group
from renet.geometry import nm
from renet.rules import Pool, line_of


def rule_of(pool: Pool) -> str:
    """How to speak of it; one without a line is not from the rules file."""
    return f"[[pool]] line {pool.line}" if pool.line else f"the permutable pool of {pool.part}"


def claim_pool(claims: Claims, pool: Pool, owner: int) -> None:
    """Claim the pool's pins."""
    out = claims.names.pins(pool.part, pool.keep, pool.line)
    for word in pool.pins:
        line = line_of(word, pool.line)
        for pin, how in claims.names.pins(pool.part, (word,), pool.line).items():
            if pin not in out:
                claims.add(pin, Claim(owner, rule_of(pool), line, how, word))
            else:
                claims.keep(pin, claims.kept_by_rules[pin])


def pool_groups(claims: Claims, pool: Pool, owner: int, domains: Domains) -> list[Group]:
    """One group per domain; a pin with nobody to trade with is kept."""
    mine = [pin for pin, claim in claims.by_pin.items() if claim.owner == owner]
    free = [pin for pin in claims.names.in_order(mine) if claims.free(pin)]
    groups = []
    for domain, pins in divided(domains, free).items():
        if len(pins) > 1:
            sites = tuple((pin,) for pin in pins)
            groups.append(Group(rule_of(pool), pool.line, sites, nm(pool.cost_mm)))
        for pin in pins if len(pins) == 1 else ():
            where = f" in domain {domain}" if domain else ""
            claims.keep(pin, f"no other pin of {rule_of(pool)} is free{where}")
    return groups
