"""From the paths and options that a user gave to what the pipeline takes."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

from renet import files
from renet.errors import InputError, blame

if TYPE_CHECKING:
    from renet.changes import ChangeList
    from renet.pipeline import Inputs, Named, Options


def inputs_of(board: Path, netlist: Path | None, rules: Path | None) -> Inputs:
    """Read the files of one job; a rules file beside the board is found by its name."""
    from renet.pipeline import Inputs

    beside = board.with_name(f"{board.stem}.rules.toml")
    found = rules or (beside if beside.is_file() else None)
    return Inputs(
        named(board), named(netlist) if netlist else None, named(found) if found else None
    )


def named(path: Path) -> Named:
    """A file's bytes under the name the user gave; change list and reports have to say it."""
    from renet.pipeline import Named

    name = str(path)
    if name != name.encode("utf-8", "ignore").decode():
        raise InputError("its name is not UTF-8 text", "rename the file or its folder", file=name)

    def beside(other: str) -> bytes:
        return files.read_inside(path.parent, other)

    return Named(name, files.read(path), beside)


def options_of(chosen: dict[str, Any]) -> Options:
    """The options of a run, checked."""
    from renet.copper import Mode
    from renet.engine import Params
    from renet.pipeline import Options

    return Options(
        mode=Mode(chosen["copper"]),
        include=chosen["include"],
        leave_out=chosen["leave_out"],
        max_moves=chosen.get("max_moves"),
        frontier=bool(chosen.get("frontier")),
        params=Params(
            seed=chosen.get("seed") or 0,
            iterations=chosen.get("iterations"),
            seconds=chosen.get("seconds"),
        ),
    )


def changes_of(path: Path, only: str | None, without: str | None) -> ChangeList:
    """A change list, reduced to the swaps that were picked."""
    from renet.read.swaps import read_swaps

    with blame(str(path)):
        changes = read_swaps(files.read(path))
    if only is None and without is None:
        return changes
    if only is not None and without is not None:
        raise InputError("--only and --without exclude each other", "give one of them")
    known = {swap.id for swap in changes.swaps}
    picked = _numbers(only if only is not None else without or "", known)
    return changes.only(picked if only is not None else frozenset(known) - picked)


def _numbers(text: str, known: set[int]) -> frozenset[int]:
    """Swap numbers from ``1,3``; only numbers that are in the list."""
    found = set()
    for word in filter(None, (piece.strip() for piece in text.split(","))):
        if not re.fullmatch("[0-9]{1,15}", word) or int(word) not in known:
            raise InputError(
                f'there is no swap "{word}" in this change list',
                f"it has {', '.join(map(str, sorted(known))) or 'none'}",
            )
        found.add(int(word))
    return frozenset(found)
