"""Drafting again over a file that exists: what stands there stays, byte for byte.

New entries go to the end, new pins of a drafted pool in front of its list.  What
the memory lines name was drafted before: if it is gone from the file, the
engineer took it out, and it stays out.  Comments that a draft wrote and no hand
changed follow the board.
"""

from __future__ import annotations

import json
from typing import NamedTuple

from renet.draft.draft import Draft
from renet.draft.records import KEPT, Entry, Line
from renet.draft.refresh import refreshed, remembered
from renet.draft.text import (
    MEMORY,
    MEMORY_HEAD,
    entry_lines,
    list_line,
    memory_lines,
    memory_of,
)
from renet.errors import RulesError
from renet.freedom.select import Names
from renet.model import Board
from renet.read.rules import read_rules
from renet.read.toml import Document, parse
from renet.rules import Rules
from renet.splice import Edit, splice

_ADDED = "# Drafted later:"


class Updated(NamedTuple):
    """The new bytes, what was added (keys of entries), and what the draft disagrees with.

    ``remarked``: whether comments of an earlier draft were written anew.
    """

    data: bytes
    added: tuple[str, ...]
    notes: tuple[str, ...]
    remarked: bool = False


def updated(data: bytes, draft: Draft) -> Updated:
    """The file with what is new on the board added; RulesError where it cannot be read."""
    rules, document = read_rules(data), parse(data)
    board = draft.evidence.board
    memory = _memory(data)
    taken = _Taken(board, rules)
    fresh = [e for e in draft.entries if e.key not in memory and not taken.by(e)]
    _insist_on_lists(document, fresh)
    edits, grown = _grown(data, document, draft, memory)
    notes = _disagreements(draft, rules)
    rest = _without_memory(splice(data, sorted(edits)))
    lines = refreshed(rest, draft, memory)
    if not fresh and not grown and lines == rest:
        return Updated(data, (), notes)
    memory |= remembered(lines, draft, memory) | memory_of(fresh)
    for key, values in grown.items():
        memory[key] = [*memory[key], *values]
    added = (*grown, *(entry.key for entry in fresh))
    return Updated(_written(lines, fresh, memory, _line_end(data)), added, notes, lines != rest)


def _memory(data: bytes) -> dict[str, list[str]]:
    """What earlier drafts noted; a line that was damaged counts as not there."""
    found: dict[str, list[str]] = {}
    for line in data.decode().splitlines():
        if not line.startswith(MEMORY):
            continue
        try:
            words = json.loads(line[len(MEMORY) :])
        except ValueError:
            continue
        if isinstance(words, list) and words and all(isinstance(word, str) for word in words):
            found[words[0]] = words[1:]
    return found


class _Taken:
    """What the file says already, in the engineer's own words."""

    def __init__(self, board: Board, rules: Rules) -> None:
        self._names = names = Names(board)
        self._pools = {pool.part for pool in rules.pools}
        self._pins: set[int] = set()
        for pool in rules.pools:
            self._pins.update(names.pins(pool.part, pool.pins, pool.line))
        for unit in rules.units:
            for row in unit.tuples:
                self._pins.update(names.far_pins(row, unit.line))
        domains = [pin for d in rules.domains for pin in names.far_pins(d.pins, d.line)]
        self._domains = {board.parts[board.pins[pin].part].ref for pin in domains}
        self._nets = {
            "pair": {net for record in rules.pairs for net in record.nets},
            "peripheral": {net for record in rules.peripherals for net in record.nets},
            "needs": {net for record in rules.needs for net in record.nets},
            "order": {net for record in rules.orders for net in record.nets},
        }
        self._offered = {(o.part, pin) for o in rules.offers for pin in o.pins}

    def by(self, entry: Entry) -> bool:
        """Whether the file has a record about the same thing."""
        fields = dict(entry.fields)
        if entry.section == "pool":
            return fields["part"] in self._pools or bool(self._named(entry) & self._pins)
        if entry.section == "unit":
            return bool(self._named(entry) & self._pins)
        if entry.section == "domain":
            return entry.key.split(" ")[1] in self._domains
        if entry.section == "offers":
            return any((fields["part"], pin) in self._offered for pin in _words(fields["pins"]))
        return bool(set(_words(fields["nets"])) & self._nets[entry.section])

    def _named(self, entry: Entry) -> set[int]:
        fields = dict(entry.fields)
        if entry.section == "unit":
            rows = fields["tuples"]
            words = [pin for row in (rows if isinstance(rows, tuple) else ()) for pin in row.value]
            return set(self._names.far_pins(words, 0))
        return set(self._names.pins(str(fields["part"]), _words(fields["pins"]), 0))


def _words(value: object) -> list[str]:
    items = value if isinstance(value, (list, tuple)) else ()
    return [str(item.value if isinstance(item, Line) else item) for item in items]


def _insist_on_lists(document: Document, fresh: list[Entry]) -> None:
    """A section written ``[pool]`` can take no second record."""
    for entry in fresh:
        if not entry.asked and isinstance(document.values.get(entry.section), dict):
            place = document.place((entry.section,))
            raise RulesError(
                f"[{entry.section}] leaves no room for more of its kind",
                f"write [[{entry.section}]]",
                line=place.line,
                column=place.column,
            )


def _grown(
    data: bytes, document: Document, draft: Draft, memory: dict[str, list[str]]
) -> tuple[list[Edit], dict[str, list[str]]]:
    """Pins that joined a pool drafted before: edits, and their numbers by key."""
    starts = [0]
    starts += [at + 1 for at, byte in enumerate(data) if byte == 0x0A]
    edits: list[Edit] = []
    grown: dict[str, list[str]] = {}
    pools = document.values.get("pool", [])
    for entry in draft.entries:
        old = set(memory.get(entry.key, ()))
        new = [line for line in _pins_of(entry) if old and str(line.value) not in old]
        for index, pool in enumerate(pools if isinstance(pools, list) else ()):
            named = {pin for other in pools for pin in other["pins"]}
            lines = [line for line in new if line.value not in named]
            if not lines or pool["part"] != dict(entry.fields)["part"] or not old & {*pool["pins"]}:
                continue
            place = document.place(("pool", index, "pins", 0))
            at = starts[place.line - 1] + place.column - 1
            end = _line_end(data)
            text = "".join(list_line(line).lstrip(" ") + end + "    " for line in lines)
            edits.append(Edit(at, at, text.encode()))
            grown[entry.key] = [str(line.value) for line in lines]
            break
    return edits, grown


def _pins_of(entry: Entry) -> tuple[Line, ...]:
    value = dict(entry.fields).get("pins") if entry.section == "pool" and not entry.asked else ()
    return value if isinstance(value, tuple) else ()


def _line_end(data: bytes) -> str:
    return "\r\n" if b"\r\n" in data else "\n"


def _without_memory(data: bytes) -> list[str]:
    lines = data.decode().split("\n")
    return [line for line in lines if not line.startswith((MEMORY, MEMORY_HEAD))]


def _written(lines: list[str], fresh: list[Entry], memory: dict[str, list[str]], end: str) -> bytes:
    """The lines, then the new entries, then the memory."""
    kept = "\n".join(lines).rstrip("\r\n")
    blocks = [[_ADDED]] if fresh else []
    blocks += [entry_lines(entry) for entry in fresh] + [memory_lines(memory)]
    added = (end * 2).join(end.join(block) for block in blocks)
    return f"{kept}{end * 2 if kept else ''}{added}{end}".encode()


def _disagreements(draft: Draft, rules: Rules) -> tuple[str, ...]:
    """Pins that the file names although the draft would keep them."""
    names = Names(draft.evidence.board)
    named: dict[int, int] = {}
    for pool in rules.pools:
        for pin in names.pins(pool.part, pool.pins, pool.line):
            named.setdefault(pin, pool.line)
        for pin in names.pins(pool.part, pool.keep, pool.line):
            named.pop(pin, None)
    for unit in rules.units:
        for row in unit.tuples:
            named.update(dict.fromkeys(names.far_pins(row, unit.line), unit.line))
    return tuple(
        f"line {named[pin]} names {names.label(pin)}, which the draft would keep: "
        f"{draft.verdicts[pin].why}"
        for pin in names.in_order(named)
        if draft.verdicts[pin].state == KEPT
    )
