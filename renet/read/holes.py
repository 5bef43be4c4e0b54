"""How wide the holes of pads are: asked only where a list for a tester is made."""

from __future__ import annotations

import re

from renet.geometry import nm
from renet.model import Board
from renet.read.ipc356 import RecordSpans
from renet.read.ipc356_lines import lines_of
from renet.read.spans import BoardSpans

_DRILL = re.compile(rb"\(drill\s+(?:oval\s+)?(\d+(?:\.\d+)?)")


def hole_sizes(data: bytes, spans: BoardSpans | RecordSpans, board: Board) -> tuple[int, ...]:
    """The drill of each pad in nanometres, 0 for pads without a hole; an oval's first axis."""
    if isinstance(spans, RecordSpans):
        return _of_records(data, spans)
    found = []
    for pad, (start, end) in zip(board.pads, spans.pads.node.tolist(), strict=True):
        drill = _DRILL.search(data, start, end) if pad.through else None
        found.append(nm(float(drill[1])) if drill else 0)
    return tuple(found)


def _of_records(data: bytes, spans: RecordSpans) -> tuple[int, ...]:
    lines = lines_of(data)
    sizes = {record.start: record.hole * lines.units.step for record in lines.records}
    return tuple(sizes.get(start, 0) for start in spans.starts)
