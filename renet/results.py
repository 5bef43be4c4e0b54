"""The files that a finished run leaves behind, by kind."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from renet import files
from renet.pipeline import Job
from renet.report.pictures import documents
from renet.report.swaps import swaps_text
from renet.report.tables import moves_csv


def outputs_of(job: Job, folder: Path, board: str, netlist: str | None) -> dict[str, files.Output]:
    """Everything a run leaves in ``folder``, the change list last; kind -> output.

    ``board`` and ``netlist`` are names of files, without a folder.
    """
    stem = Path(board).stem
    outputs = {"board": files.Output(folder / board, job.board.data)}
    if netlist is not None and job.netlist is not None:
        outputs["netlist"] = files.Output(folder / netlist, job.netlist)
    table = moves_csv(job.changes).encode("utf-8")
    outputs["csv"] = files.Output(folder / f"{stem}.csv", table)
    for kind, document in documents(job, board).items():
        outputs[kind] = files.Output(folder / f"{stem}{document.suffix}", document.data)
    text = swaps_text(job.changes).encode("utf-8")
    outputs["swaps"] = files.Output(folder / f"{stem}.swaps", text)
    return outputs


def write_results(
    job: Job, folder: Path, board: Path, netlist: Path | None, inputs: Sequence[Path]
) -> dict[str, str]:
    """Write what :func:`outputs_of` says, all or nothing; kind -> path."""
    outputs = outputs_of(job, folder, board.name, netlist.name if netlist else None)
    files.write_all(list(outputs.values()), inputs)
    return {kind: str(output.path) for kind, output in outputs.items()}
