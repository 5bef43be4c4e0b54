"""The command ``renet rules``: a draft of the rules file, or why a pin is kept or free."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

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
              help="CSV with the columns part, pin, function, and mapping for signals that only"
              " move as a set; replaces all that is otherwise known of the functions of a pin it"
              " names; may repeat.")  # fmt: skip
@click.option("-o", "--out", type=FILE, help="The rules file; one that exists is added to.")
@click.option("--explain", metavar="PART:PIN", help="Only say why this pin is kept or free.")
@click.option("-q", "--quiet", is_flag=True, help="Print nothing but errors.")
@click.option("--json", "as_json", is_flag=True, help="Print JSON instead of text.")
def rules(
    board: Path,
    netlist: Path | None,
    schematic: tuple[Path, ...],
    functions: tuple[Path, ...],
    out: Path | None,
    explain: str | None,
    quiet: bool,
    as_json: bool,
) -> int:
    """Draft a rules file for BOARD: which pins may be traded, and why the others may not.

    Hand edits in a file that exists stay as they are.
    """
    from renet.draft import explain as explained

    if out is None and explain is None:
        raise InputError("rules needs a file to write or a pin to explain", "give -o or --explain")
    with Progress(quiet or as_json) as observer:
        observer("reading")
        draft = _draft(board, netlist, schematic, functions)
    if explain is not None:
        words = explained(draft, explain)
        told = {"pin": explain, "explained": words}
        _tell(told, words.split("\n"), as_json, False)
    if out is not None and explain is None:
        lines = _write(draft, board, out, [board, *filter(None, [netlist]), *schematic, *functions])
        _tell({"file": str(out), **draft.count()}, lines, as_json, quiet)
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


def _write(draft: Draft, board: Path, out: Path, inputs: list[Path]) -> list[str]:
    """A new file, or what is new added to one that exists; an unchanged one is left alone."""
    from renet.draft import draft_text, updated

    if not out.exists():
        files.write_all([files.Output(out, draft_text(draft, board.name).encode())], inputs)
        return [f"{out}: {_counted(draft)}"]
    with blame(str(out)):
        old = files.read(out)
        found = updated(old, draft)
    if found.data != old:
        files.write_all([files.Output(out, found.data)], inputs)
    return [f"{out}: {_counted(draft)}; {_added(found)}", *(f"{out}: {n}" for n in found.notes)]


def _counted(draft: Draft) -> str:
    count = draft.count()
    return f"{count['free']} pins free, {count['asked']} asked about, {count['kept']} kept"


def _added(found: Updated) -> str:
    added = f"added {', '.join(found.added)}" if found.added else "nothing to add"
    return f"{added}; its comments follow the board" if found.remarked else added


def _tell(record: dict[str, Any], lines: list[str], as_json: bool, quiet: bool) -> None:
    from renet.report.tables import shown

    if as_json:
        click.echo(json.dumps({"schema": "renet/rules/1", **record}, indent=1))
    elif not quiet:
        for line in lines:
            click.echo(shown(line))
