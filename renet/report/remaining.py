"""What holds the crossings that are left: text, JSON and a section of the review page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from html import escape
from itertools import islice
from typing import Any

from renet.pipeline import Job
from renet.remaining import Kind, Remaining
from renet.report.buttons import net_button
from renet.report.held import held_of
from renet.report.tables import shown, wrapped
from renet.report.view import View

_MANY, _FEW = 8, 3
_ROWS = 64
_COUNTED = {
    Kind.OPEN: "a longer search takes away",
    Kind.LIMIT: "held by --max-moves",
    Kind.RULE: "held by a single rule",
    Kind.ELSEWHERE: "cost as many or more elsewhere",
    Kind.STUCK: "that no single exchange parts",
    Kind.KEPT: "between nets that may not move",
}
_TITLE = "What holds the crossings that are left"


def remaining_lines(job: Job) -> list[str]:
    """How many are held by what, and those first that an engineer can do something about."""
    if not job.remaining:
        return []
    lines = wrapped(f"{_TITLE[0].lower()}{_TITLE[1:]}: {_counts(job.remaining)}")
    by_reason: dict[str, list[str]] = {}
    for one in held_of(job, sorted(job.remaining, key=_use)):
        by_reason.setdefault(one.why, []).append(" x ".join(one.nets))
    for why, pairs in list(by_reason.items())[:_MANY]:
        more = f" and {len(pairs) - _FEW} more" if len(pairs) > _FEW else ""
        lines += wrapped(shown(f"{', '.join(pairs[:_FEW])}{more}: {why}"), indent=4)
    if len(by_reason) > _MANY:
        lines.append("    the others are on the review page and in --json")
    return lines


def remaining_records(job: Job) -> Iterator[dict[str, Any]]:
    """What ``renet untangle --json`` says of every crossing of the result, one by one, in order."""
    board = job.scene.board

    def pin(index: int) -> dict[str, str]:
        part, number = board.pin_key(index)
        return {"part": part, "pin": number}

    for one in held_of(job, job.remaining):
        yield {
            "nets": list(one.nets),
            "ends": [[pin(a), pin(b)] for a, b in one.ends],
            "held_by": one.reason.kind.value,
            "rule": one.reason.rule or None,
            "exchange": [pin(index) for index in one.reason.pins],
            "crossings": one.reason.crossings,
            "why": one.why,
        }


def remaining_section(view: View, nets: Mapping[str, int]) -> Iterator[str]:
    """The same as a table whose nets light up, in pieces; nothing where no crossing is left."""
    if not view.remaining:
        return
    head = "".join(f'<th scope="col">{word}</th>' for word in ("net", "crosses", "because"))
    yield (
        f'<section aria-labelledby="h-held"><h2 id="h-held">{_TITLE}</h2>'
        f'<p class="note">With all swaps taken: {escape(_counts(view.remaining))}.</p>'
        f'<table class="moves"><thead><tr>{head}</tr></thead><tbody>'
    )
    rows = (
        f"<tr><td>{net_button(one.nets[0], nets)}</td><td>{net_button(one.nets[1], nets)}</td>"
        f"<td>{escape(shown(one.why))}</td></tr>"
        for one in view.held(sorted(view.remaining, key=_use))
    )
    while piece := "".join(islice(rows, _ROWS)):
        yield piece
    yield "</tbody></table></section>"


def _counts(listed: Iterable[Remaining]) -> str:
    counted = Counter(one.reason.kind for one in listed)
    return ", ".join(
        f"{counted[kind]} {words}" for kind, words in _COUNTED.items() if counted[kind]
    )


def _use(one: Remaining) -> tuple[int, float]:
    """What can be done about it first, and where it is worth most."""
    return list(_COUNTED).index(one.reason.kind), one.reason.crossings
