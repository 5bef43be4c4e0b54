"""The command ``renet rules``: a draft of the rules file, or why a pin is kept or free."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from renet import files
from renet.cli_progress import Progress
from renet.errors import InputError, blame
from renet.inputs import named

if TYPE_CHECKING:
    from renet.draft import Draft, SymbolPin, Updated

FILE = click.Path(path_type=Path)


@click.command()
@click.argument("board", type=FILE)
@click.option("--netlist", type=FILE, help="The netlist that belongs to the board.")
@click.option("--schematic", type=FILE, multiple=True, help="A schematic sheet; may repeat.")
@click.option("--functions", type=FILE, multiple=True,
              help="CSV with the columns part, pin, function; may repeat.")  # fmt: skip
@click.option("-o", "--out", type=FILE, help="The rules file; one that exists is added to.")
@click.option("--explain", metavar="PART:PIN", help="Only say why this pin is kept or free.")
@click.option("-q", "--quiet", is_flag=True, help="Print nothing but errors.")
def rules(
    board: Path,
    netlist: Path | None,
    schematic: tuple[Path, ...],
    functions: tuple[Path, ...],
    out: Path | None,
    explain: str | None,
    quiet: bool,
) -> int:
    """Draft a rules file for BOARD: which pins may be traded, and why the others may not.

    Hand edits in a file that exists stay as they are.
    """
    from renet.draft import explain as explained

    if out is None and explain is None:
        raise InputError("rules needs a file to write or a pin to explain", "give -o or --explain")
    with Progress(quiet) as observer:
        observer("reading")
        draft = _draft(board, netlist, schematic, functions)
    if explain is not None:
        for line in explained(draft, explain).split("\n"):
            _say(False, line)
        return 0
    if out is not None:
        _write(draft, board, out, [board, *filter(None, [netlist]), *schematic, *functions], quiet)
    return 0


def _draft(
    board: Path, netlist: Path | None, schematic: tuple[Path, ...], functions: tuple[Path, ...]
) -> Draft:
    """Everything read and judged."""
    from renet.draft import draft_rules, gather, read_symbols
    from renet.pipeline import board_file, netlist_file
    from renet.read.functions import read_functions

    symbols: list[SymbolPin] = []
    for path in schematic:
        with blame(str(path)):
            symbols += read_symbols(files.read(path))
    tables = [row for path in functions for row in read_functions(files.read(path), str(path))]
    found = board_file(named(board)).board
    nets = netlist_file(named(netlist)).netlist if netlist else None
    with blame(str(netlist or board)):
        return draft_rules(gather(found, nets, symbols, tables))


def _write(draft: Draft, board: Path, out: Path, inputs: list[Path], quiet: bool) -> None:
    """A new file, or what is new added to one that exists; an unchanged one is left alone."""
    from renet.draft import draft_text, updated

    if not out.exists():
        files.write_all([files.Output(out, draft_text(draft, board.name).encode())], inputs)
        _say(quiet, f"{out}: {_counted(draft)}")
        return
    with blame(str(out)):
        old = files.read(out)
        found = updated(old, draft)
    if found.data != old:
        files.write_all([files.Output(out, found.data)], inputs)
    _say(quiet, f"{out}: {_counted(draft)}; {_added(found)}")
    for note in found.notes:
        _say(quiet, f"{out}: {note}")


def _counted(draft: Draft) -> str:
    count = draft.count()
    return f"{count['free']} pins free, {count['asked']} asked about, {count['kept']} kept"


def _added(found: Updated) -> str:
    return f"added {', '.join(found.added)}" if found.added else "nothing to add"


def _say(quiet: bool, text: str) -> None:
    from renet.report.tables import shown

    if not quiet:
        click.echo(shown(text))
