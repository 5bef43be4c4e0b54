"""The tree of AFTER, without scanning again what it has in common with BEFORE.

Where an outermost list begins, all that stands before it has come to its end.  So
the same bytes from there on hold the same lists, and their brackets are taken over
from BEFORE.  What stands between two such stretches is scanned by itself and has to
hold whole lists.  How stretches are sought is of no account: a wrong guess costs
time and nothing else.  Whatever does not come out even is left to
:func:`renet.syntax.parse`, which says what is wrong with it.
"""

from __future__ import annotations

from collections.abc import Sequence
from operator import attrgetter
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from renet.errors import InputError
from renet.model import IntArray
from renet.scan import DELIMITER, Brackets, brackets
from renet.syntax import Tree, parse

Span = tuple[int, int]

_START, _END, _STRINGS = map(attrgetter, ("start", "end", "strings"))
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


class Run(NamedTuple):
    """Outermost lists of BEFORE from ``begin`` to ``stop`` that stand in AFTER, ``shift`` later."""

    begin: int
    stop: int
    shift: int


class _Piece(NamedTuple):
    """Brackets, and how far they are to be shifted."""

    found: Brackets
    shift: int


def parse_after(before: Tree, after: bytes) -> tuple[Tree, list[Run]]:
    """What ``parse(after)`` gives, and what AFTER has in common; InputError where that raises it.

    A run is as long as it can be; there may be more in common than the runs say.
    """
    items, data = before.level(1), before.data
    tail = data[int(before.end[0]) - 1 :]
    if not len(items) or not after.endswith(tail):
        return parse(after), []
    start, end = before.start[items], before.end[items]
    head = data[: int(start[0])]
    if not after.startswith(head) or not DELIMITER[head[-1]]:  # what comes next is a new token
        return parse(after), []
    pair = _Pair(before, after, start, end, len(after) - len(tail))
    taken, fresh = _stretches(pair, int(start[0]))
    try:
        return Tree(after, _joined(pair, taken, fresh)), taken
    except InputError:
        return parse(after), []


def _joined(pair: _Pair, taken: list[Run], fresh: list[Span]) -> Brackets:
    """The brackets of all stretches, inside the outermost list."""
    tree = pair.before
    ahead = tree.strings[: np.searchsorted(tree.strings, pair.start[0])]
    pieces = [_Piece(Brackets(tree.start[:1], tree.end[:1], tree.depth[:1], ahead), 0)]
    between = _scanned(pair.after, fresh)
    for both in zip(_parts(tree, taken), between, strict=True):
        pieces += both
    start, end, strings = (
        _shifted([(column(piece.found), piece.shift) for piece in pieces])
        for column in (_START, _END, _STRINGS)
    )
    end[0] = pair.stop + 1
    return Brackets(start, end, np.concatenate([piece.found.depth for piece in pieces]), strings)


def _shifted(columns: list[tuple[IntArray, int]]) -> IntArray:
    """Columns, each shifted, one behind the other: copied once, for most of them are long."""
    made: IntArray = np.empty(sum(len(column) for column, _ in columns), dtype=np.int64)
    at = 0
    for column, shift in columns:
        np.add(column, shift, out=made[at : at + len(column)])
        at += len(column)
    return made


def _stretches(pair: _Pair, at: int) -> tuple[list[Run], list[Span]]:
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
        taken.append(Run(begin, stop, at - begin))
        at += stop - begin
        item, resume = _resumed(pair, past, at)
        fresh.append((at, resume))
        at = resume
    return taken, fresh


def _parts(tree: Tree, runs: Sequence[Run]) -> list[_Piece]:
    """The lists of a tree in some stretches, where none is cut, which are to be shifted."""
    bounds = np.array([(run.begin, run.stop) for run in runs], dtype=np.int64).reshape(-1, 2)
    lists, strings = (np.searchsorted(at, bounds).tolist() for at in (tree.start, tree.strings))
    found = []
    for run, (first, past), (open_, close) in zip(runs, lists, strings, strict=True):
        start, end, depth = tree.start[first:past], tree.end[first:past], tree.depth[first:past]
        found.append(_Piece(Brackets(start, end, depth, tree.strings[open_:close]), run.shift))
    return found


def _scanned(data: bytes, stretches: list[Span]) -> list[_Piece]:
    """The lists of some stretches, which are scanned together; InputError where they are not whole.

    A list or string that was not would end in a later stretch.
    """
    text, at, runs = b"(%b)" % b" ".join([data[begin:stop] for begin, stop in stretches]), 1, []
    for begin, stop in stretches:
        runs.append(Run(at, at + stop - begin, begin - at))
        at += stop - begin + 1
    pieces = _parts(Tree(text, brackets(text)), runs)
    for run, piece in zip(runs, pieces, strict=True):
        if len(piece.found.strings) % 2 or int(piece.found.end.max(initial=0)) > run.stop:
            raise InputError("a list or a string runs out of what changed", "")
    return pieces


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
    """Length of the common beginning, looked at in ever longer blocks."""
    most, begin, block = min(len(one), len(other)), 0, _AROUND
    while begin < most:
        stop = min(begin + block, most)
        apart = one[begin:stop] != other[begin:stop]
        if apart.any():
            return begin + int(apart.argmax())
        begin, block = stop, min(2 * block, _BLOCK)
    return most
