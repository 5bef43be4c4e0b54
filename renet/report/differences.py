"""Proposed swaps, or what moved between two files, for a terminal, a page, a sheet, a program."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any

from renet.between import Difference, Key
from renet.changes import ChangeList, Figures, Swap
from renet.report.records import changes_record
from renet.report.routes import routes, touched
from renet.report.summary import changes_text, figures_words
from renet.report.tables import csv_text, net_shown, shown

_MARKUP = re.compile(r"[\\`*_{}\[\]()#+\-.!|~=:@]")
_ENTITY = {"&": "&amp;", "<": "&lt;", ">": "&gt;"}


def differs(found: Difference) -> bool:
    """Whether there is anything to show."""
    return bool(found.changes.swaps or found.gone or found.new)


def diff_text(found: Difference) -> str:
    """For a terminal."""
    changes = found.changes
    lines = [changes_text(changes)]
    for swap in changes.swaps:
        lines += ["", f"  nets of swap {swap.id}"] + [f"    {route}" for route in routes(swap)]
    lines += _only_in("before", found.gone) + _only_in("after", found.new)
    return "\n".join(lines)


def diff_markdown(found: Difference) -> str:
    """For a review: one section per swap."""
    swaps = found.changes.swaps
    count = f"{len(swaps)} swaps, {len(found.changes.moves)} pins"
    lines = ["# Proposed swaps", "", f"{count}, {len(touched(swaps))} nets touched", ""]
    for swap in swaps:
        lines += _section(swap)
    for word, keys in (("before", found.gone), ("after", found.new)):
        if keys:
            pins = ", ".join(marked(f"{part}:{pin}") for part, pin in keys)
            lines += [f"## Pins that only the file {word} has", "", pins, ""]
    return "\n".join(lines)


def diff_csv(found: Difference) -> str:
    """For a sheet: one row per moved pin, the worth of its swap beside it."""
    worth = [f"{kind}_{name}" for kind in ("alone", "without") for name in Figures._fields]
    header = ("swap", "part", "pin", "name", "was", "is", *worth)
    return csv_text(header, (row for swap in found.changes.swaps for row in _rows(swap)))


def diff_record(found: Difference) -> dict[str, Any]:
    """For a program."""
    record = changes_record(found.changes)
    for entry, swap in zip(record["swaps"], found.changes.swaps, strict=True):
        entry["nets"] = [
            {
                "net": route.net,
                "part": route.part,
                "was": [seat._asdict() for seat in route.left],
                "is": [seat._asdict() for seat in route.taken],
            }
            for route in routes(swap)
        ]
    record["nets_touched"] = touched(found.changes.swaps)
    for word, keys in (("only_before", found.gone), ("only_after", found.new)):
        record[word] = [{"part": part, "pin": pin} for part, pin in keys]
    return record


def listed(changes: ChangeList) -> Difference:
    """A change list as a difference: nothing else is known of the two files."""
    return Difference(changes, (), ())


def marked(text: str) -> str:
    """``text`` in Markdown, where it says nothing but itself."""
    escaped = _MARKUP.sub(r"\\\g<0>", shown(text))
    return re.sub("[&<>]", lambda found: _ENTITY[found[0]], escaped)


def _section(swap: Swap) -> list[str]:
    lines = [f"## Swap {swap.id}", ""]
    for word, figures in (("alone", swap.alone), ("left out", swap.lost_without)):
        if figures is not None:
            lines.append(f"- {word}: {figures_words(figures)}")
    lines += [f"- {marked(str(route))}" for route in routes(swap)]
    lines += ["", "| pin | function | was | is |", "|---|---|---|---|"]
    for move in swap.moves:
        cells = (f"{move.part}:{move.pin}", move.name, net_shown(move.was), net_shown(move.is_))
        lines.append("| " + " | ".join(marked(cell) for cell in cells) + " |")
    return [*lines, ""]


def _rows(swap: Swap) -> Iterable[Sequence[object]]:
    blank = (None,) * len(Figures._fields)
    worth = (*(swap.alone or blank), *(swap.lost_without or blank))
    for move in swap.moves:
        yield (swap.id, move.part, move.pin, move.name, move.was, move.is_, *worth)


def _only_in(word: str, keys: Sequence[Key]) -> list[str]:
    if not keys:
        return []
    return ["", f"  pins that only the file {word} has: " + shown(", ".join(map(":".join, keys)))]
