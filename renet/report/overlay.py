"""What is drawn over the board: open connections, what counts against them, moved pins."""

from __future__ import annotations

from collections.abc import Collection
from html import escape

import numpy as np

from renet.changes import Move
from renet.model import IntArray
from renet.report.paths import Frame, dots, segments
from renet.report.tables import net_shown, shown
from renet.report.view import View, moved_pins
from renet.tangle import Tangle

RING = 70


def overlay_elements(view: View, tangle: Tangle, frame: Frame, touched: Collection[int]) -> str:
    """Connections, marks and moved pins of one state of the board."""
    found = tangle.connections
    ends = frame.array(found.ends.reshape(-1, 2, 2)).reshape(-1, 4)
    mine = np.isin(found.net, list(touched))
    return (
        _path("link", segments(ends[~mine]))
        + _path("link own", segments(ends[mine]))
        + _path("shared", segments(frame.array(_shared(tangle)).reshape(-1, 4)))
        + _path("over", dots(frame.array(_over_pads(view, tangle))))
        + _path("cross", dots(frame.array(_crossings(tangle))))
        + moved_elements(view, frame)
    )


def _path(kind: str, text: str) -> str:
    return f'<path class="{kind}" d="{text}"/>' if text else ""


def _crossings(tangle: Tangle) -> IntArray:
    """Where connections cross, (k, 2), to the nearest nanometre or so: for the eye only."""
    ends = tangle.connections.ends.astype(np.float64)
    a, b = ends[tangle.crossings[:, 0]], ends[tangle.crossings[:, 1]]
    u, v, w = a[:, 2:] - a[:, :2], b[:, 2:] - b[:, :2], b[:, :2] - a[:, :2]
    share = (w[:, 0] * v[:, 1] - w[:, 1] * v[:, 0]) / (u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0])
    return np.rint(a[:, :2] + u * share[:, None]).astype(np.int64)


def _shared(tangle: Tangle) -> IntArray:
    """The stretch that two overlapping connections share, (k, 2, 2)."""
    ends = tangle.connections.ends.reshape(-1, 2, 2)
    pairs = ends[tangle.overlaps]
    points = np.sort(_as_keys(pairs.reshape(-1, 4, 2)), axis=1)
    middle = points[:, 1:3]
    return np.stack([middle["x"], middle["y"]], axis=-1).reshape(-1, 2, 2)


def _as_keys(points: IntArray) -> np.ndarray[tuple[int, ...], np.dtype[np.void]]:
    """Points as records that sort along any line: by x, then by y."""
    keyed = np.empty(points.shape[:-1], dtype=[("x", np.int64), ("y", np.int64)])
    keyed["x"], keyed["y"] = points[..., 0], points[..., 1]
    return keyed


def _over_pads(view: View, tangle: Tangle) -> IntArray:
    """The first pad of each pin that a connection runs over, (k, 2)."""
    pads = [view.board.pins[pin].pads[0] for pin in tangle.over_pads[:, 1].tolist()]
    return np.stack([view.cols.x[pads], view.cols.y[pads]], axis=1).reshape(-1, 2)


def moved_elements(view: View, frame: Frame) -> str:
    """A ring round every moved pin, with its words for those who point at it or listen."""
    moves = {(m.part, m.pin): (swap.id, m) for swap in view.changes.swaps for m in swap.moves}
    parts = []
    for pin in moved_pins(view):
        number, move = moves[view.board.pin_key(pin)]
        pad = view.board.pads[view.board.pins[pin].pads[0]]
        x, y = frame.at([(pad.x, pad.y)])[0]
        label = escape(move_words(number, move))
        parts.append(
            f'<circle class="moved" cx="{x}" cy="{y}" r="{RING}"><title>{label}</title></circle>'
        )
    return "".join(parts)


def move_words(number: int, move: Move) -> str:
    """One move in words."""
    pin = f"{move.part}:{move.pin}" + (f" {move.name}" if move.name else "")
    return f"swap {number}, {shown(pin)}: {net_shown(move.was)} becomes {net_shown(move.is_)}"
