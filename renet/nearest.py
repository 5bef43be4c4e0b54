"""The name a person probably meant, for the second half of an error message."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

_LONGEST = 60
_GLOB = str.maketrans("", "", "*?")


def quoted(name: str) -> str:
    """``name`` in double quotes, fit for one line: unprintable signs escaped, long names cut."""
    if len(name) > _LONGEST:
        name = f"{name[: _LONGEST // 2]}...{name[-_LONGEST // 2 :]}"
    shown = "".join(c if c.isprintable() else c.encode("unicode_escape").decode() for c in name)
    return f'"{shown}"'


def nearest(word: str, names: Iterable[str]) -> str:
    """The one of ``names`` most like ``word``, or "" when none is like it.

    A name that differs in case only wins; among equals the alphabet decides.
    Jokers of a glob do not count.
    """
    known = sorted({name for name in names if name})
    bare = word.translate(_GLOB)[:_LONGEST]
    if not bare:
        return ""
    same = [name for name in known if name.casefold() == bare.casefold()]
    if same:
        return same[0]
    close = difflib.get_close_matches(bare, known, n=8, cutoff=0.5)
    matcher = difflib.SequenceMatcher(b=bare)
    scores = []
    for name in close:
        matcher.set_seq1(name)
        scores.append((-matcher.ratio(), name))
    return min(scores)[1] if scores else ""


def suggestion(word: str, names: Iterable[str], otherwise: str = "") -> str:
    """``did you mean "NAME"?``, or ``otherwise`` when no name is like ``word``."""
    name = nearest(word, names)
    return f"did you mean {quoted(name)}?" if name else otherwise
