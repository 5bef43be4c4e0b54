"""Set file (TOML) -> records: the boards of a set and how they meet."""

from __future__ import annotations

from renet.errors import RulesError
from renet.nearest import quoted, suggestion
from renet.read.kinds import MAP, NAME
from renet.read.rules import Section, read_sections
from renet.read.toml import parse
from renet.rules import Mate, line_of
from renet.sets.records import BoardSet, Member, Same

SECTIONS = (
    Section(
        "board",
        "members",
        Member,
        {"name": NAME, "file": NAME, "netlist": NAME, "rules": NAME},
    ),
    Section("mate", "mates", Mate, {"a": NAME, "b": NAME, "map": MAP}),
    Section("same", "same", Same, {"a": NAME, "b": NAME}),
)


def read_set(data: bytes) -> BoardSet:
    """The records of a set file; RulesError with the line where it cannot be meant."""
    found = read_sections(parse(data), SECTIONS)
    result = BoardSet(found.get("board", ()), found.get("mate", ()), found.get("same", ()))
    _check_members(result)
    _check_mates(result)
    return result


def _check_members(found: BoardSet) -> None:
    if len(found.members) < 2:
        raise RulesError("a set has two boards or more", "add a [[board]] with name and file")
    seen: set[str] = set()
    for member in found.members:
        plain = member.name.replace("-", "").replace("_", "")
        if not plain.isalnum() or not plain.isascii():
            raise RulesError(
                f"{quoted(member.name)} is no name for a board",
                "use letters, digits, - and _",
                line=line_of(member.name, member.line),
            )
        if member.name.casefold() in seen:
            raise RulesError(
                f"two boards are called {quoted(member.name)}",
                "give each board a name of its own",
                line=line_of(member.name, member.line),
            )
        seen.add(member.name.casefold())


def _check_mates(found: BoardSet) -> None:
    names = [member.name for member in found.members]
    taken: set[str] = set()
    records: list[Mate | Same] = [*found.mates, *found.same]
    for record in records:
        for word in (record.a, record.b):
            board, colon, rest = word.partition(":")
            if not colon or not rest or board not in names:
                raise RulesError(
                    f"{quoted(word)} names no board of the set",
                    suggestion(board, names, "write it as BOARD:NAME"),
                    line=line_of(word, record.line),
                )
            if isinstance(record, Mate) and word in taken:
                raise RulesError(
                    f"{word} is in two mates, but a connector has one counterpart",
                    "leave one of the mates out and [[keep]] the pins of both in their rules",
                    line=record.line,
                )
            if isinstance(record, Mate):
                taken.add(word)
