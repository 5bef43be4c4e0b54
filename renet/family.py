"""Families: the children of many lists at once, by keyword, in numpy columns."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from renet.bulk import Kin
from renet.model import IntArray

if TYPE_CHECKING:
    from renet.syntax import Tree

NO_LISTS: IntArray = np.empty(0, dtype=np.int64)


class Family:
    """The children of some lists, in file order.

    ``of`` are the lists (ascending, none inside another), ``kids`` all their
    children, and ``owner[k]`` is the position in ``of`` of the parent of
    ``kids[k]``.
    """

    __slots__ = ("_at", "kids", "of", "owner", "tree")

    def __init__(self, tree: Tree, lists: IntArray) -> None:
        self.tree = tree
        self.of = lists
        self.kids, self.owner = tree.bulk.children(tree.depth, lists)
        self._at = tree.words(self.kids)

    def where(self, keyword: bytes) -> IntArray:
        """Positions in ``kids`` of those with this keyword."""
        return self.tree.bulk.tokens(self._at, keyword)

    def having(self, keyword: bytes) -> tuple[IntArray, IntArray]:
        """All children with this keyword, and the positions of their owners."""
        chosen = self.where(keyword)
        return self.kids[chosen], self.owner[chosen]

    def first(self, keyword: bytes) -> IntArray:
        """For each of ``of`` its first child with this keyword, -1 where there is none."""
        bulk = self.tree.bulk
        return bulk.firsts(self._at, self.kids, self.owner, keyword, len(self.of))

    def with_atom(self, atom: bytes) -> IntArray:
        """Positions in ``of`` of the lists that have this bare atom besides their keyword.

        Lists without children are not looked at.
        """
        tree, kin = self.tree, Kin(self.of, self.kids, self.owner)
        return tree.bulk.holding(tree.start, tree.end, kin, atom)
