"""A draft as the text of a rules file: the same draft, the same bytes.

Whatever is in doubt stands behind ``#? ``, ready to be taken in by removing that
mark.  Lines that begin ``#= `` at the end say what has been drafted so far, so
that a later run neither repeats it nor brings back what the engineer took out.
"""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterable, Sequence

from renet.draft.draft import Draft
from renet.draft.kinds import SMALL
from renet.draft.records import ASKED, FREE, KEPT, Entry, Line
from renet.model import Part

DOUBT = "#? "
MEMORY = "#= "
MEMORY_HEAD = "# Drafted so far (renet reads these lines when it drafts again; leave them here):"
_WIDTH = 100


def draft_text(draft: Draft, name: str) -> str:
    """The whole rules file for a board of this name."""
    blocks = [_head(draft, name)]
    blocks += ["\n".join(entry_lines(entry)) for entry in draft.entries]
    blocks.append("\n".join(_kept(draft)))
    if draft.entries:
        blocks.append("\n".join(memory_lines({e.key: values_of(e) for e in draft.entries})))
    return "\n\n".join(blocks) + "\n"


def _head(draft: Draft, name: str) -> str:
    count = draft.count()
    return "\n".join(
        (
            f"# Rules drafted by renet from {plain(name)}: which pins may trade nets.",
            f"# Of {sum(count.values())} pins {count[FREE]} are free, {count[ASKED]} asked about, "
            f"{count[KEPT]} kept.",
            "#",
            f'# Lines behind "{DOUBT.strip()}" are in doubt: remove the mark if the answer is yes.',
            "# Read every entry before use: data sheet, errata and firmware overrule this draft.",
            "# `renet rules BOARD --explain PART:PIN` says why a pin is where it is.",
        )
    )


def entry_lines(entry: Entry) -> list[str]:
    """The lines of one entry, its title above it."""
    mark = DOUBT if entry.asked else ""
    lines = [f"# {plain(line.removeprefix('? '))}" for line in entry.title]
    lines.append(f"{mark}[[{entry.section}]]")
    for key, value in entry.fields:
        if isinstance(value, tuple):
            lines.append(f"{mark}{key} = [")
            lines += [list_line(line, entry.asked) for line in value]
            lines.append(f"{mark}]")
        else:
            lines.append(f"{mark}{key} = {toml(value)}")
    return lines


def list_line(line: Line, asked: bool = False) -> str:
    """One value of a list with what is to say of it."""
    mark = DOUBT if asked or line.asked else ""
    note = f"  # {plain(line.note)}" if line.note else ""
    return f"{mark}    {toml(line.value)},{note}"


def values_of(entry: Entry) -> list[str]:
    """What an entry lists, one word each, as the memory lines have it."""
    found = []
    for _, value in entry.fields:
        for line in value if isinstance(value, tuple) else ():
            found.append("+".join(line.value) if isinstance(line.value, list) else str(line.value))
    return found


def memory_lines(memory: dict[str, Sequence[str]]) -> list[str]:
    """The memory lines, one for each entry ever drafted."""
    lines = [MEMORY_HEAD]
    for key, values in memory.items():
        lines.append(MEMORY + json.dumps([key, *values], ensure_ascii=True))
    return lines


def toml(value: object) -> str:
    """A value as TOML."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return f"[{', '.join(map(toml, value))}]"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007F")
    return str(value)


def plain(text: str) -> str:
    """``text`` fit for a comment: one line, nothing unprintable."""
    return "".join(c if c.isprintable() else "?" for c in text)


def _kept(draft: Draft) -> list[str]:
    """Every kept pin with its reason, part by part; parts with two pins together."""
    ev = draft.evidence
    lines = ["# Kept pins, each with its reason."]
    small: list[str] = []
    by_part: dict[int, dict[str, list[int]]] = {}
    for pin, verdict in draft.verdicts.items():
        part = ev.board.pins[pin].part
        if draft.kinds[part] == SMALL:
            small += [ev.board.parts[part].ref] if pin == ev.board.parts[part].pins[0] else []
        elif verdict.state == KEPT:
            by_part.setdefault(part, {}).setdefault(verdict.why, []).append(pin)
    for index, reasons in by_part.items():
        lines.append(f"# {_title(ev.board.parts[index])}:")
        for why, pins in reasons.items():
            words = (_word(draft, pin) for pin in pins)
            lines += _wrapped(f"{why}: ", words)
    if small:
        lines.append("# Parts with two pins or fewer, which have nothing to trade:")
        lines += _wrapped("", small)
    return lines


def _title(part: Part) -> str:
    return plain(f"{part.ref or 'a part without a reference'} {part.value}".strip())


def _word(draft: Draft, pin: int) -> str:
    entry = draft.evidence.board.pins[pin]
    return " ".join(filter(None, (entry.number, entry.name)))


def _wrapped(lead: str, words: Iterable[str]) -> list[str]:
    text = plain(lead + ", ".join(words))
    return textwrap.wrap(
        text,
        _WIDTH,
        initial_indent="#   ",
        subsequent_indent="#       ",
        break_long_words=False,
        break_on_hyphens=False,
    )
