"""The tree against sexpdata, a general-purpose S-expression library, on every file at hand.

Source: PyPI package sexpdata.  It gives no positions, so what is compared is the
structure and what every atom says.  It reads about 4 MB/s; of files beyond
``WHOLE`` bytes only every ``STEP``-th top-level list is compared.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import sexpdata
from conftest import CORPUS, SHARED

from renet.syntax import Tree, parse

WHOLE, STEP = 1_000_000, 4
FILES = sorted(
    path
    for folder in (CORPUS, SHARED / "boards")
    for path in folder.glob("**/*")
    if path.suffix in (".kicad_pcb", ".net")
)

Plain = tuple[str, object]


CLOSE = object()


def ours(tree: Tree, index: int) -> Iterator[Plain]:
    """Everything in a list in order: parentheses, "s" and strings, "a" and bare atoms."""
    marks: list[tuple[int, str, str]] = []
    for kid in range(index, tree.after(index)):
        start, end = tree.span(kid)
        marks += [(start, "(", ""), (end - 1, ")", "")]
        for atom in tree.atoms(kid):
            kind = "s" if atom.quoted else "a"
            marks.append((atom.start, kind, tree.text(atom.start, atom.end)))
    return ((kind, text) for _, kind, text in sorted(marks))


def theirs(tree: Any) -> Iterator[Plain]:
    """The same of a tree of sexpdata; bare atoms are numbers or symbols there."""
    todo = [tree]
    while todo:
        node = todo.pop()
        if node is CLOSE:
            yield ")", ""
        elif isinstance(node, list):
            yield "(", ""
            todo += [CLOSE, *reversed(node)]
        elif isinstance(node, sexpdata.Symbol):
            yield "a", str(node.value())
        elif isinstance(node, str):
            yield "s", node
        else:
            yield "a", node


_NUMBER = re.compile(r"[-+]?\d*\.?\d+(?:[eE][-+]?\d+)?")


def same(mine: Plain, other: Plain) -> bool:
    if mine[0] != other[0] or mine[0] != "a" or isinstance(other[1], str):
        return mine == other
    text = str(mine[1])
    return bool(_NUMBER.fullmatch(text)) and math.isclose(float(text), float(str(other[1])))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_structure_and_atoms_are_those_of_a_general_reader(path: Path) -> None:
    data = path.read_bytes()
    tree = parse(data)
    top = tree.children(0).tolist()
    for index in top if len(data) <= WHOLE else top[::STEP]:
        text = data[slice(*tree.span(index))].decode()
        read = sexpdata.loads(text, nil=None, true=None)
        pairs = zip(ours(tree, index), theirs(read), strict=True)
        assert all(same(mine, other) for mine, other in pairs), tree.place(int(tree.start[index]))
