"""The command ``renet export``: a board as a list in an open format, for other readers."""

from __future__ import annotations

from pathlib import Path

import click

from renet import files
from renet.errors import InputError, blame
from renet.inputs import named

FILE = click.Path(path_type=Path)
_SHOWN = 8


@click.command()
@click.argument("board", type=FILE)
@click.option("--ipc356", is_flag=True, help="As IPC-D-356A: every pad with net, part and place.")
@click.option("-o", "--out", type=FILE, required=True, help="The file to write.")
@click.option("-q", "--quiet", is_flag=True, help="Print nothing but errors.")
def export(board: Path, ipc356: bool, out: Path, quiet: bool) -> int:
    """Write all pads of BOARD as a list that other programs and testers read."""
    from renet.export import exported
    from renet.pipeline import board_file

    if not ipc356:
        raise InputError("export needs a format", "give --ipc356")
    file = board_file(named(board))
    with blame(str(board)):
        found = exported(file)
    files.write_all([files.Output(out, found.data)], [board])
    if not quiet:
        click.echo(f"{out}: {len(file.board.pads)} pads on {len(file.board.nets)} nets")
        if found.shortened:
            pairs = ", ".join(f"{name} -> {word}" for name, word in found.shortened[:_SHOWN])
            click.echo(f"{len(found.shortened)} names do not fit the columns: {pairs}")
    return 0
