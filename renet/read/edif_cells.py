"""The cells of an EDIF file: their views, their ports, and which ports may trade places.

What may trade
--------------
``(permutable ...)`` says that what stands directly in it may trade places.

* The single ports in it are a **pool**.
* Groups in it (``nonPermutable``, ``permutable``, or a port that is an array)
  that all have one form are a **unit**: they trade as wholes.  In a group the
  order counts, but for ports that stand in a ``permutable`` of their own; two
  groups have one form when they are equally long and such ports stand in the
  same positions.
* A group that holds anything else has no form.  Where a group has none, two
  differ, or a port of theirs is in an earlier pool or unit, they are no unit, and
  each ``permutable`` in them is looked at by itself.
* A port that would be in two pools is in the first.
* A port that stands in ``nonPermutable`` and is in no pool and no unit is kept.

``verify.permutable`` goes by these sentences as well, by a reading of its own.
"""

from __future__ import annotations

from typing import NamedTuple

from renet.read.edif_tree import Lists, Name

Key = tuple[str, str]
Keys = tuple[str, ...]


class Port(NamedTuple):
    """A port of a cell: pin number, function, and how the file refers to it."""

    number: str
    function: str
    name: Name


class UnitOfPorts(NamedTuple):
    """Tuples that trade whole; ``inner`` are sets of positions, from 1, that trade inside."""

    tuples: tuple[Keys, ...]
    inner: tuple[tuple[int, ...], ...]


class Trades(NamedTuple):
    """What may trade, and what is said to be nonPermutable; in ports, or in pin numbers."""

    pools: tuple[Keys, ...] = ()
    units: tuple[UnitOfPorts, ...] = ()
    kept: Keys = ()


class Cell(NamedTuple):
    """A kind of part or block in one of its views; ``contents`` is -1 for a part."""

    name: str
    key: Key
    interface: int
    contents: int
    ports: dict[str, Port]
    trades: Trades


class Cells:
    """All cells of a file; each view is read when somebody first asks for it."""

    def __init__(self, lists: Lists) -> None:
        self.lists = lists
        self._at: dict[Key, int] = {}
        self._read: dict[int, Cell] = {}
        for library in lists.having(0, b"library", b"external"):
            home = lists.name(library).key
            for index in lists.having(library, b"cell"):
                key = home, lists.name(index).key
                if key in self._at:
                    raise lists.fault(index, f"cell {key[1]} stands twice in library {home}")
                self._at[key] = index

    def top(self) -> Cell:
        """The cell that the design names, in its view with contents."""
        lists = self.lists
        for design in lists.having(0, b"design"):
            key = self.key(design, "")
            if key not in self._at:
                raise lists.fault(design, "the design names a cell that is not there")
            cell = self.cell(key, "")
            if cell.contents < 0:
                at = self._at[key]
                raise lists.fault(at, f"the board's cell {lists.name(at).text} has no contents")
            return cell
        raise lists.fault(0, "there is no (design ...) that names the board's cell")

    def key(self, around: int, home: str) -> Key:
        """(library, cell) that a list refers to; ``home`` where it names no library."""
        ref = next(self.lists.below(around, b"cellref"), -1)
        if ref < 0:
            raise self.lists.fault(around, "it names no cell")
        library = self.lists.first(ref, b"libraryref")
        return (self.lists.name(library).key if library >= 0 else home), self.lists.name(ref).key

    def of(self, instance: int, home: str) -> Cell:
        """The cell of an instance, in the view that it names."""
        lists, key = self.lists, self.key(instance, home)
        if key not in self._at:
            what = f"instance {lists.name(instance).text} is of a cell that is not there"
            raise lists.fault(instance, what)
        view = next(lists.below(instance, b"viewref"), -1)
        return self.cell(key, lists.name(view).key if view >= 0 else "")

    def cell(self, key: Key, view: str) -> Cell:
        """A cell in the view of that name; else in the first with contents; else in the first."""
        lists, index = self.lists, self._at[key]
        views = lists.having(index, b"view") or [index]
        named = [v for v in views if v != index and view and lists.name(v).key == view]
        drawn = sorted((v for v in views if self._contents(v) >= 0), key=self._is_drawing)
        chosen = [*named, *drawn, *views][0]
        if chosen not in self._read:
            interface = next(lists.below(chosen, b"interface"), -1)
            ports = _ports(lists, interface) if interface >= 0 else {}
            trades = _trades(lists, interface, ports) if interface >= 0 else Trades()
            name, contents = lists.name(index).text, self._contents(chosen)
            self._read[chosen] = Cell(name, key, interface, contents, ports, trades)
        return self._read[chosen]

    def _contents(self, view: int) -> int:
        """The contents of a view, if instances or nets stand in them."""
        for index in self.lists.below(view, b"contents"):
            if next(self.lists.below(index, b"instance"), -1) >= 0:
                return index
            if next(self.lists.below(index, b"net"), -1) >= 0:
                return index
        return -1

    def _is_drawing(self, view: int) -> bool:
        kind = self.lists.value(self.lists.first(view, b"viewtype"))
        return kind.lower() != "netlist"


def _ports(lists: Lists, interface: int) -> dict[str, Port]:
    found: dict[str, Port] = {}
    for index in lists.below(interface, b"port"):
        name = lists.name(index)
        number = lists.value(lists.first(index, b"designator"))
        for single in lists.singles(index, name):
            if single.key in found:
                raise lists.fault(index, f"port {single.text} stands twice in its cell")
            numbered = number if number and not name.width else ""
            function = single.text if numbered and numbered != single.text else ""
            found[single.key] = Port(numbered or single.text, function, single)
    return found


def members(ports: dict[str, Port], key: str) -> Keys:
    """The single ports behind an identifier: itself, or the members of an array."""
    if key in ports:
        return (key,)
    found: list[str] = []
    while f"{key}[{len(found)}]" in ports:
        found.append(f"{key}[{len(found)}]")
    return tuple(found)


def _trades(lists: Lists, interface: int, ports: dict[str, Port]) -> Trades:
    """What the interface sets free, by the sentences above."""
    pools: list[Keys] = []
    units: list[UnitOfPorts] = []
    taken: set[str] = set()
    fixed: dict[str, None] = {}
    todo = [i for i in reversed(lists.kids[interface]) if _is_group(lists, i)]
    while todo:
        here = todo.pop()
        inside = [kid for kid in lists.kids[here] if _is_group(lists, kid)]
        if lists.words[here] == b"nonpermutable":
            fixed.update((key, None) for key in _singles(lists, here, ports))
        else:
            pool = tuple(k for k in dict.fromkeys(_singles(lists, here, ports)) if k not in taken)
            pools += [pool] if len(pool) > 1 else []
            taken.update(pool if len(pool) > 1 else ())
            unit = _unit(lists, here, ports)
            if unit is not None and not taken & {key for row in unit.tuples for key in row}:
                units.append(unit)
                taken.update(key for row in unit.tuples for key in row)
                continue
        todo += reversed(inside)
    return Trades(tuple(pools), tuple(units), tuple(key for key in fixed if key not in taken))


def _is_group(lists: Lists, index: int) -> bool:
    return lists.words[index] in (b"permutable", b"nonpermutable")


def _singles(lists: Lists, group: int, ports: dict[str, Port]) -> list[str]:
    """The ports that stand directly in a group; of nonPermutable, members of arrays as well."""
    found: list[str] = []
    for index in lists.having(group, b"portref"):
        behind = members(ports, lists.name(index).key)
        if len(behind) == 1 or lists.words[group] == b"nonpermutable":
            found += behind
    return found


def _unit(lists: Lists, group: int, ports: dict[str, Port]) -> UnitOfPorts | None:
    """The groups of a permutable as tuples, where all of them have one form."""
    rows, forms = [], set()
    for kid in lists.kids[group]:
        row: Keys | None = None
        inner: tuple[tuple[int, ...], ...] = ()
        if _is_group(lists, kid):
            row, inner = _row(lists, kid, ports)
        elif lists.words[kid] == b"portref":
            row = members(ports, lists.name(kid).key)
            if len(row) == 1:
                continue
        if row is not None:
            rows.append(row)
            forms.add((len(row), inner))
    whole = len(rows) > 1 and len(forms) == 1 and all(rows)
    keys = [key for row in rows for key in row]
    if not whole or len(set(keys)) != len(keys):
        return None
    return UnitOfPorts(tuple(rows), forms.pop()[1])


def _row(
    lists: Lists, group: int, ports: dict[str, Port]
) -> tuple[Keys, tuple[tuple[int, ...], ...]]:
    """The ports of a group in order and the positions that trade inside; none without a form."""
    row: list[str] = []
    inner: list[tuple[int, ...]] = []
    free = lists.words[group] == b"permutable"
    for kid in lists.kids[group]:
        behind: Keys = ()
        if lists.words[kid] == b"portref":
            behind = members(ports, lists.name(kid).key)
            behind = () if free and len(behind) > 1 else behind
        elif lists.words[kid] == b"permutable" and not free:
            behind = tuple(_singles(lists, kid, ports))
            behind = behind if len(behind) == len(lists.kids[kid]) else ()
            inner.append(tuple(range(len(row) + 1, len(row) + len(behind) + 1)))
        if not behind:
            return (), ()
        row += behind
    if free:
        inner.append(tuple(range(1, len(row) + 1)))
    return tuple(row), tuple(places for places in inner if len(places) > 1)
