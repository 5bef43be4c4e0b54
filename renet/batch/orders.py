"""From paths to orders: which boards there are, and what belongs to each."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from renet.errors import InputError

BOARD = ".kicad_pcb"
SET = ".toml"


class Order(NamedTuple):
    """One board to be done; or, where ``board`` is a set file, a set of boards.

    ``name`` is its folder below the results, with ``/`` on every system.
    """

    name: str
    board: Path
    netlist: Path | None
    rules: Path | None

    @property
    def sources(self) -> list[Path]:
        """The files that must not be overwritten."""
        return [path for path in (self.board, self.netlist, self.rules) if path]


def find_orders(paths: Sequence[Path], out: Path, rules: Path | None = None) -> list[Order]:
    """Boards and set files named, and boards in the folders named, in that order; each once.

    ``NAME.net`` and ``NAME.rules.toml`` beside a board belong to it; ``rules``
    takes the place of the latter for all boards.  In folders, hidden folders, the
    results in ``out`` and boards beside a change list of their own name (results
    of an earlier run) are passed over.  InputError where nothing is found or two
    boards would be given the same folder.
    """
    found: dict[Path, Order] = {}
    for path in paths:
        for name, board in _boards(path, out):
            found.setdefault(board.resolve(), _order(name, board, rules))
    if not found:
        raise InputError(f"no {BOARD} file in {', '.join(map(str, paths))}", "check the path")
    orders = list(found.values())
    _insist_on_names(orders)
    return orders


def _boards(path: Path, out: Path) -> Iterator[tuple[str, Path]]:
    """Name and path of every board that ``path`` stands for."""
    if path.is_dir():
        for board in _below(path, out):
            yield board.relative_to(path).with_suffix("").as_posix(), board
    elif path.suffix not in (BOARD, SET):
        raise InputError(
            "is no board, set file or folder", f"give {BOARD} files or folders", file=str(path)
        )
    elif not path.exists():
        raise InputError("no such file", "check the path", file=str(path))
    else:
        yield path.stem, path


def _below(folder: Path, out: Path) -> Iterator[Path]:
    """Boards in a folder and the folders in it, by name."""
    results = out.resolve()
    for here, folders, names in os.walk(folder):
        folders[:] = sorted(
            name
            for name in folders
            if not name.startswith(".") and (Path(here) / name).resolve() != results
        )
        for name in sorted(names):
            board = Path(here) / name
            if board.suffix == BOARD and not board.with_suffix(".swaps").exists():
                yield board


def _order(name: str, board: Path, rules: Path | None) -> Order:
    if board.suffix == SET:
        return Order(name, board, None, None)
    return Order(
        name,
        board,
        _if_there(board.with_suffix(".net")),
        rules or _if_there(board.with_name(f"{board.stem}.rules.toml")),
    )


def beside(board: Path) -> Order:
    """A board with the files beside it that belong to it."""
    return _order(board.stem, board, None)


def _if_there(path: Path) -> Path | None:
    return path if path.is_file() else None


def _insist_on_names(orders: Iterable[Order]) -> None:
    """Every board has a folder of its own; upper and lower case are not told apart."""
    taken: dict[str, Order] = {}
    for order in orders:
        other = taken.setdefault(order.name.casefold(), order)
        if other is not order:
            raise InputError(
                f"{other.board} and {order.board} would both be written into {order.name}",
                "give the folder that holds both, or run them one after the other",
            )
