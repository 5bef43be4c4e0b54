"""[[unit]]: tuples of pins whose nets are exchanged whole.

Scope: the pins of its tuples.  Legal: the tuples' nets stay the same, each as
often, up to turning and trading inside (``groups.Exchange``), among tuples of
like domains.  Why: a tuple with a kept pin stays and says for which pin.
"""

from __future__ import annotations

from renet.errors import RulesError
from renet.freedom.claims import Claim, Claims
from renet.freedom.condition import Finding
from renet.freedom.domain import Domains
from renet.freedom.groups import Exchange, Group, Site
from renet.freedom.select import Names
from renet.geometry import nm
from renet.model import Part
from renet.rules import Unit, line_of


def rule_of(unit: Unit) -> str:
    """How to speak of it; one without a line is not from the rules file."""
    if not unit.line and unit.tuples:
        return f"the permutable groups of {unit.tuples[0][0].partition(':')[0]}"
    return f"[[unit]] line {unit.line}"


def claim_unit(claims: Claims, unit: Unit, owner: int) -> tuple[Site, ...]:
    """Claim the pins of all tuples and return the tuples, in the order of the rules."""
    names, rule = claims.names, rule_of(unit)
    _check_shape(unit)
    sites: list[Site] = []
    for words in unit.tuples:
        site = []
        for word in words:
            line = line_of(word, unit.line)
            pin, how = names.one_pin(word, unit.line)
            if pin in claims.by_pin and claims.by_pin[pin].owner == owner:
                raise RulesError(
                    f"{names.label(pin)} is in {rule} twice", "name it once", line=line
                )
            claims.add(pin, Claim(owner, rule, line, how, word))
            site.append(pin)
        _check_likeness(names, unit, tuple(site), sites)
        sites.append(tuple(site))
    return tuple(sites)


def unit_groups(
    claims: Claims, unit: Unit, sites: tuple[Site, ...], domains: Domains
) -> list[Group]:
    """Groups of tuples that may trade, then one for each tuple that can only trade inside."""
    whole: dict[tuple[str, ...], list[Site]] = {}
    groups: list[Group] = []
    ordered = sorted(sites, key=lambda site: [claims.names.rank(pin) for pin in site])
    for site in ordered:
        kept = [pin for pin in site if not claims.free(pin)]
        if kept:
            groups += _inside_only(claims, unit, site, kept, domains)
        else:
            whole.setdefault(tuple(domains.get(pin, "") for pin in site), []).append(site)
    return [
        group for key, alike in whole.items() for group in _trading(claims, unit, key, alike)
    ] + groups


def likeness_findings(names: Names, unit: Unit, sites: tuple[Site, ...]) -> list[Finding]:
    """Tuples with unlike pin types in one position: probably written in another order."""
    found = []
    for position, pins in enumerate(zip(*sites, strict=True), start=1):
        typed = [(names.board.pins[pin].type, names.label(pin)) for pin in pins]
        typed = [(kind, label) for kind, label in typed if kind]
        odd = next(((kind, label) for kind, label in typed if kind != typed[0][0]), None)
        if odd:
            text = (
                f"{rule_of(unit)}: position {position} holds {typed[0][1]} ({typed[0][0]}) "
                f"and {odd[1]} ({odd[0]}); are the pins of every tuple in the same order?"
            )
            found.append(Finding(unit.line, text))
    return found


def _check_shape(unit: Unit) -> None:
    width = len(unit.tuples[0]) if unit.tuples else 0
    for words in unit.tuples:
        if len(words) != width or not words:
            raise RulesError(
                f"the tuples of {rule_of(unit)} are of different lengths",
                "give every tuple the same number of pins",
                line=line_of(words[0], unit.line) if words else unit.line,
            )
    _check_inner(unit, width)


def _check_inner(unit: Unit, width: int) -> None:
    positions = [position for group in unit.inner for position in group]
    if any(not 1 <= position <= width for position in positions):
        wrong = f"inner of {rule_of(unit)} names a position that its tuples do not have"
        raise RulesError(wrong, f"positions count from 1 to {width}", line=unit.line)
    if len(set(positions)) != len(positions):
        wrong = f"inner of {rule_of(unit)} names a position twice"
        raise RulesError(wrong, "put it into one set only", line=unit.line)
    sets = {frozenset(group) for group in unit.inner}
    mirrored = {frozenset(width + 1 - position for position in group) for group in sets}
    if unit.reversible and sets != mirrored:
        wrong = f"inner of {rule_of(unit)}, which is reversible, is not the same when turned"
        missing = sorted(min(mirrored - sets, key=sorted))
        raise RulesError(wrong, f"add the set {missing}", line=unit.line)


def _check_likeness(names: Names, unit: Unit, site: Site, earlier: list[Site]) -> None:
    """Position by position, tuples stand on the same part or on equal parts."""
    if not earlier:
        return
    parts, pins = names.board.parts, names.board.pins
    for pin, model in zip(site, earlier[0], strict=True):
        part, like = parts[pins[pin].part], parts[pins[model].part]
        if (part.value, part.footprint) != (like.value, like.footprint):
            raise RulesError(
                f"{rule_of(unit)} trades between unlike parts: {_kind(like)}, {_kind(part)}",
                "make one unit for each kind of part",
                line=unit.line,
            )


def _kind(part: Part) -> str:
    return f"{part.ref} is {part.value or '?'} in {part.footprint or '?'}"


def _inner(unit: Unit, domain: tuple[str, ...]) -> tuple[tuple[int, ...], ...]:
    """Inner sets from 0, divided by domain; sets of one are gone."""
    found = []
    for group in unit.inner:
        divided: dict[str, list[int]] = {}
        for position in sorted(group):
            divided.setdefault(domain[position - 1], []).append(position - 1)
        found += [tuple(positions) for positions in divided.values() if len(positions) > 1]
    return tuple(sorted(found))


def _trading(claims: Claims, unit: Unit, domain: tuple[str, ...], sites: list[Site]) -> list[Group]:
    reversible = unit.reversible and len(domain) > 1 and domain == domain[::-1]
    exchange = Exchange(reversible, _inner(unit, domain))
    if len(sites) > 1 or reversible or exchange.inner:
        group = Group(rule_of(unit), unit.line, tuple(sites), nm(unit.cost_mm), exchange)
        return [group]
    for pin in sites[0]:
        claims.keep(pin, f"no other tuple of {rule_of(unit)} may trade with its tuple")
    return []


def _inside_only(
    claims: Claims, unit: Unit, site: Site, kept: list[int], domains: Domains
) -> list[Group]:
    """What is left of a tuple with kept pins: free positions of one inner set."""
    inner = _inner(unit, tuple(domains.get(pin, "") for pin in site))
    sets = [[p for p in positions if site[p] not in kept] for positions in inner]
    sets = [positions for positions in sets if len(positions) > 1]
    first = f"{claims.names.label(kept[0])} is kept: {claims.kept[kept[0]]}"
    trading = {position for positions in sets for position in positions}
    for position, pin in enumerate(site):
        if position not in trading:
            claims.keep(pin, f"its tuple stays, because {first}")
    if not sets:
        return []
    order = sorted(trading)
    moved = tuple(tuple(order.index(position) for position in positions) for positions in sets)
    pins = tuple(site[position] for position in order)
    return [Group(rule_of(unit), unit.line, (pins,), nm(unit.cost_mm), Exchange(False, moved))]
