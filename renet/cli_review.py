"""What ``renet diff`` prints and what ``renet apply`` hands over; the command line's own helper."""

from __future__ import annotations

import datetime
import json
import os
import re
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from renet import files
from renet.errors import InputError, blame
from renet.files import Output
from renet.inputs import changes_of, named

if TYPE_CHECKING:
    from renet.annotate import Undone
    from renet.between import Difference
    from renet.changes import ChangeList
    from renet.pipeline import Terms

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
    changes: ChangeList, file: Path, result: Output, terms: Terms, folder: Path | None
) -> list[Output]:
    """The hand-over files of an applied list; none where no folder was asked for."""
    from importlib.metadata import version

    from renet.pipeline import Named
    from renet.report.deed import Files, deed_of
    from renet.report.handover import hand_over

    if folder is None:
        return []
    found = Files(named(file), Named(result.path.name, result.data), terms)
    deed = deed_of(changes, found, _today(), version("renet"))
    return [Output(folder / name, text.encode()) for name, text in hand_over(deed).items()]


class Sheets(NamedTuple):
    """Schematic sheets to be written, and what could and could not be done on them."""

    outputs: tuple[Output, ...] = ()
    done: tuple[int, ...] = ()
    undone: tuple[Undone, ...] = ()

    def record(self) -> dict[str, Any]:
        """For ``renet apply --json``; empty where no sheet was given."""
        if not self.outputs:
            return {}
        paths = [str(output.path) for output in self.outputs]
        left = [pin._asdict() for pin in self.undone]
        return {"schematic": {"files": paths, "done": list(self.done), "undone": left}}

    def lines(self) -> list[str]:
        """For people; empty where no sheet was given."""
        from renet.report.tables import shown, table

        if not self.outputs:
            return []
        names = ", ".join(str(output.path) for output in self.outputs)
        done = ", ".join(map(str, self.done)) or "none"
        lines = [f"  schematic: {shown(names)}; swaps done: {done}"]
        if self.undone:
            rows = [(f"swap {u.swap}", f"{u.part}:{u.pin}", u.why) for u in self.undone]
            lines += ["  to be done by hand in the schematic:", table(rows, indent=4)]
        return lines


def annotated(changes: ChangeList, paths: Sequence[Path], folder: Path) -> Sheets:
    """The list carried into schematic sheets; each is written under its name into ``folder``."""
    from renet.annotate import annotate

    if not paths:
        return Sheets()
    if len({path.name for path in paths}) < len(paths):
        raise InputError("two sheets have the same file name", "apply to them one after the other")
    found = annotate([_sheet(path) for path in paths], changes)
    outputs = [Output(folder / p.name, data) for p, data in zip(paths, found.sheets, strict=True)]
    return Sheets(tuple(outputs), found.done, found.undone)


def _sheet(path: Path) -> bytes:
    """A sheet's bytes, once they have been read without complaint."""
    from renet.read.schematic import read_sheet

    data = files.read(path)
    with blame(str(path)):
        read_sheet(data)
    return data


def _today() -> str:
    """The date of a record; SOURCE_DATE_EPOCH stands in for the clock, as builds do it."""
    epoch = os.environ.get("SOURCE_DATE_EPOCH", "")
    if epoch.isdecimal():
        return datetime.datetime.fromtimestamp(int(epoch), datetime.UTC).date().isoformat()
    return datetime.datetime.now(datetime.UTC).date().isoformat()
