"""A draft as the text of a rules file: the same draft, the same bytes.

Whatever is in doubt stands behind ``#? ``, ready to be taken in by removing that
mark.  Lines that begin ``#= `` at the end say what has been drafted so far, so
that a later run neither repeats it nor brings back what the engineer took out.
"""

from __future__ import annotations

import hashlib
import json
import textwrap
from collections.abc import Iterable, Mapping, Sequence

from renet.draft.draft import Draft
from renet.draft.kinds import SMALL
from renet.draft.records import ASKED, FREE, KEPT, Entry, Line
from renet.model import Part

DOUBT = "#? "
MEMORY = "#= "
MEMORY_HEAD = "# Drafted so far (renet reads these lines when it drafts again; leave them here):"
KEPT_HEAD = "# Kept pins, each with its reason."
NOTES, REMARKS = "notes", "remarks"  # memory keys of what was written as comments
MARK = 6
_WIDTH = 100


def draft_text(draft: Draft, name: str) -> str:
    """The whole rules file for a board of this name."""
    blocks = [_head(draft, name)]
    blocks += ["\n".join(entry_lines(entry)) for entry in draft.entries]
    kept = [line for block in list(remarks(draft).values())[1:] for line in block]
    blocks.append("\n".join([KEPT_HEAD, *kept]))
    if draft.entries:
        memory = memory_of(draft.entries) | {REMARKS: remark_words(draft)}
        blocks.append("\n".join(memory_lines(memory)))
    return "\n\n".join(blocks) + "\n"


def memory_of(entries: Sequence[Entry]) -> dict[str, list[str]]:
    """What the memory lines say of entries: their values, and the marks of their notes."""
    found = {entry.key: values_of(entry) for entry in entries}
    return found | {f"{NOTES} {e.key}": [marks(noted(e))] for e in entries if noted(e)}


def remark_words(draft: Draft) -> list[str]:
    """What the memory lines say of the remarks: mark and key of each."""
    return [f"{mark(chr(10).join(block))} {key}" for key, block in remarks(draft).items()]


def mark(text: str) -> str:
    """Six digits by which a later run knows that a line or a block is still as it was drafted."""
    return hashlib.sha256(text.encode()).hexdigest()[:MARK]


def marks(lines: Iterable[str]) -> str:
    """The marks of lines, one after the other."""
    return "".join(map(mark, lines))


def noted(entry: Entry) -> list[str]:
    """The lines of an entry's lists that carry a note."""
    every = (line for _, value in entry.fields if isinstance(value, tuple) for line in value)
    return [list_line(line, entry.asked) for line in every if line.note]


def _head(draft: Draft, name: str) -> str:
    return "\n".join(
        (
            f"# Rules drafted by renet from {plain(name)}: which pins may trade nets.",
            _summary(draft),
            "#",
            f'# Lines behind "{DOUBT.strip()}" are in doubt: remove the mark if the answer is yes.',
            "# Read every entry before use: data sheet, errata and firmware overrule this draft.",
            "# `renet rules BOARD --explain PART:PIN` says why a pin is where it is.",
        )
    )


def _summary(draft: Draft) -> str:
    count = draft.count()
    return (
        f"# Of {sum(count.values())} pins {count[FREE]} are free, {count[ASKED]} asked about, "
        f"{count[KEPT]} kept."
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


def memory_lines(memory: Mapping[str, Sequence[str]]) -> list[str]:
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


def remarks(draft: Draft) -> dict[str, list[str]]:
    """Comments on the whole board: how many pins, then a block for every part with kept pins.

    The keys are the same for the same thing on a later run.  Parts with two pins
    share the last block.
    """
    ev = draft.evidence
    blocks = {"count": [_summary(draft)]}
    small: list[str] = []
    by_part: dict[int, dict[str, list[int]]] = {}
    for pin, verdict in draft.verdicts.items():
        part = ev.board.pins[pin].part
        if draft.kinds[part] == SMALL:
            small += [ev.board.parts[part].ref] if pin == ev.board.parts[part].pins[0] else []
        elif verdict.state == KEPT:
            by_part.setdefault(part, {}).setdefault(verdict.why, []).append(pin)
    for index, reasons in by_part.items():
        block = [f"# {_title(ev.board.parts[index])}:"]
        for why, pins in reasons.items():
            words = (_word(draft, pin) for pin in pins)
            block += _wrapped(f"{why}: ", words)
        ref = ev.board.parts[index].ref
        blocks[f"part {ref}" if f"part {ref}" not in blocks else f"part {ref} {index}"] = block
    if small:
        head = "# Parts with two pins or fewer, which have nothing to trade:"
        blocks["small parts"] = [head, *_wrapped("", small)]
    return blocks


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
