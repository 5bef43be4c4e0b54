"""The net table of a file, and the names that old net classes list."""

from __future__ import annotations

from functools import cached_property
from typing import NamedTuple

from renet.verify.atoms import PRIVATE, said, text, values
from renet.verify.items import Items

_RAW_PRIVATE = PRIVATE.encode()


class Row(NamedTuple):
    """A row of the net table: its place among the outermost lists, and its atoms as written."""

    item: int
    number: str
    name: str
    said: tuple[bytes, bytes]

    @property
    def plain(self) -> bytes:
        """The row as a net list that says the same, with single blanks."""
        return b"(net %b %b)" % self.said


class NetTable(Items):
    """The outermost lists of a file, and what its net table says."""

    @cached_property
    def rows(self) -> list[Row]:
        """The net table; empty where the file has none."""
        items, data = self.items(b"net"), self.data
        spans = zip(self.start[items].tolist(), self.end[items].tolist(), strict=True)
        rows = zip(items.tolist(), [said(data[begin:end]) for begin, end in spans], strict=True)
        return [Row._make((item, *row)) for item, row in rows if row is not None]

    def row_at(self, item: int) -> Row | None:
        """An outermost list as a row of the net table, None if it is none."""
        found = said(self.raw(item)) if self.word(item) == b"net" else None
        return None if found is None else Row(item, *found)

    @cached_property
    def row_names(self) -> list[str]:
        """The names in the net table, row by row."""
        return [row.name for row in self.rows]

    @cached_property
    def by_number(self) -> dict[str, Row]:
        """Rows of the net table by their numbers; the first row counts."""
        table: dict[str, Row] = {}
        for row in self.rows:
            table.setdefault(row.number, row)
        return table

    @cached_property
    def plain_rows(self) -> dict[bytes, str]:
        """The nets of the table by the net lists that name them as the table does."""
        return {row.plain: row.name for row in self.by_number.values()}

    @cached_property
    def member_names(self) -> list[str]:
        """The private names that old net classes list."""
        names, data = [], self.data
        classes = self.tree.family(self.ids[self.items(b"net_class")])
        begin, end = self.ends(classes.having(b"add_net")[0]).tolist()
        for raw in map(data.__getitem__, map(slice, begin, end)):
            if _RAW_PRIVATE in raw or b"\\" in raw:  # all others are spelt as they read
                names += [text(atom) for atom in values(raw)[:1]]
        return [name for name in names if name.startswith(PRIVATE)]
