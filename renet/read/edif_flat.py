"""The nets of an EDIF board, blocks inside blocks made flat.

A net of a block is the net outside that its port is joined to; where none is,
it is called ``BLOCK/NET``.  A part is called by its ``designator``, else by the
name of its instance, with ``BLOCK/`` in front where it stands in a block that is
there more than once.  Nets that join one port of their own cell, or one off-page
connector, are one net; so are nets of one name on several pages.
"""

from __future__ import annotations

from collections import Counter, deque
from dataclasses import dataclass, field
from typing import NamedTuple

from renet.read.edif_cells import Cell, Cells, Key, Keys, Port, members
from renet.read.edif_tree import Lists, Name

_DEEPEST = 100


class Instance(NamedTuple):
    """A part; ``block`` is the path of its block, "" on the board itself."""

    ref: str
    name: Name
    block: str
    cell: Cell
    ports: dict[str, Port]


class End(NamedTuple):
    """A pin on a net; ``list`` is its portRef, ``whole`` that it stands in a bus."""

    key: Key
    net: int
    list: int
    whole: bool


@dataclass(slots=True)
class Block:
    """A block as it stands in one place, with the nets outside by port.

    ``path`` is for people, ``at`` the same in identifiers; ``chain`` has the
    contents of the blocks around it.
    """

    path: str
    at: str
    cell: Cell
    chain: tuple[int, ...]
    outer: dict[str, int] = field(default_factory=dict)


class Drawn(NamedTuple):
    """An instance as it stands in its cell."""

    list: int
    name: Name
    ref: str
    cell: Cell
    ports: dict[str, Port]


class Inside(NamedTuple):
    """What stands in a block, by identifier."""

    parts: dict[str, Instance]
    blocks: dict[str, Block]


class Flat:
    """All parts, ends and nets of a board; ``lists_of`` has each list of a net with its number."""

    def __init__(self, lists: Lists, cells: Cells) -> None:
        self.lists, self.cells = lists, cells
        self.parts: dict[str, Instance] = {}
        self.ends: list[End] = []
        self.lists_of: list[tuple[int, int]] = []
        self._root: list[int] = []
        self._names: list[tuple[str, str]] = []
        self._read: dict[int, list[Drawn]] = {}
        self._blocks: list[tuple[Block, Inside]] = []
        self._walk(Block("", "", cells.top(), ()))

    def net(self, number: int) -> int:
        """The net that a number stands for: the first of all that are one."""
        while self._root[number] != number:
            self._root[number] = self._root[self._root[number]]
            number = self._root[number]
        return number

    def names(self) -> dict[int, str]:
        """Names by net, each different: where two are alike, the later has its identifier added."""
        found: dict[int, str] = {}
        taken: set[str] = set()
        for number, (name, key) in enumerate(self._names):
            if self.net(number) == number:
                while name in taken:
                    name = f"{name} ({key})"
                taken.add(name)
                found[number] = name
        return found

    def _walk(self, top: Block) -> None:
        todo = deque([top])
        while todo:
            block = todo.popleft()
            inside = self._instances(block)
            self._blocks.append((block, inside))
            self._nets(block, inside)
            todo += inside.blocks.values()
        copies = Counter(block.cell.contents for block, _ in self._blocks)
        for block, inside in self._blocks:
            again = f"{block.path}/" if copies[block.cell.contents] > 1 else ""
            for key, part in inside.parts.items():
                self.parts[_inside(block, key)] = part._replace(ref=again + part.ref)

    def _instances(self, block: Block) -> Inside:
        lists, inside = self.lists, Inside({}, {})
        chain = (*block.chain, block.cell.contents)
        for index, single, ref, cell, ports in self._drawn(block.cell):
            if cell.contents in chain:
                raise lists.fault(index, f"block {single.text} contains itself")
            if len(chain) > _DEEPEST:
                raise lists.fault(index, f"blocks stand more than {_DEEPEST} deep in each other")
            lists.spend(index, 1)
            if cell.contents >= 0:
                path = f"{block.path}/{ref}" if block.path else ref
                inside.blocks[single.key] = Block(path, _inside(block, single.key), cell, chain)
            else:
                inside.parts[single.key] = Instance(ref, single, block.path, cell, ports)
        return inside

    def _drawn(self, cell: Cell) -> list[Drawn]:
        """The instances that stand in a cell, read once."""
        if cell.contents in self._read:
            return self._read[cell.contents]
        lists, seen = self.lists, set[str]()
        found = self._read.setdefault(cell.contents, [])
        for index in lists.below(cell.contents, b"instance"):
            name, kind = lists.name(index), self.cells.of(index, cell.key[0])
            given = lists.value(lists.first(index, b"designator"))
            ports = _renumbered(lists, index, kind)
            for single in lists.singles(index, name):
                if single.key in seen:
                    raise lists.fault(index, f"instance {single.text} stands twice")
                seen.add(single.key)
                ref = given if given and not name.width else single.text
                found.append(Drawn(index, single, ref, kind, ports))
        return found

    def _nets(self, block: Block, inside: Inside) -> None:
        """All nets of a block: their pins, and what they join in and outside."""
        lists = self.lists
        numbers: dict[str, int] = {}
        spelled: dict[str, bytes] = {}
        own: dict[str, int] = dict(block.outer)
        for net in lists.below(block.cell.contents, b"net"):
            name = lists.name(net)
            if spelled.setdefault(name.key, name.raw) != name.raw and not name.raw.startswith(b"("):
                first = spelled[name.key].decode("utf-8", "replace")
                what = f"nets {first} and {name.raw.decode('utf-8', 'replace')} differ in capitals"
                raise lists.fault(net, f"{what} only, which is no difference in EDIF")
            mine = []
            for single in lists.singles(net, name):
                if single.key not in numbers:
                    numbers[single.key] = self._new(block, single)
                mine.append(numbers[single.key])
            for joined in lists.below(net, b"joined"):
                for index in lists.below(joined, b"portref"):
                    self._join(index, (block, inside, own), mine, bool(name.width))
            if not block.at:
                self.lists_of += [(net, number) for number in ([] if name.width else mine)]

    def _new(self, block: Block, name: Name) -> int:
        self._root.append(len(self._root))
        text = f"{block.path}/{name.text}" if block.path else name.text
        self._names.append((text, name.key))
        return len(self._root) - 1

    def _join(
        self, index: int, place: tuple[Block, Inside, dict[str, int]], mine: list[int], bus: bool
    ) -> None:
        """One portRef: its ends go to the members of the net, one each."""
        lists, (block, inside, own) = self.lists, place
        at, port = lists.first(index, b"instanceref"), lists.name(index)
        known = block.cell.ports
        there = ""
        if at >= 0:
            there = lists.name(at).key
            if there not in inside.parts and there not in inside.blocks:
                raise lists.fault(at, f"there is no instance {lists.name(at).text}")
            sub = inside.blocks.get(there)
            known = sub.cell.ports if sub else inside.parts[there].ports
        behind = members(known, port.key) or (() if there else _unknown(port.key, mine, bus))
        self._check(index, behind, (there, inside), mine)
        lists.spend(index, len(behind))
        for key, number in zip(behind, mine, strict=True):
            if there in inside.parts:
                self.ends.append(End((_inside(block, there), key), number, index, bus))
            else:
                known_nets = inside.blocks[there].outer if there else own
                self._unite(known_nets.setdefault(key, number), number)

    def _check(self, index: int, behind: Keys, at: tuple[str, Inside], mine: list[int]) -> None:
        lists, (there, inside) = self.lists, at
        if len(behind) == len(mine):
            return
        what = f"port {lists.name(index).text}"
        if there:
            block = inside.blocks.get(there)
            what += f" of {block.path if block else inside.parts[there].ref}"
        if not behind:
            raise lists.fault(index, f"there is no {what}")
        what = f"{what} has {len(behind)} members, its net {len(mine)}"
        raise lists.fault(index, what, "join them one by one")

    def _unite(self, one: int, other: int) -> None:
        a, b = sorted((self.net(one), self.net(other)))
        self._root[b] = a


def _inside(block: Block, key: str) -> str:
    return f"{block.at}/{key}" if block.at else key


def _unknown(key: str, mine: list[int], bus: bool) -> Keys:
    """A port of the block itself, or an off-page connector: whatever it is called."""
    return tuple(f"{key}[{i}]" for i in range(len(mine))) if bus else (key,)


def _renumbered(lists: Lists, instance: int, cell: Cell) -> dict[str, Port]:
    """Ports with the pin numbers that ``(portInstance ... (designator ...))`` gives here."""
    ports = dict(cell.ports)
    for index in lists.having(instance, b"portinstance"):
        name, number = lists.name(index), lists.value(lists.first(index, b"designator"))
        if number and name.key in ports:
            old = ports[name.key]
            ports[name.key] = Port(
                number, "" if number == old.name.text else old.name.text, old.name
            )
    return ports
