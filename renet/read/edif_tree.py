"""The lists of an EDIF file by keyword in any case, and the names that stand in them.

EDIF 2 0 0 is ANSI/EIA-548-1988; what is used of it was taken from public format
descriptions.  An identifier is a letter, digits and underscores, with ``&`` in
front where the first is no letter; ``(rename id "original")`` gives the name
that a person wrote, ``(array ...)`` and ``(member id index)`` buses.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from renet.errors import InputError
from renet.syntax import Tree

CHECK = "export the netlist again"


class Name(NamedTuple):
    """An identifier as other lists refer to it (lower case), and the name it stands for.

    ``raw`` is the identifier or ``(member ...)`` list as the file writes it;
    ``width`` is how many members an array has, 0 for a single thing.
    """

    key: str
    text: str
    raw: bytes
    width: int = 0

    def member(self, index: int) -> Name:
        """One member of an array."""
        raw = b"(member %s %d)" % (self.raw, index)
        return Name(f"{self.key}[{index}]", f"{self.text}[{index}]", raw)

    def singles(self) -> list[Name]:
        """The things behind the name: all members of an array, else itself."""
        return [self.member(i) for i in range(self.width)] if self.width else [self]


class Lists:
    """All lists of a tree with their children, found in one pass."""

    MAX_WIDTH = 65_536

    def __init__(self, tree: Tree) -> None:
        self.tree = tree
        self.words = [tree.keyword(i).lower() for i in range(len(tree))]
        self.kids: list[list[int]] = [[] for _ in self.words]
        path: list[int] = []
        for index, depth in enumerate(tree.depth.tolist()):
            del path[depth:]
            if path:
                self.kids[path[-1]].append(index)
            path.append(index)

    def having(self, index: int, *words: bytes) -> list[int]:
        """Children with one of these keywords."""
        return [kid for kid in self.kids[index] if self.words[kid] in words]

    def first(self, index: int, word: bytes) -> int:
        """The first child with this keyword, -1 if there is none."""
        return next(iter(self.having(index, word)), -1)

    def below(self, index: int, word: bytes, stop: bytes = b"") -> Iterator[int]:
        """All lists with this keyword inside a list, in file order; none inside ``stop``."""
        todo = list(reversed(self.kids[index]))
        while todo:
            here = todo.pop()
            if self.words[here] == word:
                yield here
            elif self.words[here] != stop:
                todo += reversed(self.kids[here])

    def value(self, index: int) -> str:
        """The first atom after the keyword, "" if there is none."""
        if index < 0:
            return ""
        atoms = self.tree.values(index)
        return self.tree.text(atoms[0].start, atoms[0].end) if atoms else ""

    def name(self, index: int) -> Name:
        """What a list is called: its first atom, or the rename, array or member in its place."""
        named = self.having(index, b"rename", b"array", b"member", b"name")
        begin = int(self.tree.word[index]) + len(self.words[index])
        atoms = self.tree.values(index)
        if atoms and (not named or atoms[0].start < self.tree.start[named[0]]):
            return _plain(self.tree.data[atoms[0].start : atoms[0].end])
        if not named:
            raise self.tree.fault(begin, "a name is missing here", CHECK)
        return self._behind(named[0])

    def _behind(self, index: int) -> Name:
        word, atoms = self.words[index], self.tree.values(index)
        texts = [self.tree.text(atom.start, atom.end) for atom in atoms]
        if word in (b"array", b"member"):
            inner = self.name(index)
            number = texts[-1] if texts else ""
            if not (number.isascii() and number.isdecimal() and int(number[:9]) <= self.MAX_WIDTH):
                raise self.fault(index, "an array or a member without a number")
            if word == b"array":
                return inner._replace(width=int(number))
            return inner.member(int(number))._replace(raw=self.tree.data[self.span(index)])
        if not atoms:
            raise self.fault(index, "a name is missing here")
        plain = _plain(self.tree.data[atoms[0].start : atoms[0].end])
        if len(atoms) > 1 and texts[1]:
            return plain._replace(text=texts[1])
        shown = self.first(index, b"stringdisplay")
        return plain._replace(text=self.value(shown) or plain.text)

    def span(self, index: int) -> slice:
        """The bytes of a list."""
        return slice(*self.tree.span(index))

    def fault(self, index: int, what: str, do: str = CHECK) -> InputError:
        """An InputError that points at a list."""
        return self.tree.fault(int(self.tree.start[index]), what, do)


def _plain(raw: bytes) -> Name:
    text = raw.decode("utf-8", "replace").strip('"')
    return Name(text.lower(), text.removeprefix("&"), raw)
