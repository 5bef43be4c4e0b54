"""Which pins the pools and units name, and which of those stay all the same.

Kinds of reasons and their precedence: ``renet.rules``, "Kept pins".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from renet.errors import RulesError
from renet.freedom.names import role_by_name, role_by_type
from renet.freedom.select import BY_NUMBER, Names
from renet.model import NONE
from renet.nearest import quoted
from renet.planes import supply_name


class Claim(NamedTuple):
    """A pool or unit that names a pin: ``owner`` is its number, ``how`` the word found it."""

    owner: int
    rule: str
    line: int
    how: int
    word: str


class Outside(NamedTuple):
    """What is known from outside the rules.

    ``held``: pins that must stay, each with the reason; ``left_out``: nets that
    are no part of the tangle.
    """

    held: Mapping[int, str]
    left_out: frozenset[int]


@dataclass(slots=True)
class Claims:
    """Claimed pins, and for those that stay the reason."""

    names: Names
    kept_by_rules: Mapping[int, str]
    outside: Outside
    by_pin: dict[int, Claim] = field(default_factory=dict)
    kept: dict[int, str] = field(default_factory=dict)

    def add(self, pin: int, claim: Claim) -> None:
        """Note a claim; RulesError when another record has the pin or it can carry no signal."""
        other = self.by_pin.get(pin)
        if other and other.owner != claim.owner:
            raise RulesError(
                f"{self.names.label(pin)} is in {other.rule} and in {claim.rule}",
                "a pin can be in one pool or unit only: take it out of one of them",
                line=claim.line,
            )
        self._refuse_supply(pin, claim)
        if not other or claim.how < other.how:
            self.by_pin[pin] = claim

    def settle(self) -> None:
        """Find the reason for every claimed pin that stays."""
        for pin in self.names.in_order(self.by_pin):
            why = self._why_kept(pin, self.by_pin[pin])
            if why:
                self.kept[pin] = why

    def keep(self, pin: int, why: str) -> None:
        """Let a claimed pin stay, unless there is an earlier reason."""
        self.kept.setdefault(pin, why)

    def free(self, pin: int) -> bool:
        """Whether a claimed pin may move."""
        return pin not in self.kept

    def _refuse_supply(self, pin: int, claim: Claim) -> None:
        entry = self.names.board.pins[pin]
        role = role_by_type(entry.type)
        if role and claim.how == BY_NUMBER:
            called = f" ({entry.name})" if entry.name else ""
            raise RulesError(
                f"{self.names.label(pin)}{called} is a {role} pin by its type, {entry.type}",
                f"take it out of {claim.rule}",
                line=claim.line,
            )

    def _why_kept(self, pin: int, claim: Claim) -> str:
        entry = self.names.board.pins[pin]
        why = self.kept_by_rules.get(pin) or entry.fault or self.outside.held.get(pin, "")
        if why or claim.how == BY_NUMBER:
            return why
        if role := role_by_type(entry.type):
            return f"{role} pin by its type, {entry.type}"
        freeing = f"caught by {quoted(claim.word)}; name it by its number to free it"
        if role := role_by_name(entry.name):
            return f"{role} pin by its name, {entry.name}, {freeing}"
        why = self._why_net_stays(entry.net)
        return f"{why}, {freeing}" if why else ""

    def _why_net_stays(self, net: int) -> str:
        """A pin that carries a supply is a supply pin, whatever type and name say."""
        if net == NONE:
            return ""
        label = self.names.net_label(net)
        if net in self.outside.left_out:
            return f"its net {label} is left out of the tangle"
        return f"its net {label} is called like a supply or a ground" if supply_name(label) else ""
