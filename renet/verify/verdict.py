"""What a second opinion says: findings, the moves it saw, and what it looked at."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

from renet.changes import ChangeList
from renet.errors import RenetError
from renet.rules import Rules

BYTES = "bytes"
PINS = "pins"
PARTITION = "partition"
RULES = "rules"
COPPER = "copper"
MOVES = "moves"
CHECKS = (BYTES, PINS, PARTITION, RULES, COPPER, MOVES)


class Expect(NamedTuple):
    """What AFTER may differ in: as the rules permit, as the change list says, or both.

    ``changes`` is already reduced to the accepted swaps.  With a change list the
    copper mode is the list's own.  With neither, nothing may have moved.
    ``left_out`` are nets that the caller keeps out of the tangle, besides those
    that verify finds to be planes by itself.  ``netlist`` is the netlist that was
    given with BEFORE: it names pins that the board leaves without a name, and
    pins on which the two disagree are kept.
    """

    rules: Rules | None = None
    changes: ChangeList | None = None
    copper: str = "keep"
    left_out: frozenset[str] = frozenset()
    netlist: bytes | None = None

    @property
    def mode(self) -> str:
        """``keep``, ``rip`` or ``ignore``."""
        return self.changes.copper if self.changes is not None else self.copper


class Place(NamedTuple):
    """Where in which file; lines and columns count from 1, columns in bytes."""

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"


class Finding(NamedTuple):
    """One thing that is not as it should be.

    ``check`` is one of :data:`CHECKS`; ``rule`` says in a few words which rule of
    that check; ``where`` is ``PART:PIN``, a net or an item of the file.
    """

    check: str
    rule: str
    where: str
    what: str
    place: Place | None = None

    def __str__(self) -> str:
        place = f"{self.place}: " if self.place else ""
        where = f"{self.where}: " if self.where else ""
        return f"{place}{where}{self.what} [{self.check}: {self.rule}]"


class Moved(NamedTuple):
    """One pin whose net differs between the two files; None is no net."""

    part: str
    pin: str
    name: str
    was: str | None
    is_: str | None

    @property
    def label(self) -> str:
        """``PART:PIN``."""
        return f"{self.part}:{self.pin}"

    def __str__(self) -> str:
        name = f" ({self.name})" if self.name else ""
        return f"{self.label}{name}: {net_words(self.was)} -> {net_words(self.is_)}"


@dataclass(slots=True)
class Counts:
    """How much was looked at, for the report."""

    bytes_compared: int = 0
    pins_compared: int = 0
    pads_compared: int = 0
    nets_compared: int = 0
    copper_checked: int = 0
    rules_checked: int = 0
    moves_checked: int = 0


@dataclass(slots=True)
class Verdict:
    """The opinion; ``ok`` when nothing was found."""

    findings: list[Finding] = field(default_factory=list)
    moved: tuple[Moved, ...] = ()
    counts: Counts = field(default_factory=Counts)

    @property
    def ok(self) -> bool:
        """Whether AFTER is BEFORE with nothing but what was expected."""
        return not self.findings

    def of(self, check: str) -> list[Finding]:
        """The findings of one check."""
        return [finding for finding in self.findings if finding.check == check]

    def __repr__(self) -> str:
        state = "ok" if self.ok else f"{len(self.findings)} findings"
        return f"<verdict: {state}, {len(self.moved)} pins moved>"


def unreadable(fault: RenetError) -> Finding:
    """AFTER cannot even be read."""
    place = Place("after", fault.line, fault.column or 1) if fault.line else None
    return Finding(BYTES, "readable", "file", fault.what, place)


def net_words(net: str | None) -> str:
    """A net for a sentence."""
    return "no net" if net is None else net
