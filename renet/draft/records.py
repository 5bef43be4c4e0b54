"""What the drafting finds: a verdict for every pin, and entries for the rules file."""

from __future__ import annotations

from typing import NamedTuple

FREE, ASKED, KEPT = "free", "asked", "kept"


class Verdict(NamedTuple):
    """Whether a pin may be traded, why, and on what evidence.

    ``kind`` is the reason in one or two words, for counting; ``why`` is a
    sentence's second half; ``evidence`` names what it was read from.
    """

    state: str
    kind: str
    why: str
    evidence: str


class Line(NamedTuple):
    """One entry of a list in the rules file: a value, what to say of it, whether it is asked."""

    value: object
    note: str = ""
    asked: bool = False


class Entry(NamedTuple):
    """One record to be written.

    ``key`` says what it is about and is the same for the same thing on a later
    run; ``title`` are comment lines above it; ``fields`` come in order, a list
    of :class:`Line` being written line by line.  An ``asked`` entry is written
    as comments.
    """

    key: str
    section: str
    title: tuple[str, ...]
    fields: tuple[tuple[str, object], ...]
    asked: bool = False


class Found(NamedTuple):
    """What one module found: entries, and verdicts by pin id."""

    entries: tuple[Entry, ...] = ()
    verdicts: tuple[tuple[int, Verdict], ...] = ()
