"""The tree of AFTER, without scanning again what it has in common with BEFORE.

Where an outermost list begins, all that stands before it has come to its end.  So
the same bytes from there on hold the same lists, and their brackets are taken over
from BEFORE.  What stands between two such stretches is scanned by itself and has to
hold whole lists.  How stretches are sought is of no account: a wrong guess costs
time and nothing else.  Whatever does not come out even is left to
:func:`renet.syntax.parse`, which says what is wrong with it.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from renet.errors import InputError
from renet.model import IntArray
from renet.scan import DELIMITER, Brackets, brackets
from renet.syntax import Tree, parse

_NEEDLE = 1 << 8
_AROUND = 1 << 12
_BLOCK = 1 << 16


class _Pair(NamedTuple):
    """Both files; ``start`` and ``end`` are of the outermost lists of BEFORE.

    ``stop`` is where the parenthesis stands that ends AFTER.
    """

    before: Tree
    after: bytes
    start: IntArray
    end: IntArray
    stop: int


def parse_after(before: Tree, after: bytes) -> Tree:
    """What ``parse(after)`` gives; InputError where that raises it."""
    items, data = before.level(1), before.data
    tail = data[int(before.end[0]) - 1 :]
    if not len(items) or not after.endswith(tail):
        return parse(after)
    start, end = before.start[items], before.end[items]
    head = data[: int(start[0])]
    if not after.startswith(head) or not DELIMITER[head[-1]]:  # what comes next is a new token
        return parse(after)
    pair = _Pair(before, after, start, end, len(after) - len(tail))
    try:
        return Tree(after, _joined(pair))
    except InputError:
        return parse(after)


def _joined(pair: _Pair) -> Brackets:
    """The brackets of all stretches, inside the outermost list."""
    tree, at = pair.before, int(pair.start[0])
    ahead = tree.strings[: np.searchsorted(tree.strings, at)]
    outer = Brackets(tree.start[:1], tree.end[:1], tree.depth[:1], ahead)
    taken, fresh = _stretches(pair, at)
    found = [_part(tree, *stretch) for stretch in taken]
    between = _scanned(pair.after, fresh)
    inside = chain.from_iterable(zip(found, between, strict=True))
    joined = Brackets(*map(np.concatenate, zip(outer, *inside, strict=True)))
    joined.end[0] = pair.stop + 1
    return joined


def _stretches(pair: _Pair, at: int) -> tuple[list[tuple[int, int, int]], list[tuple[int, int]]]:
    """What to take over from BEFORE, from ``at`` on: stretches of it and how far to shift them.

    And the stretches of AFTER that stand behind each of them and are to be scanned.
    """
    old, new = _raw(pair.before.data), _raw(pair.after)
    taken, fresh, item = [], [], 0
    while at < pair.stop:
        begin = int(pair.start[item])
        same = common(old[begin:], new[at : pair.stop])
        past = int(np.searchsorted(pair.end, begin + same, side="right"))
        stop = int(pair.end[past - 1]) if past > item else begin
        taken.append((begin, stop, at - begin))
        at += stop - begin
        item, resume = _resumed(pair, past, at)
        fresh.append((at, resume))
        at = resume
    return taken, fresh


def _part(tree: Tree, begin: int, stop: int, shift: int) -> Brackets:
    """The lists of a tree between two offsets, where none is cut, shifted."""
    lists = slice(*np.searchsorted(tree.start, (begin, stop)).tolist())
    strings = slice(*np.searchsorted(tree.strings, (begin, stop)).tolist())
    start, end = tree.start[lists] + shift, tree.end[lists] + shift
    return Brackets(start, end, tree.depth[lists], tree.strings[strings] + shift)


def _scanned(data: bytes, stretches: list[tuple[int, int]]) -> Iterator[Brackets]:
    """The lists of some stretches, which are scanned together; InputError where they are not whole.

    A list or string that was not would end in a later stretch.
    """
    text, at = b"(%b)" % b" ".join([data[begin:stop] for begin, stop in stretches]), 1
    tree = Tree(text, brackets(text))
    for begin, stop in stretches:
        found = _part(tree, at, at + stop - begin, begin - at)
        if len(found.strings) % 2 or (len(found.end) and int(found.end.max()) > stop):
            raise InputError("a list or a string runs out of what changed", "")
        yield found
        at += stop - begin + 1


def _resumed(pair: _Pair, past: int, at: int) -> tuple[int, int]:
    """An outermost list of BEFORE behind ``past``, and where from ``at`` on it seems to begin.

    Ever longer stretches of both files are looked at, so that no byte is looked at often.
    """
    step, data = 1, pair.before.data
    while past + step < len(pair.end):
        item = past + step
        start, came = int(pair.start[item]), int(pair.end[item - 1])
        needle = data[came : min(int(pair.end[item]), start + _NEEDLE)]
        reach = 2 * (start - int(pair.start[past])) + _AROUND
        found = pair.after.find(needle, at, min(at + reach, pair.stop))
        if found >= 0:
            return item, found + start - came
        step *= 2
    return past, pair.stop


def _raw(data: bytes) -> NDArray[np.uint8]:
    return np.frombuffer(data, dtype=np.uint8)


def common(one: NDArray[np.uint8], other: NDArray[np.uint8]) -> int:
    """Length of the common beginning."""
    most = min(len(one), len(other))
    for begin in range(0, most, _BLOCK):
        stop = min(begin + _BLOCK, most)
        apart = one[begin:stop] != other[begin:stop]
        if apart.any():
            return begin + int(apart.argmax())
    return most
