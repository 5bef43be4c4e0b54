"""Plain-text tables and the CSV; pure strings, safe to show.

Names come from files and may hold anything: control and direction-changing
characters are written as escapes, so that a terminal shows them and does not
obey them, and a CSV cell that a spreadsheet would compute is prefixed.
"""

from __future__ import annotations

import csv
import io
import textwrap
from collections.abc import Iterable, Sequence

from renet.changes import ChangeList

_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def shown(text: object) -> str:
    """``text`` with every character that is not plainly printable escaped."""
    plain = str(text)
    if plain.isprintable():  # nearly always, and asked for every cell of every table
        return plain
    return "".join(c if c.isprintable() else f"\\u{ord(c):04x}" for c in plain)


def net_shown(net: str | None) -> str:
    """A net's name for people; ``(open)`` for none."""
    return "(open)" if net is None else shown(net)


def table(rows: Sequence[Sequence[object]], right: Iterable[int] = (), indent: int = 2) -> str:
    """Rows in aligned columns; columns in ``right`` are aligned right."""
    cells = [[shown(cell) for cell in row] for row in rows]
    if not cells:
        return ""
    flush = set(right)
    widths = [max(len(row[i]) for row in cells) for i in range(len(cells[0]))]
    lines = []
    for row in cells:
        padded = [
            cell.rjust(width) if i in flush else cell.ljust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append((" " * indent + "  ".join(padded)).rstrip())
    return "\n".join(lines)


def wrapped(text: str, indent: int = 2) -> list[str]:
    """A paragraph in lines of a terminal's width, the later ones indented."""
    first, later = " " * indent, " " * (indent + 2)
    return textwrap.wrap(
        text, 98, initial_indent=first, subsequent_indent=later, break_on_hyphens=False
    )


def csv_text(header: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A CSV document that opens in a spreadsheet without being computed."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(header)
    for row in rows:
        writer.writerow([_inert(cell) for cell in row])
    return stream.getvalue()


def _inert(cell: object) -> object:
    """Numbers as they are; text that begins like a formula gets a leading quote mark."""
    if isinstance(cell, (int, float)):
        return cell
    text = "" if cell is None else shown(cell)
    return "'" + text if text.startswith(_FORMULA) else text


def moves_csv(changes: ChangeList) -> str:
    """One row per moved pin, for a sheet."""
    header = ("swap", "part", "pin", "name", "was", "is")
    return csv_text(
        header,
        (
            (swap.id, move.part, move.pin, move.name, move.was, move.is_)
            for swap in changes.swaps
            for move in swap.moves
        ),
    )
