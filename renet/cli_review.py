"""What ``renet diff`` prints and what ``renet apply`` hands over; the command line's own helper."""

from __future__ import annotations

import datetime
import importlib.metadata
import json
import os
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from renet.files import Output
from renet.inputs import changes_of, named

if TYPE_CHECKING:
    from renet.between import Difference
    from renet.changes import ChangeList

FORMATS = ("text", "markdown", "csv", "json")

_BETTER = re.compile(r"-[\d.]+ (?:crossings?|overlaps?|over pads?|mm)")
_WORSE = re.compile(r"\+[\d.]+ (?:crossings?|overlaps?|over pads?|mm)")


def difference(
    paths: tuple[Path, ...], picked: tuple[str | None, str | None], copper: str
) -> Difference:
    """A change list as it is, or what moved between two files of any kind and version."""
    from renet.between import between
    from renet.copper import Mode
    from renet.model import Board
    from renet.pipeline import design
    from renet.report.differences import listed
    from renet.weighing import weighed

    if len(paths) == 1:
        return listed(changes_of(paths[0], *picked))
    before, after = (design(named(path)) for path in paths)
    found = between(before, after)
    if isinstance(before, Board):
        found = found._replace(changes=weighed(before, found.changes, Mode(copper)))
    return found


def printed(found: Difference, form: str) -> str:
    """The difference in one of ``FORMATS``, coloured where a person looks at a terminal."""
    from renet.report import differences as d

    if form == "json":
        record = d.diff_record(found)
        return json.dumps(record, indent=1, ensure_ascii=True, allow_nan=False)
    if form == "text":
        text = d.diff_text(found)
        return painted(text) if sys.stdout.isatty() and "NO_COLOR" not in os.environ else text
    return (d.diff_markdown(found) if form == "markdown" else d.diff_csv(found)).rstrip("\n")


def painted(text: str) -> str:
    """Text with headings bold, gains green and losses red."""
    lines = []
    for line in text.split("\n"):
        if re.match(r"  swap \d", line):
            lines.append(click.style(line, bold=True))
        elif re.match(r"    (alone|without) ", line):
            line = _BETTER.sub(lambda m: click.style(m[0], fg="green"), line)
            lines.append(_WORSE.sub(lambda m: click.style(m[0], fg="red"), line))
        else:
            lines.append(line)
    return "\n".join(lines)


def handed_over(
    changes: ChangeList, file: Path, result: Output, rules: Path | None, folder: Path | None
) -> list[Output]:
    """The hand-over files of an applied list; none where no folder was asked for."""
    from renet.pipeline import Named
    from renet.report.deed import Files, deed_of
    from renet.report.handover import hand_over

    if folder is None:
        return []
    named_rules = named(rules) if rules else None
    found = Files(named(file), Named(result.path.name, result.data), named_rules)
    deed = deed_of(changes, found, _today(), importlib.metadata.version("renet"))
    return [Output(folder / name, text.encode()) for name, text in hand_over(deed).items()]


def _today() -> str:
    """The date of a record; SOURCE_DATE_EPOCH stands in for the clock, as builds do it."""
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    if epoch.isdecimal():
        return datetime.datetime.fromtimestamp(int(epoch), datetime.UTC).date().isoformat()
    return datetime.datetime.now(datetime.UTC).date().isoformat()
