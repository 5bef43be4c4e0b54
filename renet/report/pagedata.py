"""What the review page reckons with, as JSON that may stand inside a script element."""

from __future__ import annotations

import json
from pathlib import PurePath
from typing import Any

import numpy as np

from renet.changes import ChangeList
from renet.model import NONE
from renet.report.paths import Frame
from renet.report.swaps import swaps_text
from renet.report.tables import shown
from renet.report.view import View

_FOR_SCRIPT = {ord("<"): "\\u003c", ord(">"): "\\u003e", ord("&"): "\\u0026"}


def data_text(view: View, frame: Frame) -> str:
    """Pads in the order of ends, pins, nets, swaps, and the figures to arrive at.

    Names are as people see them; the lists to save carry the true ones.
    Coordinates are nanometres from the picture's corner.  A pin is [part, number,
    name, net]; a move is [pin, net]; -1 is no net.
    """
    board, after = view.board, view.after or view.before
    name = PurePath(view.name)
    record = {
        "frame": [frame.width, frame.height],
        "size": [frame.width * 10_000, frame.height * 10_000],
        "nets": [shown(net) for net in board.nets],
        "leftOut": sorted(view.left_out),
        "parts": [shown(part.ref) for part in board.parts],
        "pins": [[p.part, shown(p.number), shown(p.name), p.net] for p in board.pins],
        "pads": _pads(view, frame),
        "swaps": _swaps(view),
        "head": _head(view.changes),
        "listName": f"{name.stem}-selected.swaps",
        "command": f"renet apply {_word(name.stem + '.swaps')} {_word(name.name)} "
        f"-o {_word(name.stem + '-accepted' + name.suffix)}",
        "expect": {
            "before": view.before.figures._asdict(),
            "after": after.figures._asdict(),
        },
    }
    return json.dumps(record, ensure_ascii=True, separators=(",", ":")).translate(_FOR_SCRIPT)


def _pads(view: View, frame: Frame) -> dict[str, list[int]]:
    """Columns of all pads that belong to a pin; flags: 1 a node, 2 through, 4 front, 8 back."""
    cols = view.cols
    order = np.argsort(cols.rank)
    order = order[cols.pin[order] != NONE]
    corner = np.array(frame.origin)
    flags = cols.node[order] + 2 * cols.through[order] + 4 * cols.sides[order]
    columns = {
        "x": cols.x[order] - corner[0],
        "y": cols.y[order] - corner[1],
        "pin": cols.pin[order],
        "label": view.labels[order],
        "flags": flags,
        "corners": (cols.corners[order] - corner).reshape(-1),
    }
    return {name: column.tolist() for name, column in columns.items()}


def _swaps(view: View) -> list[dict[str, Any]]:
    pins = {view.board.pin_key(pin): pin for pin in range(len(view.board.pins))}
    nets = {net: index for index, net in enumerate(view.board.nets)}
    head = len(_head(view.changes))
    return [
        {
            "id": swap.id,
            "moves": [
                [pins[m.part, m.pin], NONE if m.is_ is None else nets[m.is_]] for m in swap.moves
            ],
            "text": swaps_text(view.changes.only(frozenset({swap.id})))[head:-2],
        }
        for swap in view.changes.swaps
    ]


def _head(changes: ChangeList) -> str:
    """The change list up to its first swap."""
    return swaps_text(changes.only(frozenset()))[:-2]


def _word(text: str) -> str:
    """A word of a command line; quoted where a shell would take it apart."""
    if text and all(c.isalnum() or c in "._-/" for c in text) and not text.startswith("-"):
        return text
    return "'" + text.replace("'", "'\\''") + "'"
