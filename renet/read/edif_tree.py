"""The lists of an EDIF file by keyword in any case, and the names that stand in them.

EDIF 2 0 0 is ANSI/EIA-548-1988; what is used of it was taken from public format
descriptions.  An identifier is a letter, digits and underscores, with ``&`` in
front where the first is no letter; ``(rename id "original")`` gives the name
that a person wrote, ``(array ...)`` and ``(member id index)`` buses.  In a
string ``%34%`` is the character of that number, and a backslash is a backslash.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from renet.errors import InputError
from renet.scan import fault
from renet.syntax import parse

CHECK = "export the netlist again"

_ATOM = re.compile(rb'"[^"]*"|[^\s()"][^\s()]*')
_WORD = re.compile(rb'(?:[^\s()"][^\s()]*)?')
_FIRST = re.compile(rb'\s*("[^"]*"|[^\s()"][^\s()]*)')
_CODES = re.compile(r"%([0-9 \t\r\n]{1,80})%")


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


class Lists:
    """All lists of a file with their children, found in one pass.

    The brackets are found in a copy of the bytes without backslashes, which
    would mean something to ``syntax``; offsets are the same in both.
    """

    MAX_WIDTH = 4096

    def __init__(self, data: bytes) -> None:
        self.data = data
        self._budget = 20_000 + len(data)
        self.tree = parse(data.replace(b"\\", b"/"))
        self._start, self._end = self.tree.start.tolist(), self.tree.end.tolist()
        self._word = self.tree.words(np.arange(len(self.tree))).tolist()
        self.words = [_WORD.match(data, at)[0].lower() for at in self._word]  # type: ignore[index]
        self.kids: list[list[int]] = [[] for _ in self.words]
        path: list[int] = []
        for index, depth in enumerate(self.tree.depth.tolist()):
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

    def below(self, index: int, word: bytes, deep: bool = False) -> Iterator[int]:
        """Lists with this keyword inside a list, in file order; ``deep``: those inside them too."""
        todo = list(reversed(self.kids[index]))
        while todo:
            here = todo.pop()
            if self.words[here] == word:
                yield here
            if deep or self.words[here] != word:
                todo += reversed(self.kids[here])

    def value(self, index: int) -> str:
        """The first atom after the keyword, plain or in a stringDisplay; "" if there is none."""
        if index < 0:
            return ""
        atoms = self._atoms(index)
        return text_of(atoms[0]) if atoms else self.value(self.first(index, b"stringdisplay"))

    def name(self, index: int) -> Name:
        """What a list is called: its first atom, or the rename, array or member in its place."""
        begin = self._word[index] + len(self.words[index])
        first = _FIRST.match(self.data, begin)
        if first is not None:
            return _plain(first[1])
        named = self.having(index, b"rename", b"array", b"member", b"name")
        if not named:
            raise fault(self.data, begin, "a name is missing here", CHECK)
        return self._behind(named[0])

    def _behind(self, index: int) -> Name:
        word, atoms = self.words[index], self._atoms(index)
        if word in (b"array", b"member"):
            inner = self.name(index)
            if inner.width or "[" in inner.key:
                raise self.fault(index, "an array of arrays", "write its members one by one")
            numbers = atoms if self.having(index, b"rename", b"name") else atoms[1:]
            number = text_of(numbers[0]) if len(numbers) == 1 else ""
            if not (number.isascii() and number.isdecimal() and int(number[:9]) <= self.MAX_WIDTH):
                raise self.fault(index, "an array or a member without one number")
            if word == b"array":
                return inner._replace(width=int(number))
            return inner.member(int(number))._replace(raw=self.data[self.span(index)])
        if not atoms:
            raise self.fault(index, "a name is missing here")
        plain = _plain(atoms[0])
        if len(atoms) > 1 and text_of(atoms[1]):
            return plain._replace(text=text_of(atoms[1]))
        return plain._replace(text=self.value(self.first(index, b"stringdisplay")) or plain.text)

    def singles(self, index: int, name: Name) -> list[Name]:
        """The things behind a name: all members of an array, else itself."""
        self.spend(index, max(1, name.width))
        return [name.member(i) for i in range(name.width)] if name.width else [name]

    def spend(self, index: int, things: int) -> None:
        """Refuse a file whose arrays and blocks hold many times more than it has bytes."""
        self._budget -= things
        if self._budget < 0:
            what = "arrays and blocks inside blocks make too many parts and pins"
            raise self.fault(index, what, "write the netlist flat")

    def _atoms(self, index: int) -> list[bytes]:
        """The list's own atoms after its keyword."""
        at = self._word[index] + len(self.words[index])
        found: list[bytes] = []
        for kid in self.kids[index]:
            found += _ATOM.findall(self.data, at, self._start[kid])
            at = self._end[kid]
        return found + _ATOM.findall(self.data, at, self._end[index] - 1)

    def span(self, index: int) -> slice:
        """The bytes of a list."""
        return slice(self._start[index], self._end[index])

    def fault(self, index: int, what: str, do: str = CHECK) -> InputError:
        """An InputError that points at a list."""
        return fault(self.data, self._start[index], what, do)


def text_of(raw: bytes) -> str:
    """A string without its quotes and with the characters that ``%`` stands for; else as it is."""
    said = raw.decode("utf-8", "replace")
    if raw[:1] != b'"':
        return said
    return _CODES.sub(lambda found: _characters(found), said[1:-1])


def _characters(found: re.Match[str]) -> str:
    codes = [int(word) for word in found[1].split()]
    return "".join(map(chr, codes)) if codes and max(codes) < 0xD800 else found[0]


def _plain(raw: bytes) -> Name:
    said = text_of(raw)
    return Name(said.lower(), said.removeprefix("&"), raw)
