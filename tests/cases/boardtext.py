"""A board file as text with places: which list stands where, for changes by text edits.

Reads brackets and strings by the one rule that fits every version: a quote opens
a string only at the start of an atom.  Shares no code with renet.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

_TOKEN = re.compile(rb'(?<![^\s()])"(?:[^"\\]|\\.)*"|[()]', re.DOTALL)
_ATOM = re.compile(rb'"(?:[^"\\]|\\.)*"|[^\s()"][^\s()]*')
_BARE = re.compile(r'[^\s()"%{}#-][^\s()"]*\Z')


class Edit(NamedTuple):
    """Replace bytes [start, end) by ``text``."""

    start: int
    end: int
    text: bytes


def splice(data: bytes, edits: Iterable[Edit]) -> bytes:
    """The data with all edits made; they must not overlap."""
    pieces, at = [], 0
    for edit in sorted(edits):
        if edit.start < at:
            raise ValueError(f"edits overlap at byte {edit.start}")
        pieces += [data[at : edit.start], edit.text]
        at = edit.end
    return b"".join([*pieces, data[at:]])


class Node:
    """A list in the text: [start, end) with its brackets, and the lists inside it."""

    __slots__ = ("children", "data", "end", "start")

    def __init__(self, data: bytes, start: int) -> None:
        self.data, self.start, self.end = data, start, start
        self.children: list[Node] = []

    @property
    def atoms(self) -> list[str]:
        """The atoms before the first inner list, without quotes: word, then values."""
        stop = self.children[0].start if self.children else self.end - 1
        return [_plain(m) for m in _ATOM.findall(self.data, self.start + 1, stop)]

    def all(self, *words: str) -> Iterator[Node]:
        """Inner lists that begin with one of the words."""
        wanted = [word.encode() for word in words]
        for child in self.children:
            match = _ATOM.match(self.data, child.start + 1)
            if match and match.group() in wanted:
                yield child

    def one(self, *words: str) -> Node | None:
        """The first such list."""
        return next(self.all(*words), None)

    def value(self, word: str, index: int = 1) -> str:
        """An atom of the first such list; "" where there is none."""
        found = self.one(word)
        atoms = found.atoms if found else []
        return atoms[index] if len(atoms) > index else ""


def _plain(atom: bytes) -> str:
    text = atom.decode()
    if text[0] == '"':
        return re.sub(r"\\(.)", lambda m: {"n": "\n"}.get(m[1], m[1]), text[1:-1])
    return text


def parse(data: bytes) -> Node:
    """The outermost list."""
    stack: list[Node] = []
    for match in _TOKEN.finditer(data):
        token = match.group()
        if token == b"(":
            node = Node(data, match.start())
            if stack:
                stack[-1].children.append(node)
            stack.append(node)
        elif token == b")":
            node = stack.pop()
            node.end = match.end()
            if not stack:
                return node
    raise ValueError("brackets do not close")


@dataclass(frozen=True)
class TextPad:
    """A numbered pad in the text; ``net`` is None where it has none."""

    ref: str
    number: str
    node: Node
    net: str | None
    type: str

    @property
    def private(self) -> bool:
        """Whether the pad is open: no net, or one of its own by name."""
        return self.net is None or self.net.startswith("unconnected-(")


@dataclass
class BoardText:
    """A board file with what is needed to change its nets in its own shape."""

    data: bytes
    root: Node = field(init=False)

    def __post_init__(self) -> None:
        self.root = parse(self.data)

    @property
    def newline(self) -> bytes:
        """How lines end."""
        return b"\r\n" if b"\r\n" in self.data else b"\n"

    @cached_property
    def version(self) -> int:
        """The file's version."""
        return int(self.root.value("version"))

    @cached_property
    def rows(self) -> list[Node]:
        """Rows of the net table."""
        return list(self.root.all("net"))

    @cached_property
    def numbers(self) -> dict[str, int]:
        """Net numbers by name; empty where nets are not numbered."""
        return {row.atoms[2]: int(row.atoms[1]) for row in self.rows}

    @cached_property
    def parts(self) -> list[Node]:
        """All parts."""
        return list(self.root.all("module", "footprint"))

    @property
    def quoted(self) -> bool:
        """Whether every name is in quotes."""
        layer = next(self.root.one("layers").children.__iter__())  # type: ignore[union-attr]
        return b'"' in self.data[layer.start : layer.end] and self.version > 20171130

    @cached_property
    def pads(self) -> list[TextPad]:
        """All pads that have a number and a part with a reference."""
        return [
            self._pad(ref, pad)
            for part in self.parts
            if (ref := reference(part))
            for pad in part.all("pad")
            if pad.atoms[1]
        ]

    def _pad(self, ref: str, pad: Node) -> TextPad:
        net = pad.one("net")
        name = net.atoms[-1] if net else ""
        return TextPad(ref, pad.atoms[1], pad, name or None, pad.value("pintype"))

    def name(self, text: str) -> bytes:
        """A name as this file writes it."""
        if not self.quoted and _BARE.match(text):
            return text.encode()
        escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
        return f'"{escaped}"'.encode()

    def net_list(self, net: str, numbers: dict[str, int] | None = None) -> bytes:
        """The list that puts a pad on a net."""
        table = self.numbers if numbers is None else numbers
        if self.rows:
            return b"(net %d %s)" % (table[net], self.name(net))
        return b"(net %s)" % self.name(net)


def reference(part: Node) -> str:
    """The part's reference, wherever its version keeps it."""
    for text in part.all("property", "fp_text"):
        atoms = text.atoms
        if len(atoms) > 2 and atoms[1].lower() == "reference":
            return atoms[2]
    return ""
