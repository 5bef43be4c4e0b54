"""The command ``renet channels``: the orthogonal plan of a board."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from renet import files
from renet.cli_options import FILE, freedom, option, reporting
from renet.cli_progress import Progress
from renet.errors import InputError
from renet.inputs import changes_of, inputs_of, options_of

if TYPE_CHECKING:
    from renet.channels.sizes import Wanted


@click.command()
@click.argument("board", type=FILE)
@freedom
@option("--swaps", type=FILE, help="Make the moves of this change list first.")
@option("--track", type=float, metavar="MM", help="Track width [default: from the board].")
@option("--clearance", type=float, metavar="MM", help="Clearance [default: from the board].")
@option("--via", type=float, metavar="MM", help="Via size [default: from the board].")
@option("--thorough", is_flag=True, help="Where nets are blocked, try finer grids for minutes.")
@option("--suggest", is_flag=True, help="Compare the sensible direction tables.")
@option("--svg", type=FILE, help="Draw the plan into this file.")
@option("--sketch", type=FILE, help="Copy the board with the plan on a user layer.")
@reporting
def channels(board: Path, as_json: bool, quiet: bool, **chosen: Any) -> int:
    """Plan the open connections of BOARD over and up, layer by layer."""
    from renet.channels.job import compared, outlook
    from renet.channels.record import channels_record, channels_text

    wanted = _wanted(chosen)
    inputs = inputs_of(board, chosen["netlist"], chosen["rules"])
    changes = changes_of(chosen["swaps"], None, None) if chosen["swaps"] else None
    with Progress(quiet or as_json) as observer:
        options = options_of(chosen)
        found = outlook(inputs, options, wanted, changes, observer, chosen["thorough"])
        others = compared(found, wanted) if chosen["suggest"] else None
    outputs = []
    if chosen["svg"]:
        from renet.channels.drawing import channels_svg

        outputs.append(files.Output(chosen["svg"], channels_svg(found).encode("utf-8")))
    if chosen["sketch"]:
        from renet.channels.sketch import sketched

        outputs.append(files.Output(chosen["sketch"], sketched(found)))
    files.write_all(outputs, [board])
    if as_json:
        record = channels_record(found, others)
        click.echo(json.dumps(record, indent=1, ensure_ascii=True, allow_nan=False))
    elif not quiet:
        click.echo(channels_text(found, others))
    return 0


def _wanted(chosen: dict[str, Any]) -> Wanted:
    """Sizes from the command line, in nanometres."""
    from renet.channels.sizes import Wanted
    from renet.geometry import nm

    for name in Wanted._fields:
        value = chosen[name]
        if value is not None and not 0.01 <= value <= 10:
            raise InputError(f"--{name} {value:g} is out of range", "give 0.01 to 10 mm")
    return Wanted(*(nm(chosen[name] or 0.0) for name in Wanted._fields))
