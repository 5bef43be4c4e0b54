"""Families: the children of many lists at once, by keyword, in numpy columns."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from renet.model import NONE, IntArray

if TYPE_CHECKING:
    from renet.syntax import Tree

NO_LISTS: IntArray = np.empty(0, dtype=np.int64)


class Family:
    """The children of some lists, in file order.

    ``of`` are the lists (ascending, none inside another), ``kids`` all their
    children, and ``owner[k]`` is the position in ``of`` of the parent of
    ``kids[k]``.
    """

    __slots__ = ("_at", "_first", "kids", "of", "owner", "tree")

    def __init__(self, tree: Tree, lists: IntArray) -> None:
        self.tree = tree
        self.of = lists
        self.kids = self.owner = NO_LISTS
        if len(lists):
            self._gather(tree, lists)
        self._at = tree.words(self.kids)
        self._first = tree.bulk.words(self._at)

    def _gather(self, tree: Tree, lists: IntArray) -> None:
        depths = tree.depth[lists]
        kids, owner = [], []
        for depth in range(int(depths.min()), int(depths.max()) + 1):
            mine = (depths == depth).nonzero()[0]
            at = np.searchsorted(tree.level(depth), lists[mine])
            borders = tree.borders(depth)
            first, past = borders[at], borders[at + 1]
            count = past - first
            step = np.repeat(past - np.cumsum(count), count)
            kids.append(tree.level(depth + 1)[step + np.arange(len(step))])
            owner.append(np.repeat(mine, count))
        self.kids, self.owner = kids[0], owner[0]
        if len(kids) > 1:
            self.kids, self.owner = np.concatenate(kids), np.concatenate(owner)
            order = np.argsort(self.kids)
            self.kids, self.owner = self.kids[order], self.owner[order]

    def where(self, keyword: bytes) -> IntArray:
        """Positions in ``kids`` of those with this keyword."""
        return self.tree.bulk.tokens(self._at, keyword, self._first)

    def having(self, keyword: bytes) -> tuple[IntArray, IntArray]:
        """All children with this keyword, and the positions of their owners."""
        chosen = self.where(keyword)
        return self.kids[chosen], self.owner[chosen]

    def first(self, keyword: bytes) -> IntArray:
        """For each of ``of`` its first child with this keyword, -1 where there is none."""
        kids, owner = self.having(keyword)
        found = np.full(len(self.of), NONE, dtype=np.int64)
        found[owner[::-1]] = kids[::-1]
        return found

    def with_atom(self, atom: bytes) -> IntArray:
        """Positions in ``of`` of the lists that have this bare atom besides their keyword.

        Lists without children are not looked at.
        """
        tree, owner = self.tree, self.owner
        if not len(owner):
            return NO_LISTS
        start, end = tree.start[self.kids], tree.end[self.kids]
        first = np.diff(owner, prepend=-1).nonzero()[0]
        stop = np.append(start[1:], 0)
        stop[np.append(first[1:], len(owner)) - 1] = tree.end[self.of[owner[first]]] - 1
        wide = (stop - end >= len(atom)).nonzero()[0]
        loose = owner[wide[tree.past_space(end[wide]) < stop[wide]]]
        codes, heads = tree.bulk.groups(tree.words(self.of[owner[first]]), start[first])
        headed = [len(head.split()) > 1 for head in heads]
        some = np.unique(np.concatenate([loose, owner[first][np.array(headed)[codes]]]))
        atoms = ({tree.data[a.start : a.end] for a in tree.values(int(self.of[i]))} for i in some)
        return some[[atom in own for own in atoms]] if len(some) else some
