"""Records of the set file; nothing is looked up here."""

from __future__ import annotations

from typing import NamedTuple

from renet.rules import Mate


class Member(NamedTuple):
    """A board of the set: its name there, and its files, seen from the set file's folder.

    Without ``netlist`` and ``rules`` those beside the board are taken, if there.
    """

    name: str
    file: str
    netlist: str = ""
    rules: str = ""
    line: int = 0


class Same(NamedTuple):
    """Nets (``BOARD:NET``) of mated boards that are one, though called differently."""

    a: str
    b: str
    line: int = 0


class BoardSet(NamedTuple):
    """A whole set file."""

    members: tuple[Member, ...]
    mates: tuple[Mate, ...] = ()
    same: tuple[Same, ...] = ()
