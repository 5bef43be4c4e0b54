"""From paths to orders: which boards there are, and what belongs to each.

What a named file is, its content says.  In folders names come first, so that no
backup copy or picture is opened: of lists of records only those that are one count.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from renet import files
from renet.errors import InputError, RenetError, blame
from renet.read.kind import BOARD, RECORDS, kind_of

SET = ".toml"
_BOARD = ".kicad_pcb"
_RECORDS = (".d356", ".356", ".ipc")
_NETLISTS = (".net", ".edf", ".edif", ".edn")


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

    ``NAME.net`` and ``NAME.rules.toml`` beside a board belong to it, ``NAME.edf``
    where there is no other netlist, or first where the board is a list of records;
    ``rules`` takes the place of the rules for all boards.  In folders, hidden
    folders, the results in ``out``, boards beside a change list of their own name
    (results of an earlier run) and lists of records beside a board file of their
    own name (made of it) are passed over.  InputError where nothing is found or
    two boards would be given the same folder.
    """
    found: dict[Path, Order] = {}
    for path in paths:
        for name, board in _boards(path, out):
            found.setdefault(board.resolve(), _order(name, board, rules))
    if not found:
        raise InputError(
            f"no board in {', '.join(map(str, paths))}",
            f"give {_BOARD} or {_RECORDS[0]} files, set files, or folders with boards",
        )
    orders = list(found.values())
    _insist_on_names(orders)
    return orders


def _boards(path: Path, out: Path) -> Iterator[tuple[str, Path]]:
    """Name and path of every board that ``path`` stands for."""
    if path.is_dir():
        for board in _below(path, out):
            yield board.relative_to(path).with_suffix("").as_posix(), board
    elif not path.exists():
        raise InputError("no such file", "check the path", file=str(path))
    elif path.suffix in (_BOARD, SET) or _is_board(path):
        yield path.stem, path
    else:
        raise InputError(
            "is no board, set file or folder", "name the board it belongs to", file=str(path)
        )


def _is_board(path: Path) -> bool:
    with blame(str(path)):
        return kind_of(files.read(path)) in (BOARD, RECORDS)


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
            listed = board.suffix in _RECORDS and _is_list(board)
            if (listed or board.suffix == _BOARD) and not board.with_suffix(".swaps").exists():
                yield board


def _is_list(path: Path) -> bool:
    """Whether it is a list of records, and not just one made of the board beside it."""
    try:
        return not path.with_suffix(_BOARD).exists() and _is_board(path)
    except RenetError:
        return False  # another kind of file that goes by the same suffix


def _order(name: str, board: Path, rules: Path | None) -> Order:
    if board.suffix == SET:
        return Order(name, board, None, None)
    return Order(
        name,
        board,
        _netlist(board),
        rules or _if_there(board.with_name(f"{board.stem}.rules.toml")),
    )


def _netlist(board: Path) -> Path | None:
    """The netlist beside a board: the kind that goes with the kind of board, or the other."""
    near, far = _NETLISTS[:1], _NETLISTS[1:]
    suffixes = near + far if board.suffix == _BOARD else far + near
    there = (_if_there(board.with_suffix(suffix)) for suffix in suffixes)
    return next(filter(None, there), None)


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
