"""S-expression text in the layouts that files of different versions have."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, NamedTuple


class Name(str):
    """Text that newer files always quote and older ones only where they must."""

    __slots__ = ()


Tree = list[Any]
"""A list of words and trees."""


NOWHERE: Mapping[str, frozenset[str]] = MappingProxyType({})


class Layout(NamedTuple):
    """How trees become text.

    ``tabs``: one element a line, indented with tabs.  Otherwise two spaces; a
    list whose word is in ``flat`` stands on one line; children that ``lead``
    names stay on the line of their parent; ``close`` says whether the closing
    parenthesis of a broken list stands on a line of its own.
    """

    tabs: bool
    quoted: bool
    flat: frozenset[str] = frozenset()
    lead: Mapping[str, frozenset[str]] = NOWHERE
    close: bool = True
    newline: str = "\n"


_BARE = re.compile(r"[^\s()\"\\%{}#-][^\s()\"\\]*\Z|-\d[\d.]*\Z")


def quote(text: str) -> str:
    """Text in quotes."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n") + '"'


def atom(word: str, layout: Layout) -> str:
    """A word as it stands in the file."""
    if not isinstance(word, Name):
        return word
    return quote(word) if layout.quoted or not _BARE.match(word) else str(word)


def text(tree: Tree, layout: Layout) -> str:
    """A whole file."""
    body = _tabbed(tree, layout, 0) if layout.tabs else _spaced(tree, layout, 0)
    return (body + "\n").replace("\n", layout.newline)


def _flat(tree: Tree, layout: Layout) -> str:
    return "(" + " ".join(_one(x, layout) for x in tree) + ")"


def _one(item: str | Tree, layout: Layout) -> str:
    return atom(item, layout) if isinstance(item, str) else _flat(item, layout)


def _points(tree: Tree, layout: Layout, indent: str, each: int) -> str:
    """A list of many short lists, several a line."""
    items = [_one(x, layout) for x in tree[1:]]
    lines = [" ".join(items[i : i + each]) for i in range(0, len(items), each)]
    inner = indent + ("\t" if layout.tabs else "  ")
    return f"({tree[0]}\n" + "".join(f"{inner}{line}\n" for line in lines) + indent + ")"


def _tabbed(tree: Tree, layout: Layout, depth: int) -> str:
    indent = "\t" * depth
    lists = [x for x in tree if isinstance(x, list)]
    if not lists:
        return _flat(tree, layout)
    if tree[0] == "pts":
        return _points(tree, layout, indent, 4)
    head = " ".join(atom(x, layout) for x in tree if isinstance(x, str))
    inner = "".join(f"{indent}\t{_tabbed(x, layout, depth + 1)}\n" for x in lists)
    return f"({head}\n{inner}{indent})"


def _spaced(tree: Tree, layout: Layout, depth: int) -> str:
    indent, word = "  " * depth, str(tree[0])
    if word in layout.flat or not any(isinstance(x, list) for x in tree):
        return _flat(tree, layout)
    if word == "pts":
        return _points(tree, layout, indent, 5)
    lead = layout.lead.get(word, frozenset())
    first: list[str] = [word]
    rest: list[str] = []
    for item in tree[1:]:
        if not rest and (isinstance(item, str) or item[0] in lead):
            first.append(_one(item, layout))
        else:
            rest.append(item if isinstance(item, str) else _spaced(item, layout, depth + 1))
    inner = "".join(f"\n{indent}  {x}" for x in rest)
    return "(" + " ".join(first) + inner + (f"\n{indent})" if layout.close else ")")
