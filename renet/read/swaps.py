"""Change lists: text to :class:`renet.changes.ChangeList`.

The list is an S-expression document of its own kind: any reader of those can
read it, sexpdata among them, which the tests do.  Here our own syntax tree does,
since it knows where everything stands.  An unknown entry is an error: a list
that says more than this version understands must not be applied in part.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from typing import Any

from renet.changes import ChangeList, Figures, Left, Move, Source, Swap
from renet.errors import InputError
from renet.syntax import Atom, Tree, parse

_ADVICE = "write the list anew with `renet untangle`"
_VERSION = 1
_INTEGER = re.compile(r"[-+]?\d{1,15}")
_NUMBER = re.compile(r"[-+]?\d{1,15}(?:\.\d{1,30})?(?:[eE][-+]?\d{1,2})?")
_ENTRIES = ("version", "source", "copper", "tied", "left", "swap")
_ONCE = ("version", "copper", "tied")

Take = Callable[[int], Any]


def read_swaps(data: bytes) -> ChangeList:
    """A change list from its bytes; InputError says which entry is wrong, and where."""
    return _Reader(parse(data)).changes()


class _Reader:
    """Looks through the tree of a change list once."""

    def __init__(self, tree: Tree) -> None:
        self._tree = tree
        self._ids: set[int] = set()
        self._pins: set[tuple[str, str]] = set()

    def changes(self) -> ChangeList:
        """Everything; the order of the entries among each other does not matter."""
        tree = self._tree
        if tree.keyword(0) != b"renet_swaps":
            what = 'this is no change list: its first word is not "renet_swaps"'
            raise self._fault(0, what, "give the .swaps file that `renet untangle` wrote")
        found: dict[str, list[Any]] = {name: [] for name in _ENTRIES}
        takes = {"version": self._version, "source": self._source, "copper": self._copper,
                 "tied": self._text, "left": self._left, "swap": self._swap}  # fmt: skip
        for child in self._lists(0):
            name = self._name(child, _ENTRIES, "a change list")
            if name in _ONCE and found[name]:
                raise self._fault(child, f'change list: repeated entry "{name}"')
            found[name].append(takes[name](child))
        if not found["version"]:
            raise self._fault(0, f"change list: expected an entry (version {_VERSION})")
        return ChangeList(
            sources=tuple(found["source"]),
            swaps=tuple(found["swap"]),
            copper=found["copper"][0] if found["copper"] else "keep",
            left=tuple(found["left"]),
            tied=found["tied"][0] if found["tied"] else "",
        )

    def _version(self, index: int) -> int:
        version = self._int(index)
        if version != _VERSION:
            what = f"change list: version {version} is not known here, expected {_VERSION}"
            raise self._fault(index, what)
        return version

    def _copper(self, index: int) -> str:
        return self._choice(index, ("keep", "rip", "ignore"))

    def _source(self, index: int) -> Source:
        found = self._record(index, kind=self._kind, file=self._text, sha256=self._text)
        return Source(**self._complete(index, found, Source._fields))

    def _kind(self, index: int) -> str:
        return self._choice(index, ("board", "netlist"))

    def _left(self, index: int) -> Left:
        found = self._record(
            index, net=self._text, tracks=self._int, vias=self._int, fills=self._int
        )
        return Left(**self._complete(index, found, Left._fields))

    def _swap(self, index: int) -> Swap:
        number = self._number(index)
        moves: list[Move] = []
        worth: dict[str, Figures] = {}
        for child in self._lists(index):
            name = self._name(child, ("move", "alone", "lost_without"), "a swap")
            if name == "move":
                moves.append(self._move(child))
            elif name in worth:
                raise self._fault(child, f'change list: repeated entry "{name}" in a swap')
            else:
                worth[name] = self._figures(child)
        return Swap(number, tuple(moves), worth.get("alone"), worth.get("lost_without"))

    def _number(self, index: int) -> int:
        """The number of a swap, which no other swap has."""
        values = self._tree.values(index)
        if len(values) != 1:
            raise self._fault(index, "change list: expected one number of the swap")
        number = self._whole(values[0])
        if number < 1:
            raise self._fault(index, f"change list: {number} is no swap number, expected 1 or more")
        if number in self._ids:
            raise self._fault(index, f"change list: two swaps have the number {number}")
        self._ids.add(number)
        return number

    def _figures(self, index: int) -> Figures:
        found = self._record(
            index,
            crossings=self._int,
            overlaps=self._int,
            over_pads=self._int,
            length_mm=self._real,
        )
        return Figures(**self._complete(index, found, Figures._fields))

    def _move(self, index: int) -> Move:
        text = self._text
        found = self._record(index, part=text, pin=text, name=text, was=text, **{"is": text})
        self._complete(index, found, ("part", "pin"))
        move = Move(
            found["part"], found["pin"], found.get("name", ""), found.get("was"), found.get("is")
        )
        if (move.part, move.pin) in self._pins:
            raise self._fault(index, f"change list: {move.part}:{move.pin} is moved twice")
        self._pins.add((move.part, move.pin))
        return move

    # one list

    def _record(self, index: int, **takes: Take) -> dict[str, Any]:
        """The children by name; each at most once, none unknown, nothing else beside them."""
        own = self._tree.keyword(index).decode()
        found: dict[str, Any] = {}
        if self._tree.values(index):
            raise self._fault(index, f'change list: expected only lists in "{own}"')
        for child in self._lists(index):
            name = self._name(child, takes, f'"{own}"')
            if name in found:
                raise self._fault(child, f'change list: repeated entry "{name}" in "{own}"')
            found[name] = takes[name](child)
        return found

    def _complete(self, index: int, found: dict[str, Any], names: Iterable[str]) -> dict[str, Any]:
        missing = ", ".join(name for name in names if name not in found)
        if missing:
            own = self._tree.keyword(index).decode()
            raise self._fault(index, f'change list: "{own}" lacks {missing}')
        return found

    def _lists(self, index: int) -> list[int]:
        found: list[int] = self._tree.children(index).tolist()
        return found

    def _name(self, index: int, known: Iterable[str], where: str) -> str:
        name = self._tree.keyword(index).decode("utf-8", "replace")
        if name not in known:
            what = f'change list: unknown entry "{name[:40]}" in {where}'
            raise self._fault(index, f"{what}, expected one of {', '.join(known)}")
        return name

    def _atom(self, index: int, *, quoted: bool, wanted: str) -> Atom:
        """The one value of a list that holds nothing else."""
        values = self._tree.values(index)
        if len(values) != 1 or values[0].quoted != quoted or self._lists(index):
            own = self._tree.keyword(index).decode()
            raise self._fault(index, f'change list: expected {wanted} in "{own}"')
        return values[0]

    def _text(self, index: int) -> str:
        atom = self._atom(index, quoted=True, wanted="one string in quotes")
        return self._tree.text(atom.start, atom.end)

    def _choice(self, index: int, words: tuple[str, ...]) -> str:
        wanted = f"one of the words {', '.join(words)}"
        atom = self._atom(index, quoted=False, wanted=wanted)
        word = self._tree.text(atom.start, atom.end)
        if word not in words:
            raise self._fault(index, f"change list: expected {wanted} but found {word[:40]!r}")
        return word

    def _int(self, index: int) -> int:
        return self._whole(self._atom(index, quoted=False, wanted="one whole number"))

    def _whole(self, atom: Atom) -> int:
        text = self._tree.text(atom.start, atom.end)
        if not _INTEGER.fullmatch(text):
            what = f"change list: expected a whole number but found {text[:40]!r}"
            raise self._tree.fault(atom.start, what, _ADVICE)
        return int(text)

    def _real(self, index: int) -> float:
        atom = self._atom(index, quoted=False, wanted="one number")
        text = self._tree.text(atom.start, atom.end)
        if not _NUMBER.fullmatch(text):
            what = f"change list: expected a number but found {text[:40]!r}"
            raise self._tree.fault(atom.start, what, _ADVICE)
        return float(text)

    def _fault(self, index: int, what: str, do: str = _ADVICE) -> InputError:
        return self._tree.fault(self._tree.span(index)[0], what, do)
