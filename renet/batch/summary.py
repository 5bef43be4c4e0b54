"""The table of a batch as CSV, JSON and an HTML index; pure strings.

What is written hangs on the boards alone, not on when and how often they were
run: times and the difference between done and skipped are for the screen.
"""

from __future__ import annotations

import html
import json
from collections.abc import Sequence
from pathlib import PurePosixPath
from typing import Any
from urllib.parse import quote

from renet.batch.run import Outcome
from renet.batch.work import Summary
from renet.changes import Figures
from renet.report.tables import csv_text, shown

Record = dict[str, Any]

HEADER = (
    "board",
    "state",
    *(f"{name}_{when}" for name in Figures._fields for when in ("before", "after")),
    "moved_pins",
    "swaps",
    "proved_optimal",
    "blocked",
    "error",
)
_STYLE = (
    "body{font:15px/1.4 system-ui,sans-serif;margin:2rem;color:#222;background:#fff}"
    "table{border-collapse:collapse}th,td{padding:.3rem .7rem;border-bottom:1px solid #ccc;"
    "text-align:right}th:first-child,td:first-child,td.words{text-align:left}"
    ".failed{color:#a00}@media(prefers-color-scheme:dark){body{color:#ddd;background:#181818}"
    "a{color:#8bf}.failed{color:#f88}}"
)


def documents(outcomes: Sequence[Outcome]) -> dict[str, str]:
    """Name -> text of the files that sum up a batch."""
    record = {"schema": "renet/batch-summary/1", "boards": [_lasting(o) for o in outcomes]}
    return {
        "batch.csv": csv_text(HEADER, (_row(outcome) for outcome in outcomes)),
        "batch.json": json.dumps(record, indent=1, ensure_ascii=True, allow_nan=False) + "\n",
        "index.html": _page(outcomes),
    }


def batch_record(outcomes: Sequence[Outcome], faults: Sequence[Sequence[str]]) -> Record:
    """``renet batch --json``, without the time of the whole."""
    boards = [
        _lasting(one)
        | {"state": one.state, "seconds": round(one.seconds, 3)}
        | {"peak_mib": one.peak_mib, "worker": one.worker}
        | {"above": list(above)}
        for one, above in zip(outcomes, faults, strict=True)
    ]
    states = [outcome.state for outcome in outcomes]
    counts = {state: states.count(state) for state in ("done", "skipped", "failed")}
    return {"schema": "renet/batch/1", "boards": boards, "counts": counts}


def line(outcome: Outcome) -> str:
    """One board in one line."""
    name = shown(outcome.order.name)
    if outcome.summary is None:
        return f"{outcome.state:8}{name}: {shown(outcome.error)}"
    before, after = outcome.summary.before, outcome.summary.after
    notes = "".join(f"\n        {shown(note)}" for note in outcome.summary.notes)
    blocked = outcome.summary.blocked
    return (
        f"{outcome.state:8}{name}: crossings {before.crossings} -> {after.crossings}, "
        f"{before.length_mm:.1f} -> {after.length_mm:.1f} mm, "
        f"{outcome.summary.moved_pins} pins moved"
        f"{'' if blocked is None else f', {blocked} blocked'}{notes}"
    )


def _lasting(outcome: Outcome) -> Record:
    """What holds of a board whenever it is asked."""
    order, summary = outcome.order, outcome.summary
    found: Record = dict.fromkeys(Summary._fields)
    if summary:
        found = summary._asdict()
        found |= {"before": summary.before._asdict(), "after": summary.after._asdict()}
    return {
        "name": order.name,
        "board": str(order.board),
        "netlist": str(order.netlist) if order.netlist else None,
        "rules": str(order.rules) if order.rules else None,
        "state": "failed" if outcome.state == "failed" else "done",
        "error": outcome.error or None,
        **found,
        "files": [f"{order.name}/{name}" for name in outcome.files],
    }


def _row(outcome: Outcome) -> list[object]:
    record = _lasting(outcome)
    figures = [
        record[when][name] if record[when] else None
        for name in Figures._fields
        for when in ("before", "after")
    ]
    tail = [record[key] for key in ("moved_pins", "swaps", "proved_optimal", "blocked", "error")]
    return [outcome.order.name, record["state"], *figures, *tail]


def _page(outcomes: Sequence[Outcome]) -> str:
    heads = (
        "board",
        "crossings",
        "overlaps",
        "over pads",
        "length mm",
        "pins moved",
        "blocked",
        "",
    )
    rows = "\n".join(_page_row(outcome) for outcome in outcomes)
    failures = sum(outcome.state == "failed" for outcome in outcomes)
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width">'
        f"<title>renet: {len(outcomes)} boards</title><style>{_STYLE}</style></head><body>\n"
        f"<h1>{len(outcomes)} boards, {failures} failed</h1>\n<table><thead><tr>"
        + "".join(f'<th scope="col">{head}</th>' for head in heads)
        + f"</tr></thead><tbody>\n{rows}\n</tbody></table>\n</body></html>\n"
    )


def _page_row(outcome: Outcome) -> str:
    name = html.escape(shown(outcome.order.name))
    if outcome.summary is None:
        error = html.escape(shown(outcome.error))
        return f'<tr class="failed"><td>{name}</td><td class="words" colspan="7">{error}</td></tr>'
    before, after = outcome.summary.before, outcome.summary.after
    cells = [
        f"{was:.1f} → {is_:.1f}" if isinstance(was, float) else f"{was} → {is_}"
        for was, is_ in zip(before, after, strict=True)
    ]
    reviews = [n for n in outcome.files if PurePosixPath(n).suffix == ".html"]
    words = [name] if len(reviews) == 1 else [html.escape(PurePosixPath(n).stem) for n in reviews]
    links = [
        f'<a href="{html.escape(quote(f"{outcome.order.name}/{review}"))}">{word}</a>'
        for review, word in zip(reviews, words, strict=True)
    ]
    name = links[0] if len(links) == 1 else f"{name}: {', '.join(links)}"
    note = "fewest crossings possible" if outcome.summary.proved_optimal else ""
    blocked = "" if outcome.summary.blocked is None else str(outcome.summary.blocked)
    cells += [str(outcome.summary.moved_pins), blocked, note]
    return f"<tr><td>{name}</td>" + "".join(f"<td>{cell}</td>" for cell in cells) + "</tr>"
