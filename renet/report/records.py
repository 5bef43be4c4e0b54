"""What a program reads: plain dictionaries, ready for JSON.

Keys carry their unit (``_mm``); nets are names, None for no net; lists are in
the order of the board.  A key is never taken away within a schema number.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from renet.changes import ChangeList, Figures, Swap
from renet.model import Board
from renet.pipeline import Job, Scene
from renet.report.cautions import cautions
from renet.report.frontier import frontier_record
from renet.report.remaining import remaining_records
from renet.tangle import Connections
from renet.verify import Verdict

if TYPE_CHECKING:  # networkx is loaded only where it is asked for
    from renet.planarity import Facing, Planarity

Record = dict[str, Any]


def inspect_record(name: str, scene: Scene) -> Record:
    """``renet inspect --json``."""
    board = scene.board
    return {
        "schema": "renet/inspect/1",
        "board": name,
        "version": board.version,
        "copper_known": scene.file.knows_copper,
        "parts": len(board.parts),
        "pins": len(board.pins),
        "nets": len(board.nets),
        "layers": [layer.name for layer in board.layers],
        "connections": connection_records(board, scene.tangle.connections),
        **scene.tangle.figures._asdict(),
        "left_out": [{"net": board.nets[net], "why": why} for net, why in scene.left_out.items()],
        "disagreements": [
            {**pin_record(board, pin), "why": why} for pin, why in scene.disagree.items()
        ],
        "called_in_netlist": scene.met.agreement.called,
        "only_in_netlist": list(scene.met.agreement.absent),
        "free_pins": scene.free_pins,
        "kept": kept_records(scene),
        "findings": [{"line": f.line, "text": f.text} for f in scene.freedom.findings],
    }


def planarity_record(flat: Planarity, pairs: Sequence[Facing]) -> Record:
    """What ``renet inspect --planarity --json`` adds."""
    facing = [pair._asdict() for pair in pairs]
    return {"planarity": {**flat._asdict(), "conflict": list(flat.conflict), "facing": facing}}


def untangle_record(
    job: Job, files: dict[str, str], seconds: float, planned: bool = False
) -> Record:
    """``renet untangle --json``; ``planned``: the channel plan decided.

    ``remaining`` is an iterator, for :func:`renet.report.jsontext.json_pieces`.
    """
    scene, result = job.scene, job.result
    return {
        "schema": "renet/untangle/1",
        "before": scene.tangle.figures._asdict(),
        "after": job.tangle.figures._asdict(),
        "bound": {
            "crossings": result.bound.crossings,
            "proved_optimal": result.proved_optimal,
            "why": result.bound.why,
        },
        "moved_pins": len(job.changes.moves),
        "free_pins": scene.free_pins,
        "swaps": [swap_record(swap) for swap in job.changes.swaps],
        "kept": kept_records(scene),
        "remaining": remaining_records(job),
        **frontier_record(job.frontier),
        "left_out": [
            {"net": scene.board.nets[net], "why": why} for net, why in scene.left_out.items()
        ],
        "cautions": list(cautions(moved=bool(job.changes.swaps), planned=planned)),
        "copper": job.changes.copper,
        "copper_left": [left._asdict() for left in job.changes.left],
        "files": files,
        "seconds": round(seconds, 3),
    }


def connection_records(board: Board, found: Connections) -> list[Record]:
    """Every open connection with both its ends."""
    return [
        {"net": board.nets[net], "a": _end(board, a), "b": _end(board, b)}
        for net, a, b in zip(found.net.tolist(), found.a.tolist(), found.b.tolist(), strict=True)
    ]


def swap_record(swap: Swap) -> Record:
    """One swap with its moves and its worth."""
    return {
        "id": swap.id,
        "moves": [
            {"part": m.part, "pin": m.pin, "name": m.name, "was": m.was, "is": m.is_}
            for m in swap.moves
        ],
        "alone": _figures(swap.alone),
        "lost_without": _figures(swap.lost_without),
    }


def kept_records(scene: Scene) -> list[Record]:
    """Pins that the rules name but that stay, each with why."""
    return [{**pin_record(scene.board, pin), "why": why} for pin, why in scene.freedom.kept]


def pin_record(board: Board, pin: int) -> Record:
    """A pin by name."""
    entry = board.pins[pin]
    return {"part": board.parts[entry.part].ref, "pin": entry.number}


def _figures(figures: Figures | None) -> Record | None:
    return None if figures is None else figures._asdict()


def _end(board: Board, pad: int) -> Record:
    entry = board.pads[pad]
    return {**pin_record(board, entry.pin), "x_mm": entry.x / 1e6, "y_mm": entry.y / 1e6}


def applied_record(changes: ChangeList, out: str) -> Record:
    """``renet apply --json``."""
    return {
        "schema": "renet/apply/1",
        "file": out,
        "moved_pins": len(changes.moves),
        "cautions": list(cautions(moved=bool(changes.moves), planned=False)),
    }


def changes_record(changes: ChangeList) -> Record:
    """``renet diff --json``."""
    return {
        "schema": "renet/diff/1",
        "sources": [source._asdict() for source in changes.sources],
        "copper": changes.copper,
        "moved_pins": len(changes.moves),
        "swaps": [swap_record(swap) for swap in changes.swaps],
        "copper_left": [left._asdict() for left in changes.left],
    }


def verdict_record(verdict: Verdict) -> Record:
    """``renet verify --json``."""
    return {
        "schema": "renet/verify/1",
        "ok": verdict.ok,
        "findings": [
            {
                "check": f.check,
                "rule": f.rule,
                "where": f.where,
                "what": f.what,
                "place": str(f.place) if f.place else None,
            }
            for f in verdict.findings
        ],
        "moved": [
            {"part": m.part, "pin": m.pin, "name": m.name, "was": m.was, "is": m.is_}
            for m in verdict.moved
        ],
        "checked": asdict(verdict.counts),
    }
