"""The command ``renet export``: a board as a list in an open format, for other readers."""

from __future__ import annotations

import json
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
@click.option("--json", "as_json", is_flag=True, help="Print JSON instead of text.")
def export(board: Path, ipc356: bool, out: Path, quiet: bool, as_json: bool) -> int:
    """Write all pads of BOARD as a list that other programs and testers read."""
    from renet.export import exported
    from renet.pipeline import board_file
    from renet.report.tables import shown

    if not ipc356:
        raise InputError("export needs a format", "give --ipc356")
    file = board_file(named(board))
    with blame(str(board)):
        found = exported(file)
    files.write_all([files.Output(out, found.data)], [board])
    count = {"pads": len(file.board.pads), "nets": len(file.board.nets)}
    if as_json:
        record = {"schema": "renet/export/1", "file": str(out), **count}
        click.echo(json.dumps(record | {"shortened": dict(found.shortened)}, indent=1))
    elif not quiet:
        click.echo(shown(f"{out}: {count['pads']} pads on {count['nets']} nets"))
        if found.shortened:
            pairs = ", ".join(f"{name} -> {word}" for name, word in found.shortened[:_SHOWN])
            click.echo(shown(f"{len(found.shortened)} names do not fit the columns: {pairs}"))
    return 0
