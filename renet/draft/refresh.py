"""Comments that an earlier draft wrote and no hand has changed since, written anew.

The memory lines have a mark of every such line or block.  What no longer has
its mark has been edited and stays; what is gone has been taken out and stays out.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from renet.draft.draft import Draft
from renet.draft.records import Entry, Line
from renet.draft.text import (
    DOUBT,
    MARK,
    NOTES,
    REMARKS,
    list_line,
    mark,
    marks,
    noted,
    remark_words,
    remarks,
    toml,
)

_SECTION = re.compile(r"(?:#\? )?\[\[(\w+)\]\]\s*")
_PART = re.compile(r"(?:#\? )?part = (\".*\")\s*")
_VALUE = re.compile(r"(?:#\? )?    (.*?),  # .*")
Memory = Mapping[str, Sequence[str]]


def refreshed(lines: Sequence[str], draft: Draft, memory: Memory) -> list[str]:
    """The lines of the file with such comments as this draft writes them.

    A line may end in CR, as all do in a file whose lines end in CR LF.
    """
    return _notes(_remarks(lines, draft, memory), draft, memory)


def remembered(lines: Sequence[str], draft: Draft, memory: Memory) -> dict[str, list[str]]:
    """The marks to note for the next run; of files that have none there are none."""
    found: dict[str, list[str]] = {}
    if REMARKS in memory:
        found[REMARKS] = remark_words(draft)
    here = {mark(line.removesuffix("\r")) for line in lines}
    for key, words in memory.items():
        if key.startswith(f"{NOTES} "):
            still = [one for one in _split(words) if one in here]
            entry = next((e for e in draft.entries if f"{NOTES} {e.key}" == key), None)
            new = _split([marks(noted(entry))]) if entry else []
            found[key] = ["".join(dict.fromkeys([*new, *still]))]
    return found


def _remarks(lines: Sequence[str], draft: Draft, memory: Memory) -> list[str]:
    """Counts and kept pins: blocks replaced, those of new parts put behind the last one."""
    known = {word[:MARK]: word[MARK + 1 :] for word in memory.get(REMARKS, ())}
    tail = "\r" if lines and lines[0].endswith("\r") else ""
    new = {key: [line + tail for line in block] for key, block in remarks(draft).items()}
    later = [block for key, block in new.items() if key not in known.values()]
    found: list[str] = []
    last = at = 0
    while at < len(lines):
        block = _block(lines, at)
        at += len(block)
        key = known.get(mark("\n".join(line.removesuffix("\r") for line in block)), "")
        found += new.get(key, []) if key else block
        last = len(found) if key and len(block) > 1 else last
    return [*found[:last], *(line for block in later if last for line in block), *found[last:]]


def _block(lines: Sequence[str], at: int) -> list[str]:
    """The line at ``at`` with the indented comment lines below it."""
    end = at + 1
    while lines[at].startswith("# ") and end < len(lines) and lines[end].startswith("#   "):
        end += 1
    return list(lines[at:end])


def _notes(lines: Sequence[str], draft: Draft, memory: Memory) -> list[str]:
    """What stands beside the values of lists."""
    written = [
        (entry, set(_split(memory[f"{NOTES} {entry.key}"])))
        for entry in draft.entries
        if f"{NOTES} {entry.key}" in memory
    ]
    section = part = ""
    found = []
    for whole in lines:
        line = whole.removesuffix("\r")
        head, of_part, value = (p.fullmatch(line) for p in (_SECTION, _PART, _VALUE))
        if head:
            section, part = head[1], ""
        part = of_part[1] if of_part else part
        now: Line | None = None
        if value:
            own = mark(line)
            here = [e for e, known in written if e.section == section and own in known]
            values = (one for e in here if _part_of(e) in ("", part) for one in _values(e))
            now = next((one for one in values if toml(one.value) == value[1]), None)
        doubted = line.startswith(DOUBT)
        found.append(list_line(now._replace(asked=doubted)) + whole[len(line) :] if now else whole)
    return found


def _part_of(entry: Entry) -> str:
    part = dict(entry.fields).get("part")
    return "" if part is None else toml(part)


def _values(entry: Entry) -> list[Line]:
    lists = (value for _, value in entry.fields if isinstance(value, tuple))
    return [line for value in lists for line in value if line.note]


def _split(words: Sequence[str]) -> list[str]:
    text = "".join(words)
    return [text[at : at + MARK] for at in range(0, len(text), MARK)]
