"""Records of the rules file; nothing is looked up here and nothing is checked.

Every record carries the ``line`` of the rules file it came from (0: made by a
program), so that a complaint can point at it.  Pins and nets are still the
words of the file: ``freedom`` finds out what they mean on a given board.
"""

from __future__ import annotations

from typing import NamedTuple


class Pool(NamedTuple):
    """Pins of one part among which nets may move freely."""

    part: str
    pins: tuple[str, ...]
    keep: tuple[str, ...] = ()
    cost_mm: float = 5.0
    line: int = 0


class Keep(NamedTuple):
    """Nets (globs) and pins (``PART:PIN``, both sides may be globs) that stay."""

    nets: tuple[str, ...] = ()
    pins: tuple[str, ...] = ()
    line: int = 0


class Weight(NamedTuple):
    """Crossings of these nets count ``factor`` times."""

    nets: tuple[str, ...]
    factor: float
    line: int = 0


class Rules(NamedTuple):
    """A whole rules file.  Layers count from 1 at the front, -1 is the back."""

    horizontal: tuple[int | str, ...] = ()
    vertical: tuple[int | str, ...] = ()
    include: tuple[str, ...] = ()
    leave_out: tuple[str, ...] = ()
    pools: tuple[Pool, ...] = ()
    keeps: tuple[Keep, ...] = ()
    weights: tuple[Weight, ...] = ()
