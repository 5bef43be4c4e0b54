"""The command line: the only module that prints, exits or reads options.

Start-up counts, so the heavy stages are imported by the commands that need
them, not here.  Products go to stdout, talk and errors to stderr.
"""

from __future__ import annotations

import sys
import time
import traceback
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from renet import cli_set, files
from renet.cli_batch import batch
from renet.cli_channels import channels
from renet.cli_export import export
from renet.cli_options import COPPER, FILE, freedom, option, reporting, search
from renet.cli_progress import Progress
from renet.cli_review import FORMATS, annotated, difference, handed_over, printed
from renet.cli_rules import rules
from renet.errors import InputError, RenetError, blame
from renet.inputs import changes_of, inputs_of, named, options_of
from renet.limits import BLOCKED, exceeded, limits_of, wants_plan
from renet.objectives import blocked_by_plan, untangle_by

if TYPE_CHECKING:
    from renet.changes import ChangeList
    from renet.pipeline import Scene
    from renet.planarity import Facing, Planarity
    from renet.verify import Verdict

_Command = TypeVar("_Command", bound=Callable[..., Any])

NO = 1


def main(args: Sequence[str] | None = None) -> None:
    """Run a command and leave the process with its exit code."""
    sys.exit(run(list(sys.argv[1:] if args is None else args)))


def run(args: list[str]) -> int:
    """Run a command; every error becomes one line on stderr and an exit code."""
    try:
        return int(renet.main(args, prog_name="renet", standalone_mode=False) or 0)
    except (click.exceptions.Abort, KeyboardInterrupt):
        _say("interrupted; what is written is whole, the rest is not there")
        return 130
    except click.ClickException as fault:
        _say(f"{fault.format_message()}; see `renet --help`")
        return 2
    except RenetError as fault:
        _say(str(fault))
        return fault.exit_code
    except MemoryError:
        _say("out of memory; close other programs or take a smaller board")
        return 2
    except Exception as fault:  # the last line of defence: a user never gets a traceback
        _say(f"internal error: {_origin(fault)}; please report it with the input files")
        return 3


def _origin(fault: BaseException) -> str:
    """What went wrong in the program, and where: the innermost frame."""
    frames = traceback.extract_tb(fault.__traceback__)
    where = f" at {Path(frames[-1].filename).name}:{frames[-1].lineno}" if frames else ""
    return f"{type(fault).__name__}: {fault}{where}".replace("\n", " ")


def _say(text: str) -> None:
    """A line on stderr; names in it come from files, so a terminal must not obey them."""
    from renet.report.tables import shown

    click.echo(f"renet: {shown(text)}", err=True)


def _warn_of_locks(paths: Sequence[Path]) -> None:
    """What is open elsewhere may have unsaved work, which this run does not see."""
    for path in paths:
        for lock in files.locks(path):
            _say(f"{path}: warning: {lock.name} beside it says that it is open; save it first")


def _copper(command: _Command) -> _Command:
    """Which copper counts where two boards are weighed against each other."""
    words = "Copper of BEFORE that counts: all, that of unchanged nets, or none."
    return option("--copper", type=COPPER, default="keep", show_default=True, help=words)(command)


def _picked(command: _Command) -> _Command:
    """Which swaps of a change list are meant."""
    command = option("--only", metavar="N,N", help="Take these swaps only.")(command)
    return option("--without", metavar="N,N", help="Take all swaps but these.")(command)


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="renet")
def renet() -> None:
    """Untangle a board by moving nets among the pins that may be traded."""


@renet.command()
@click.argument("board", type=FILE)
@freedom
@option("--svg", type=FILE, metavar="FILE", help="Also draw the board and its tangle.")
@option("--planarity", is_flag=True, help="Also ask whether one layer could do at all.")
@reporting
def inspect(board: Path, as_json: bool, quiet: bool, **chosen: Any) -> int:
    """Say how tangled BOARD is, and why."""
    from renet.pipeline import survey
    from renet.report.pictures import picture
    from renet.report.records import inspect_record, planarity_record
    from renet.report.summary import inspect_text, planarity_lines

    inputs = inputs_of(board, chosen["netlist"], chosen["rules"])
    with Progress(quiet or as_json) as observer:
        scene = survey(inputs, options_of(chosen), observer)
    if chosen["svg"]:
        drawn = picture(scene, board.name).encode("utf-8")
        files.write_all([files.Output(chosen["svg"], drawn)], [board])
    flat = _planarity(scene) if chosen["planarity"] else None
    if as_json:
        _print_json(inspect_record(str(board), scene) | (planarity_record(*flat) if flat else {}))
    elif not quiet:
        click.echo(inspect_text(str(board), scene))
        if flat:
            click.echo("\n".join(planarity_lines(*flat)))
    return 0


def _planarity(scene: Scene) -> tuple[Planarity, list[Facing]]:
    from renet.planarity import facing, planarity

    return planarity(scene.board, scene.tangle), facing(scene.board, scene.tangle)


@renet.command()
@click.argument("board", type=FILE)
@freedom
@option("-o", "--out", type=FILE, help="Folder for the results [default: NAME-untangled].")
@search
@reporting
def untangle(board: Path, out: Path | None, as_json: bool, quiet: bool, **chosen: Any) -> int:
    """Find a better pinout for BOARD and write change list, board and netlist."""
    from renet.report.objective import objective_lines, objective_record
    from renet.report.records import untangle_record
    from renet.report.summary import untangle_text
    from renet.report.tables import wrapped
    from renet.results import write_results

    started = time.perf_counter()
    limits, options = limits_of(chosen["fail_above"]), options_of(chosen)
    inputs = inputs_of(board, chosen["netlist"], chosen["rules"])
    folder = out or Path(f"{board.stem}-untangled")
    sources = [p for p in (board, chosen["netlist"]) if p]
    files.refuse_inputs([folder / p.name for p in sources], sources)
    _warn_of_locks(sources)
    with Progress(quiet or as_json) as observer:
        job, compared = untangle_by(chosen["objective"], inputs, options, observer)
        planned = None
        if wants_plan(limits):
            planned = blocked_by_plan(inputs, job, options, observer)
    written = write_results(job, folder, board, chosen["netlist"], sources)
    seconds = time.perf_counter() - started
    asked = {} if planned is None else {BLOCKED: planned}
    if as_json:
        record = untangle_record(job, written, seconds, planned=compared is not None)
        _print_json(record | objective_record(compared) | asked)
    elif not quiet:
        plan = objective_lines(compared) if compared else []
        click.echo(untangle_text(str(board), job, plan))
        names = ", ".join(Path(path).name for path in written.values())
        click.echo("\n" + "\n".join(wrapped(f"written to {folder}: {names}")))
    broken = exceeded(limits, job.tangle.figures._asdict() | asked)
    for fault in broken:
        _say(f"{board}: {fault}")
    return NO if broken else 0


@renet.command()
@click.argument("paths", nargs=-1, required=True, type=FILE, metavar="SWAPS | BEFORE AFTER")
@_picked
@option("--format", "form", type=click.Choice(FORMATS), default="text", show_default=True)
@_copper
@reporting
def diff(paths: tuple[Path, ...], as_json: bool, quiet: bool, **chosen: Any) -> int:
    """Show the proposed swaps of a change list, or what moved between two files.

    Exit code 1 when there are differences.
    """
    from renet.report.differences import differs

    if len(paths) > 2:
        raise InputError("diff takes a change list, or two boards or netlists", "see --help")
    found = difference(paths, (chosen["only"], chosen["without"]), chosen["copper"])
    if as_json or not quiet:
        click.echo(printed(found, "json" if as_json else chosen["form"]))
    return NO if differs(found) else 0


@renet.command()
@click.argument("swaps", type=FILE)
@click.argument("file", type=FILE)
@option("-o", "--out", type=FILE, required=True, help="The file to write.")
@_picked
@option("--rules", type=FILE, help="Also ask whether these rules permit the moves.")
@option("--netlist", type=FILE, help="The netlist that the rules go by, where FILE is a board.")
@option("--carry-over", is_flag=True, help="Accept a newer FILE if all moved pins are as listed.")
@option("--hand-over", type=FILE, metavar="DIR", help="Also write pin maps and a change record.")
@option(
    "--schematic",
    type=FILE,
    multiple=True,
    metavar="FILE",
    help="Also exchange labels on this sheet, written beside OUT; may repeat.",
)
@reporting
def apply(swaps: Path, file: Path, out: Path, as_json: bool, quiet: bool, **chosen: Any) -> int:
    """Write the accepted SWAPS into FILE, a board or a netlist.

    With the change list of a set, FILE is the set file and OUT a folder.
    """
    from renet.pipeline import Named, Terms, apply_changes
    from renet.report.records import applied_record
    from renet.report.summary import applied_text

    if swaps.name.endswith(cli_set.SUFFIX):
        return _applied_set(cli_set.apply_set_list(swaps, file, out, chosen), as_json, quiet)
    changes = changes_of(swaps, chosen["only"], chosen["without"])
    _warn_of_locks([file, *chosen["schematic"]])
    rules, netlist = chosen["rules"], chosen["netlist"]
    terms = Terms(named(rules) if rules else None, named(netlist) if netlist else None)
    with blame(str(file)), Progress(quiet or as_json) as observer:
        done = apply_changes(
            changes,
            Named(file.name, files.read(file)),
            terms,
            chosen["carry_over"],
            observer,
        )
    result = files.Output(out, done)
    handed = handed_over(changes, file, result, terms, chosen["hand_over"])
    sheets = annotated(changes, chosen["schematic"], out.parent)
    files.write_all([result, *handed, *sheets.outputs], [swaps, file, *chosen["schematic"]])
    if as_json:
        _print_json(applied_record(changes, str(out)) | sheets.record())
    elif not quiet:
        click.echo("\n".join([applied_text(changes, str(out)), *sheets.lines()]))
    return 0


@renet.command()
@click.argument("paths", nargs=-1, type=FILE, metavar="[BEFORE] [AFTER]")
@option("--rules", type=FILE, help="AFTER must differ by exchanges that these rules permit.")
@option("--swaps", type=FILE, help="AFTER must differ by exactly these moves.")
@_picked
@option(
    "--netlist",
    type=FILE,
    help="With AFTER: the netlist that the rules go by. Without: one that came back from the "
    "edited schematic.",
)
@option("--copper", type=COPPER, default="keep", show_default=True, help="As it was for untangle.")
@reporting
def verify(paths: tuple[Path, ...], as_json: bool, quiet: bool, **chosen: Any) -> int:
    """Prove that AFTER is BEFORE with permitted exchanges only."""
    from renet.report.records import verdict_record
    from renet.report.summary import verdict_text

    with Progress(quiet or as_json) as observer:
        observer("checking")
        verdict = _verdict(paths, chosen)
    if as_json:
        _print_json(verdict_record(verdict))
    elif not quiet:
        click.echo(verdict_text(verdict))
    return 0 if verdict.ok else NO


@renet.command()
@click.argument("folder", type=FILE, default=Path("renet-demo"))
@reporting
@click.pass_context
def demo(context: click.Context, folder: Path, as_json: bool, quiet: bool) -> int:
    """Unpack the built-in example into FOLDER and run the main job on it."""
    from renet.example import example_files

    found = example_files()
    files.write_all([files.Output(folder / name, data) for name, data in found.items()])
    names = {Path(name).suffix: folder / name for name in found}
    if not (quiet or as_json):
        click.echo(f"unpacked {', '.join(found)} into {folder}\n")
    return int(
        context.invoke(
            untangle,
            board=names[".kicad_pcb"],
            netlist=names[".net"],
            rules=names[".toml"],
            copper="keep",
            out=folder / "untangled",
            seed=0,
            include=(),
            leave_out=(),
            fail_above=None,
            as_json=as_json,
            quiet=quiet,
        )
    )


def _applied_set(record: dict[str, Any], as_json: bool, quiet: bool) -> int:
    """Say what became of a board set."""
    if as_json:
        _print_json(record)
    elif not quiet:
        from renet.report.summary import caution_lines

        said = f"{record['moved_pins']} pins moved; written: {', '.join(record['files'])}"
        click.echo("\n".join([said, *caution_lines(moved=bool(record["moved_pins"]))]))
    return 0


def _verdict(paths: tuple[Path, ...], chosen: dict[str, Any]) -> Verdict:
    """The second opinion that was asked for."""
    from renet.pipeline import Terms, check, check_returned

    swaps, rules = chosen["swaps"], chosen["rules"]
    changes = changes_of(swaps, chosen["only"], chosen["without"]) if swaps else None
    netlist = named(chosen["netlist"]) if chosen["netlist"] is not None else None
    if len(paths) == 2 and (changes or rules or netlist):
        terms = Terms(named(rules) if rules else None, netlist)
        return check(named(paths[0]), named(paths[1]), terms, changes, chosen["copper"])
    if netlist is None:
        raise InputError(
            "verify needs BEFORE and AFTER, and --rules, --netlist or --swaps",
            "renet verify BEFORE AFTER --rules R",
        )
    if changes is None or len(paths) > 1:
        raise InputError(
            "--netlist takes the returned netlist, --swaps the list and one BEFORE file",
            "renet verify BEFORE --netlist NEW --swaps LIST",
        )
    before = paths[0] if paths else _source_beside(swaps, changes)
    return check_returned(named(before), netlist, changes)


def _source_beside(swaps: Path, changes: ChangeList) -> Path:
    """The file that the list was made for, where it lies beside the list or one folder up."""
    for source in changes.sources:
        for folder in (swaps.parent, swaps.parent.parent, Path()):
            found = folder / Path(source.file).name
            if found.is_file() and files.sha256(files.read(found)) == source.sha256:
                return found
    raise InputError(
        "the file that this list was made for is not beside it",
        "name it: renet verify BEFORE --netlist NEW --swaps LIST",
        file=str(swaps),
    )


def _print_json(record: dict[str, Any]) -> None:
    from renet.report.jsontext import json_pieces

    sys.stdout.writelines(json_pieces(record))
    sys.stdout.write("\n")


renet.add_command(channels)
renet.add_command(batch)
renet.add_command(rules)
renet.add_command(export)
