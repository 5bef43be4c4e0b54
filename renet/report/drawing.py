"""The board itself as SVG elements: edge, copper in place, pads.

Layers are told apart by pattern first and hue second, so that a print in grey
still reads: front copper is solid, back copper dashed, inner copper dotted;
front pads are plain, back pads hatched, through pads ringed.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from renet.geometry import place, points
from renet.model import Board, Pad, Zone
from renet.report.paths import Frame, Points, arc, polyline, polylines, segments

BUDGET = 1_000_000
"""Characters that the copper of one picture may take; coarser steps are taken above it."""

STEPS = (1, 2, 5, 10, 20, 50)
HATCHES = (
    '<pattern id="hb" width="24" height="24" patternUnits="userSpaceOnUse">'
    '<path class="hg" d="M0 0h24v24h-24z"/><path class="hl" d="M0 24l24-24"/></pattern>'
)
_SIDES = ("front", "inner", "back")


def board_elements(board: Board, frame: Frame) -> str:
    """Edge, copper and pads, in drawing order."""
    pads = "".join(_pads(board, frame))
    return _edge(board, frame) + _copper(board, frame) + pads


def _edge(board: Board, frame: Frame) -> str:
    lines = polylines(frame.at(piece) for piece in board.edge)
    return f'<path class="edge" d="{lines}"/>' if lines else ""


def _copper(board: Board, frame: Frame) -> str:
    """Copper at the finest step that the budget allows; areas are given up first."""
    text = ""
    for step in STEPS:
        text = _areas(board, frame, max(step, 5)) + _tracks(board, frame, step)
        if len(text) <= BUDGET:
            return text
    return _tracks(board, frame, STEPS[-1])


def _side(board: Board, layer: int) -> str:
    last = len(board.layers) - 1
    return "front" if layer <= 0 else "back" if layer == last else "inner"


def _areas(board: Board, frame: Frame, step: int) -> str:
    """Filled areas of the two outer layers; planes inside would hide everything else."""
    found: dict[str, list[str]] = {"front": [], "back": []}
    for zone in board.zones:
        for side, outline in _outer_fills(board, zone):
            found[side].append(polyline(frame.at(outline, step), closed=True))
    return "".join(
        f'<path class="area {side}" d="{"".join(parts)}"/>'
        for side, parts in found.items()
        if parts
    )


def _outer_fills(board: Board, zone: Zone) -> Iterator[tuple[str, Points]]:
    for fill in zone.fills:
        side = _side(board, fill.layer)
        if side != "inner":
            outline = points(fill.text).tolist()
            if outline:
                yield side, [(x, y) for x, y in outline]


def _tracks(board: Board, frame: Frame, step: int) -> str:
    """Tracks by side and width, then vias by size."""
    tracks, parts = board.tracks, []
    ends = frame.array(tracks.ends.reshape(-1, 2, 2), step).reshape(-1, 4)
    side = np.array([_SIDES.index(_side(board, layer)) for layer in tracks.layer.tolist()], int)
    for which, width in sorted({*zip(side.tolist(), tracks.width.tolist(), strict=True)}):
        rows = np.flatnonzero((side == which) & (tracks.width == width))
        curved = tracks.curved[rows]
        text = segments(ends[rows[~curved]])
        text += "".join(_curve(board, frame, row, step) for row in rows[curved].tolist())
        if text:
            parts.append(_stroked(f"track {_SIDES[which]}", width, text))
    return "".join(parts) + _vias(board, frame, step)


def _curve(board: Board, frame: Frame, row: int, step: int) -> str:
    x0, y0, x1, y1 = board.tracks.ends[row].tolist()
    u, v = board.tracks.mid[row].tolist()
    return arc(((x0, y0), (u, v), (x1, y1)), frame, step)


def _vias(board: Board, frame: Frame, step: int) -> str:
    vias, parts = board.vias, []
    at = frame.array(vias.at, step)
    for size in np.unique(vias.size).tolist():
        spots = at[vias.size == size].tolist()
        parts.append(_stroked("via", size, polylines([[(x, y)] for x, y in spots])))
    return "".join(parts)


def _stroked(kind: str, width: int, text: str) -> str:
    return f'<path class="{kind}" stroke-width="{max(1, round(width / 1e4))}" d="{text}"/>'


def _pads(board: Board, frame: Frame) -> Iterator[str]:
    """Pads by side and size, back first so that the front lies on top."""
    groups: dict[tuple[int, bool, int], list[str]] = {}
    for pad in board.pads:
        rank = _rank(board, pad)
        for core in pad.shape.cores:
            spots = frame.at(place(core.points, pad.x, pad.y, pad.angle))
            filled = len(spots) > 2
            text = polyline(spots, closed=filled)
            groups.setdefault((rank, filled, core.radius), []).append(text)
    for (rank, filled, radius), parts in sorted(groups.items()):
        kind = ("pad back", "pad front", "pad through")[rank]
        yield _stroked(kind + (" filled" if filled else ""), 2 * radius, "".join(parts))


def _rank(board: Board, pad: Pad) -> int:
    if pad.through:
        return 2
    return 1 if pad.layers & 1 else 0
