"""What a netlist in EDIF declares permutable, read a second time.

Goes by the sentences of ``read.edif_cells``, not by its code: the file is made
into nested rows of words, and every question is asked of those.  The reader is
asked for one thing only: which pin the port of an instance is.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any

from renet.model import Node
from renet.read.any_netlist import read_any_netlist
from renet.read.edif import read_edif
from renet.read.kind import EDIF, kind_of
from renet.rules import Keep, Pool, Rules, Unit
from renet.verify.scope import OPEN_TYPES, SUPPLY_TYPES
from renet.verify.seats import Seat, met_in, with_netlist
from renet.verify.verdict import Expect

TOKEN = re.compile(rb'[()]|"[^"]*"|[^\s()"][^\s()]*')

Row = list[Any]
Key = tuple[str, str]
GROUPS = ("permutable", "nonpermutable")


@dataclass(slots=True)
class Declared:
    """What one interface declares, in identifiers of ports; of a unit its rows and inner sets."""

    pools: list[list[str]] = field(default_factory=list)
    units: list[tuple[list[list[str]], tuple[tuple[int, ...], ...]]] = field(default_factory=list)
    fixed: list[str] = field(default_factory=list)
    taken: set[str] = field(default_factory=set)


def with_listed(
    seats: Sequence[Seat], expect: Expect, cut: bool = False
) -> tuple[Sequence[Seat], Rules | None]:
    """Seats and rules with what the netlist given says; ``cut``: names of pins may be cut."""
    if expect.netlist is None:
        return seats, expect.rules
    met = met_in(seats, read_any_netlist(expect.netlist), cut)
    seats = with_netlist(seats, met)
    if expect.rules is None:
        return seats, None
    return seats, with_declared(expect.rules, expect.netlist, seats, met)


def with_declared(rules: Rules, data: bytes, seats: Sequence[Seat], met: dict[int, Node]) -> Rules:
    """The rules, and beside them what the netlist in ``data`` sets free or keeps.

    ``met`` is seat -> the node that it is in the netlist.
    """
    if kind_of(data) != EDIF:
        return rules
    netlist, spans = read_edif(data)
    at = {(node.ref, node.pin): seats[index] for index, node in met.items()}
    pins = {
        key: at.get((node.ref, node.pin))
        for key, node in zip(spans.keys, netlist.nodes, strict=True)
    }
    ruled = {pool.part for pool in rules.pools}
    ruled |= {word.partition(":")[0] for unit in rules.units for row in unit.tuples for word in row}
    made = _Made(list(rules.pools), list(rules.units), list(rules.keeps), ruled)
    for instance, found in _of_instances(_rows(data)):
        ports = found.taken.union(found.fixed)
        made.add(found, {port: pins.get((instance, port)) for port in ports})
    return rules._replace(pools=tuple(made.pools), units=tuple(made.units), keeps=tuple(made.keeps))


@dataclass(slots=True)
class _Made:
    """The rules as they grow; parts in ``ruled`` are left to the rules file; ``used`` are pins."""

    pools: list[Pool]
    units: list[Unit]
    keeps: list[Keep]
    ruled: set[str]
    used: set[str] = field(default_factory=set)

    def add(self, found: Declared, pins: dict[str, Seat | None]) -> None:
        """What one instance declares."""
        for pool in found.pools:
            mine = _whole([[port] for port in pool], pins)
            if self._may(mine):
                self.pools.append(Pool(mine[0][0].ref, tuple(row[0].number for row in mine)))
        for ports, inner in found.units:
            mine = _whole(ports, pins)
            if self._may(mine):
                words = tuple(tuple(seat.label for seat in row) for row in mine)
                self.units.append(Unit(words, inner=inner))
        fixed = tuple(seat.label for port in found.fixed if (seat := pins.get(port)) is not None)
        self.keeps += [Keep(pins=fixed)] if fixed else []

    def _may(self, rows: list[list[Seat]]) -> bool:
        """Whether rows make a group: two at least, no part of the rules file, no pin twice."""
        labels = [seat.label for row in rows for seat in row]
        if len(rows) < 2 or len(set(labels)) < len(labels) or self.used & set(labels):
            return False
        ref = rows[0][0].ref
        good = ref not in self.ruled and ":" not in ref
        self.used.update(labels if good else ())
        return good


def _whole(ports: list[list[str]], pins: dict[str, Seat | None]) -> list[list[Seat]]:
    """The rows of which all pins are on the board and may be traded by type."""
    found = []
    for row in ports:
        mine = [seat for port in row if (seat := pins.get(port)) is not None]
        fit = [seat for seat in mine if seat.type not in SUPPLY_TYPES | OPEN_TYPES]
        if len(fit) == len(row):
            found.append(fit)
    return found


def _rows(data: bytes) -> Row:
    """The outermost list: words in lower case, and rows."""
    stack: list[Row] = [[]]
    for token in TOKEN.findall(data):
        if token == b"(":
            stack.append([])
        elif token == b")":
            done = stack.pop()
            stack[-1].append(done)
        else:
            stack[-1].append(token.decode("utf-8", "replace").lower())
    found: Row = stack[0][0]
    return found


def _all(row: Row, *words: str) -> list[Row]:
    """The rows directly inside one that begin with one of these words."""
    return [item for item in row if isinstance(item, list) and item and item[0] in words]


def _deep(row: Row, word: str) -> Iterator[Row]:
    """The rows inside one, at any depth, that begin with a word, in the order of the file."""
    todo = row[::-1]
    while todo:
        item = todo.pop()
        if isinstance(item, list):
            if item and item[0] == word:
                yield item
            todo += item[::-1]


def _id(row: Row) -> str:
    """What a row is called: its second item, or the identifier inside that."""
    item = next(iter(row[1:]), "")
    if not isinstance(item, list):
        return str(item)
    return f"{_id(item)}[{item[-1]}]" if item[:1] == ["member"] else _id(item)


def _of_instances(file: Row) -> Iterator[tuple[str, Declared]]:
    """(instance, what its cell declares) for every part of the board's cell."""
    cells = {
        (_id(library), _id(cell)): cell
        for library in _all(file, "library", "external")
        for cell in _all(library, "cell")
    }
    top = _cell(_all(file, "design")[0], "")
    read: dict[int, Declared] = {}
    for instance in _deep(cells[top], "instance"):
        cell = cells.get(_cell(instance, top[0]))
        if cell is None:
            continue
        asked = [_id(row) for row in _deep(instance, "viewref")]
        views = _all(cell, "view") or [cell]
        named = [view for view in views if _id(view) in asked]
        drawn = [view for view in views if any(_deep(view, "instance"))]
        for interface in list(_deep((named or drawn or views)[0], "interface"))[:1]:
            if id(interface) not in read:
                read[id(interface)] = _declared(interface)
            for name in _singles(instance):
                yield name, read[id(interface)]


def _cell(around: Row, home: str) -> Key:
    ref = next(_deep(around, "cellref"))
    return next((_id(row) for row in _all(ref, "libraryref")), home), _id(ref)


def _singles(row: Row) -> list[str]:
    """The things that a row names: itself, or all members of an array."""
    item = row[1] if len(row) > 1 else ""
    if isinstance(item, list) and item[:1] == ["array"]:
        return [f"{_id(item)}[{index}]" for index in range(int(item[-1]))]
    return [_id(row)]


def _declared(interface: Row) -> Declared:
    """All groups of an interface, the outer ones first."""
    ports: dict[str, list[str]] = {}
    for port in _deep(interface, "port"):
        singles = _singles(port)
        ports[_id(port)] = singles
        ports.update((single, [single]) for single in singles)
    found = Declared()
    todo = _all(interface, *GROUPS)[::-1]
    while todo:
        group = todo.pop()
        if not _take(group, ports, found):
            todo += _all(group, *GROUPS)[::-1]
    found.fixed = [port for port in found.fixed if port not in found.taken]
    return found


def _take(group: Row, ports: dict[str, list[str]], found: Declared) -> bool:
    """What a group itself declares; whether nothing is left to say of what stands in it."""
    refs = [ports.get(_id(row), []) for row in _all(group, "portref")]
    if group[0] == "nonpermutable":
        found.fixed += [port for ref in refs for port in ref]
        return False
    pool = [ref[0] for ref in refs if len(ref) == 1 and ref[0] not in found.taken]
    pool = list(dict.fromkeys(pool))
    if len(pool) > 1:
        found.pools.append(pool)
        found.taken.update(pool)
    parts = [item for item in group if isinstance(item, list)]
    forms = [_form(item, ports) for item in parts if not _is_single(item, ports)]
    rows = [row for row, _ in forms]
    used = [port for row in rows for port in row]
    alike = len({(len(row), inner) for row, inner in forms}) == 1
    if len(rows) < 2 or not all(rows) or not alike or len(set(used)) < len(used):
        return False
    if found.taken & set(used):
        return False
    found.units.append((rows, forms[0][1]))
    found.taken.update(used)
    return True


def _is_single(item: Row, ports: dict[str, list[str]]) -> bool:
    """Whether it is one port, or nothing that could be a group."""
    if item[:1] == ["portref"]:
        return len(ports.get(_id(item), [])) == 1
    return not item or item[0] not in GROUPS


def _form(item: Row, ports: dict[str, list[str]]) -> tuple[list[str], tuple[tuple[int, ...], ...]]:
    """The ports of a group in order, and which positions trade inside; none without a form."""
    if item[0] == "portref":
        return ports.get(_id(item), []), ()
    row: list[str] = []
    inner: list[tuple[int, ...]] = []
    for kid in (kid for kid in item if isinstance(kid, list)):
        within = [row for row in kid if isinstance(row, list)]
        here = [ports.get(_id(ref), []) for ref in ([kid] if kid[:1] == ["portref"] else within)]
        nested = kid[:1] == ["permutable"] and item[0] == "nonpermutable"
        strict = nested or item[0] == "permutable"
        known = kid[:1] == ["portref"] or (nested and _all(kid, "portref") == within)
        if not known or not all(here) or (strict and any(len(ref) > 1 for ref in here)):
            return [], ()
        flat = [port for ref in here for port in ref]
        if nested:
            inner.append(tuple(range(len(row) + 1, len(row) + len(flat) + 1)))
        row += flat
    if item[0] == "permutable":
        inner = [tuple(range(1, len(row) + 1))]
    return row, tuple(places for places in inner if len(places) > 1)
