"""How many moved pins buy how many crossings: text, JSON and a section of the review page."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from renet.engine import Row, knee
from renet.report.tables import table

_HEADER = ("at most", "moved pins", "crossings", "overlaps", "over pads", "length mm", "")
_TITLE = "How many moved pins buy how many crossings"


def frontier_lines(rows: Sequence[Row]) -> list[str]:
    """The table, and where its knee is."""
    told = table([_HEADER, *_cells(rows)], right=range(6), indent=4)
    return [f"  {_TITLE[0].lower()}{_TITLE[1:]}:", told, f"  {knee_words(rows)}"]


def knee_words(rows: Sequence[Row]) -> str:
    """Which row to look at first."""
    best = knee(rows)
    if best is None:
        return "no knee: every moved pin buys about as much as the others"
    most = rows[-1].most
    saved = _saved(rows, best) / _saved(rows, rows[-1])
    return (
        f"knee: {best.most} moved pins save {saved:.0%} of what {most} save; "
        f"to take it: --max-moves {best.most}"
    )


def frontier_record(rows: Sequence[Row]) -> dict[str, Any]:
    """What ``renet untangle --frontier --json`` adds; nothing where it was not asked for."""
    if not rows:
        return {}
    best = knee(rows)
    listed = [
        {
            "max_moves": row.most,
            "moved_pins": row.score.moved_pins,
            "crossings": row.score.crossings,
            "overlaps": row.score.overlaps,
            "over_pads": row.score.over_pads,
            "length_mm": round(row.score.length_nm / 1e6, 6),
            "proved_optimal": row.proved,
        }
        for row in rows
    ]
    return {"frontier": {"rows": listed, "knee": best and {"max_moves": best.most}}}


def frontier_section(rows: Sequence[Row]) -> str:
    """The same for the review page; nothing to escape, it is all numbers."""
    if not rows:
        return ""
    head = "".join(f'<th scope="col">{word or "remark"}</th>' for word in _HEADER)
    body = "".join(
        "<tr>" + "".join(f"<td>{cell}</td>" for cell in row) + "</tr>" for row in _cells(rows)
    )
    return (
        f'<section aria-labelledby="h-frontier"><h2 id="h-frontier">{_TITLE}</h2>'
        f'<table class="figures"><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>'
        f'<p class="note">{knee_words(rows)}</p></section>'
    )


def _cells(rows: Sequence[Row]) -> list[tuple[object, ...]]:
    best = knee(rows)
    return [
        (
            row.most,
            row.score.moved_pins,
            row.score.crossings,
            row.score.overlaps,
            row.score.over_pads,
            f"{row.score.length_nm / 1e6:.1f}",
            ", ".join(["knee"] * (row is best) + ["proved least"] * (row.proved and row.most > 0)),
        )
        for row in rows
    ]


def _saved(rows: Sequence[Row], row: Row) -> int:
    return rows[0].score.weighted[0] - row.score.weighted[0]
