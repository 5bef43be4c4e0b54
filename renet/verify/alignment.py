"""Which outermost list of BEFORE is which of AFTER.

Both files are walked in step.  Lists with equal bytes belong together; so do
lists with equal skeletons; copper may be gone; rows of the net table may be new.
Everything else is reported and the walk goes on as well as it can.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from functools import cached_property
from typing import NamedTuple

import numpy as np

from renet.model import NONE, IntArray
from renet.verify.rescan import Run, common
from renet.verify.sheet import Sheet
from renet.verify.skeleton import Skeleton

_COPPER = (b"segment", b"arc", b"via")
_FEW = 20


class Step(NamedTuple):
    """One step: list numbers, None where one side has none.

    ``alike`` by skeleton, ``equal`` byte by byte.  Equal lists in a row are one
    step of ``many`` lists where what stands between them is equal, too.
    """

    before: int | None
    after: int | None
    alike: bool
    equal: bool = False
    many: int = 1


class Alignment:
    """The steps, and skeletons as they were needed."""

    def __init__(self, before: Sheet, after: Sheet, runs: Sequence[Run] = ()) -> None:
        """``runs`` are stretches known to be equal (:func:`~.rescan.parse_after`), in order."""
        self.before, self.after = before, after
        self._runs = {(run.begin, run.begin + run.shift): run.stop for run in runs}
        self._skeletons: dict[tuple[bool, int], Skeleton] = {}
        self._counts: dict[tuple[bool, bytes], Counter[bytes]] = {}
        self._next = (0, 0)
        self.steps: list[Step] = []
        self._walk()

    def skeleton(self, after: bool, item: int) -> Skeleton:
        """The skeleton of a list of either file."""
        key = (after, item)
        if key not in self._skeletons:
            self._skeletons[key] = Skeleton(self.after if after else self.before, item)
        return self._skeletons[key]

    def pairs(self) -> list[int | None]:
        """For each list of BEFORE which one of AFTER it is, None where it is gone."""
        found: list[int | None] = [None] * len(self.before)
        for step in self.steps:
            if step.before is not None and step.after is not None:
                mine = slice(step.before, step.before + step.many)
                found[mine] = range(step.after, step.after + step.many)
        return found

    @property
    def in_step(self) -> bool:
        """Whether every list of AFTER has the number of its list of BEFORE and the same keyword."""
        return all(step.before == step.after for step in self.steps)

    @cached_property
    def twins(self) -> IntArray:
        """For each list of BEFORE which one of AFTER it is byte by byte, -1 where none is."""
        found = np.full(len(self.before), NONE, dtype=np.int64)
        for step in self.steps:
            if step.equal and step.before is not None and step.after is not None:
                theirs = np.arange(step.after, step.after + step.many)
                found[step.before : step.before + step.many] = theirs
        return found

    def _walk(self) -> None:
        i = j = 0
        mine, theirs = len(self.before), len(self.after)
        while i < mine or j < theirs:
            same = 0 if self._counts or mine == i or theirs == j else self._run(i, j)
            if same:
                self.steps.append(Step(i, j, True, True, same))
                i, j = i + same, j + same
                continue
            self._next = i, j
            step = self._step(i, j)
            self.steps.append(step)
            self._use(False, step.before)
            self._use(True, step.after)
            i += step.before is not None
            j += step.after is not None

    def _run(self, i: int, j: int) -> int:
        """How many lists from here on are equal, and what stands between them.

        Equal bytes from the beginning of a list on hold the same lists.  What stands
        before i and j themselves does not count.
        """
        before, after = self.before, self.after
        begin, at = int(before.start[i]), int(after.start[j])
        stop = self._runs.get((begin, at))
        if stop is None:
            raw, other = before.tree.bulk.raw, after.tree.bulk.raw
            stop = begin + common(raw[begin:], other[at:])
        return int(np.searchsorted(before.end, stop, side="right")) - i

    def _step(self, i: int, j: int) -> Step:
        if i == len(self.before):
            return Step(None, j, False)
        if j == len(self.after):
            return Step(i, None, False)
        word, other = self.before.word(i), self.after.word(j)
        if word == other and self.before.raw(i) == self.after.raw(j):
            return Step(i, j, True, True)
        if word == other and self._fixed(False, i) == self._fixed(True, j):
            return Step(i, None, False) if self._twin_follows(i, j) else Step(i, j, True)
        if other == b"net" != word:
            return Step(None, j, False)
        stays, comes = self._count(True, word, i) > 0, self._count(False, other, j) > 0
        if word == other and not stays and not comes:
            return Step(i, j, False)
        return Step(None, j, False) if stays and not comes else Step(i, None, False)

    def _fixed(self, after: bool, item: int) -> bytes:
        return self.skeleton(after, item).fixed

    def _count(self, after: bool, word: bytes, item: int) -> int:
        """How often the skeleton of a list of one file still comes in the other (``after``)."""
        key = (after, word)
        if key not in self._counts:
            sheet = self.after if after else self.before
            items = sheet.items(word)
            rest = items[np.searchsorted(items, self._next[after]) :]
            self._counts[key] = Counter(self._fixed(after, k) for k in rest.tolist())
        return self._counts[key][self._fixed(not after, item)]

    def _use(self, after: bool, item: int | None) -> None:
        """A list was walked past: it comes no more."""
        if item is None:
            return
        key = (after, (self.after if after else self.before).word(item))
        if key in self._counts:
            self._counts[key][self._fixed(after, item)] -= 1

    def _twin_follows(self, i: int, j: int) -> bool:
        """Copper drawn twice, of which one is gone: the exact twin is the one that stayed."""
        word, fixed = self.before.word(i), self._fixed(False, i)
        if word not in _COPPER:
            return False
        for k in range(i + 1, min(len(self.before), i + _FEW)):
            if self._fixed(False, k) != fixed:
                return False
            if self.before.raw(k) == self.after.raw(j):
                return self._count(True, word, i) < self._count(False, word, j)
        return False
