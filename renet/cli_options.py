"""Options that several commands share, each declared once, so that it means the same everywhere."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from renet.objectives import OBJECTIVES

_Command = TypeVar("_Command", bound=Callable[..., Any])

FILE = click.Path(path_type=Path)
COPPER = click.Choice(["keep", "rip", "ignore"])


def option(*names: str, **settings: Any) -> Callable[[_Command], _Command]:
    """An option of one command."""
    return click.option(*names, **settings)


def reporting(command: _Command) -> _Command:
    """How the command speaks."""
    return _with(
        command,
        option("--json", "as_json", is_flag=True, help="Print JSON instead of text."),
        option("-q", "--quiet", is_flag=True, help="Print nothing but errors."),
    )


def freedom(command: _Command) -> _Command:
    """What decides which pins of BOARD may move and what counts."""
    return _with(
        command,
        option("--netlist", type=FILE, help="The netlist that belongs to the board."),
        option("--rules", type=FILE, help="Rules file [default: NAME.rules.toml beside BOARD]."),
        counted,
    )


def counted(command: _Command) -> _Command:
    """Which copper and which nets count."""
    return _with(
        command,
        option(
            "--copper",
            type=COPPER,
            default="keep",
            show_default=True,
            help="Existing copper: keep it and what it joins, rip the nets that may move, "
            "or ignore all of it.",
        ),
        option("--include", multiple=True, metavar="NET", help="Count this net, plane or not."),
        option("--leave-out", multiple=True, metavar="NET", help="Leave this net out."),
    )


def search(command: _Command) -> _Command:
    """What is searched for on a board, how long, and what is asked of the result."""
    return _with(
        command,
        option("--seed", type=int, default=0, show_default=True, help="Same seed, same result."),
        option("--iterations", type=int, help="Search steps [default: by the size of a board]."),
        option("--seconds", type=float, help="Stop after this time; the result may then vary."),
        option("--max-moves", type=int, help="Move at most this many pins of a board."),
        option(
            "--frontier",
            is_flag=True,
            help="Also say how many moved pins buy how many crossings; files carry the last row.",
        ),
        option(
            "--objective",
            type=click.Choice(OBJECTIVES),
            default=OBJECTIVES[0],
            show_default=True,
            help="Fewest crossings of straight lines, or the best orthogonal plan (slower).",
        ),
        option(
            "--fail-above",
            metavar="FIGURE=N,...",
            help="Exit 1 above these, as crossings=0,blocked=2; blocked makes the channel plan "
            "of a result, which takes its time.",
        ),
    )


def _with(command: _Command, *options: Callable[[_Command], _Command]) -> _Command:
    """The command with these options, which help lists in this order."""
    for one in reversed(options):
        command = one(command)
    return command
