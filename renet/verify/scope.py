"""Which pins the rules set free, in the plainest reading of ``renet.rules``.

A pin is in one pool or one unit, or it is kept; ``why`` says what keeps a named
pin.  Nothing here looks at where nets went.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Container, Iterable
from dataclasses import dataclass, field
from functools import cached_property
from itertools import compress
from operator import not_

from renet.errors import RulesError
from renet.rules import Rules
from renet.verify.seats import Seats

SUPPLY_TYPES = frozenset({"power_in", "power_out"})
OPEN_TYPES = frozenset({"no_connect"})

_PIECES = re.compile(r"[/(),;|\s]+")
_HUNG_ON = re.compile(r"(_[0-9]+|\[[0-9]+\])$")

# By name: what nobody would give to a signal.  Common practice, no source.
_GUARDED = tuple(
    (what, re.compile(pattern, re.IGNORECASE))
    for what, pattern in (
        ("supply", r"([ADP]|IO)?(VDD|VCC|VEE)[A-Z0-9_.+\-]*|VBAT|VBUS|VSYS|VIN|V[+-]"),
        ("ground", r"([A-Z]+_|[ADP])?(VSS|GND)[A-Z0-9_]*|EP|EPAD|THERMAL"),
        ("reference", r"V?REF[+\-PN]?|AREF|VREF_?[A-Z0-9]*"),
        (
            "oscillator",
            r"OSC(32)?_?(IN|OUT)[0-9]*|(XTAL|XT)[_0-9A-Z]*|X(IN|OUT)(32)?|XTAL32[KPN_]*",
        ),
        ("reset", r"[CN]?_?(RESET|RST|MCLR)_?[BN]?|CHIP_?(EN|PU)"),
        ("boot", r"N?BOOT[_0-9]*"),
        ("debug", r"SWDIO|SWDCLK|SWCLK|SWO|(J|JTAG_?)?T(CK|MS|DI|DO)|N?(J?TRST)|UPDI"),
        ("not-connected", r"NC[0-9_]*|N\.C\.|DNC"),
    )
)

# Common practice, no source.
_SUPPLY = re.compile(
    r"[ADP]?GND[A-Z0-9_]*|[ADP]?V(SS|CC|DD|EE)[A-Z0-9_\-]*|V(BAT|BUS|IN|SYS)[0-9]*"
    r"|[+-][0-9]+([.][0-9]+)?V[0-9]*[A-Z0-9_]*|[0-9]+([.][0-9]+)?V[0-9]*A?",
    re.IGNORECASE,
)


@dataclass(slots=True)
class Group:
    """The seats of one pool or one unit that are free; ``name`` is for sentences."""

    name: str
    line: int
    free: list[int] = field(default_factory=list)


@dataclass(slots=True)
class Scope:
    """``group[seat]`` for named seats, ``kept[seat]`` for named seats that stay all the same.

    ``groups`` are the pools in the order of the rules, then the units; ``tuples``
    holds each unit's tuples as seats; ``domain[seat]`` is "" outside all domains.
    """

    groups: list[Group] = field(default_factory=list)
    group: dict[int, int] = field(default_factory=dict)
    kept: dict[int, str] = field(default_factory=dict)
    tuples: list[list[tuple[int, ...]]] = field(default_factory=list)
    domain: dict[int, str] = field(default_factory=dict)
    first_unit: int = 0

    def free(self, seat: int) -> bool:
        """Whether the net of this seat may change at all."""
        return seat in self.group and seat not in self.kept

    def why_not(self, seat: int) -> str:
        """What keeps a seat that is not free."""
        return self.kept.get(seat, "no pool and no unit names it")


def scope_of(rules: Rules, seats: Seats, left_out: Container[str]) -> Scope:
    """Read the rules on this board; RulesError where they cannot be read.

    ``left_out`` are the nets that are no part of the tangle.
    """
    scope = Scope()
    named: dict[int, bool] = {}
    for pool in rules.pools:
        found = seats.of_words(pool.part, pool.pins, pool.line)
        _join(scope, Group(f"the pool of {pool.part}", pool.line), found, seats)
        named.update(found)
    scope.first_unit = len(scope.groups)
    for unit in rules.units:
        tuples = [tuple(_one(seats, word, unit.line) for word in row) for row in unit.tuples]
        if len({len(row) for row in tuples}) != 1:
            raise RulesError("a unit's tuples differ in length", "make them equal", line=unit.line)
        if any(place > len(tuples[0]) for row in unit.inner for place in row):
            raise RulesError(
                "an inner position is outside the tuples", "count from 1", line=unit.line
            )
        found = {seat: number for row in tuples for seat, number in row}
        if len(found) != sum(map(len, tuples)):
            raise RulesError("a pin stands twice in a unit", "name it once", line=unit.line)
        _join(scope, Group(f"the unit of line {unit.line}", unit.line), found, seats)
        scope.tuples.append([tuple(seat for seat, _ in row) for row in tuples])
        named.update(found)
    _keep(scope, rules, seats)
    _guard(scope, named, seats, left_out)
    for seat, group in scope.group.items():
        if seat not in scope.kept:
            scope.groups[group].free.append(seat)
    _domains(scope, rules, seats)
    return scope


def _one(seats: Seats, word: str, line: int) -> tuple[int, bool]:
    found = seats.of_far_word(word, line)
    if len(found) != 1:
        raise RulesError(
            f'"{word}" finds {len(found)} pins', "name one pin in each place of a tuple", line=line
        )
    return next(iter(found.items()))


def _join(scope: Scope, group: Group, found: Iterable[int], seats: Seats) -> None:
    for seat in found:
        if seat in scope.group:
            other = scope.groups[scope.group[seat]]
            raise RulesError(
                f"{seats.all[seat].label} is in {group.name} and in {other.name}",
                "name it in one of them",
                line=group.line,
            )
        scope.group[seat] = len(scope.groups)
    scope.groups.append(group)


def _keep(scope: Scope, rules: Rules, seats: Seats) -> None:
    """What the rules themselves and the board's own faults keep; the first reason stands."""
    for keep in rules.keeps:
        for word in keep.pins:
            for seat in seats.of_far_word(word, keep.line):
                scope.kept.setdefault(seat, f'[[keep]] "{word}" keeps it')
        nets = seats.nets_of(keep.nets, keep.line)
        for index, net in enumerate(seats.columns.was):
            if net in nets:
                scope.kept.setdefault(index, f"[[keep]] keeps its net {net}")
    for pool in rules.pools:
        for seat in seats.of_words(pool.part, pool.keep, pool.line):
            scope.kept.setdefault(seat, f"the keep list of {pool.part} names it")
    mated = {ref.partition(":")[2] for mate in rules.mates for ref in (mate.a, mate.b)}
    columns = seats.columns
    for kept, why in (
        (
            [ref in mated for ref in columns.ref] if mated else (),
            "[[mate]]: its other side would have to follow",
        ),
        (list(map(not_, columns.alone)), "its part has no reference of its own"),
        (columns.disputed, "the netlist says something else of it"),
        (columns.torn, "its pads are on different nets"),
    ):
        for index in compress(range(len(kept)), kept):
            scope.kept.setdefault(index, why)


def _guard(scope: Scope, named: dict[int, bool], seats: Seats, left_out: Container[str]) -> None:
    columns = seats.columns
    for seat, by_number in named.items():
        kind, name, was = columns.type[seat], columns.name[seat], columns.was[seat]
        if seat in scope.kept:
            continue
        by_type = kind in SUPPLY_TYPES or kind in OPEN_TYPES
        if by_type and by_number:
            raise RulesError(
                f"{seats.all[seat].label} is named by its number but is a {kind} pin",
                "take it out of the rules",
                line=scope.groups[scope.group[seat]].line,
            )
        if by_type:
            scope.kept[seat] = f"it is a {kind} pin"
        elif not by_number and guarded_name(name):
            scope.kept[seat] = f"{guarded_name(name)} pin by its name {name}"
        elif not by_number and was is not None and supply_net(was):
            scope.kept[seat] = f"its net {was} is called like a supply or a ground"
        elif not by_number and was in left_out:
            scope.kept[seat] = f"its net {was} is left out of the tangle"


def supply_net(net: str) -> bool:
    """Whether the last part of a net's name is that of a supply or a ground."""
    return _SUPPLY.fullmatch(net.rpartition("/")[2]) is not None


def guarded_name(name: str) -> str:
    """What kind of guarded pin a pin name tells of, "" if of none."""
    for piece in _PIECES.split(name):
        bare = _HUNG_ON.sub("", re.sub(r"[~{}]|_(?=\{)", "", piece))
        for what, pattern in _GUARDED:
            if bare and pattern.fullmatch(bare):
                return what
    return ""


def _domains(scope: Scope, rules: Rules, seats: Seats) -> None:
    for domain in rules.domains:
        for word in domain.pins:
            for seat in seats.of_far_word(word, domain.line):
                if scope.domain.setdefault(seat, domain.name) != domain.name:
                    raise RulesError(
                        f"{seats.all[seat].label} is in two domains, {scope.domain[seat]} and "
                        f"{domain.name}",
                        "name it in one",
                        line=domain.line,
                    )


class LeftOut:
    """Nets outside the tangle, made out when somebody asks for one.

    ``planes`` gives those that are planes; ``more`` are outside whatever the rules say.
    """

    def __init__(
        self,
        rules: Rules,
        seats: Seats,
        planes: Callable[[], frozenset[str]],
        more: frozenset[str],
    ) -> None:
        self._rules, self._seats, self._planes, self._more = rules, seats, planes, more

    def __contains__(self, net: object) -> bool:
        return net in self._nets

    @cached_property
    def _nets(self) -> frozenset[str]:
        return left_out_nets(self._rules, self._seats, self._planes()) | self._more


def left_out_nets(rules: Rules, seats: Seats, planes: frozenset[str]) -> frozenset[str]:
    """Nets outside the tangle: by the rules (a name goes before a glob), else as planes."""
    out, in_ = (seats.nets_of(w, rules.tangle_line, True) for w in (rules.leave_out, rules.include))
    found = ((planes - in_) | out) - frozenset(rules.include) | frozenset(rules.leave_out)
    return found & seats.nets
