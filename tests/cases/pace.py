"""One-sided crossing instances as boards: two rows that face each other.

Every edge is a net of two pins.  A vertex is a stack of pins at one point; a
free vertex is one unit, padded with empty pins to the greatest degree, so that
edges which meet in a vertex do not cross.
"""

from __future__ import annotations

from itertools import count
from pathlib import Path

import numpy as np
from strategies.problems import MM, Sketch, group

from renet.engine.problem import Problem

GAP = 40


def read(path: Path) -> tuple[int, int, list[tuple[int, int]]]:
    """(fixed vertices, free vertices, edges), vertices numbered from 1 through both."""
    lines = [line.split() for line in path.read_text("utf-8").splitlines() if line.strip()]
    head = next(words for words in lines if words[:2] == ["p", "ocr"])
    edges = [(int(a), int(b)) for a, b in (w[:2] for w in lines if w[0] not in ("p", "c"))]
    return int(head[2]), int(head[3]), edges


Stack = tuple[int, list[int]]
"""Where a vertex stands along its row (nm), and the nets of its pins, -1 where one is open."""


def stacks(path: Path) -> tuple[list[Stack], list[Stack]]:
    """The vertices of the fixed row, a pin for every edge, and those of the free one."""
    fixed, free, edges = read(path)
    near: list[list[int]] = [[] for _ in range(fixed)]
    far: list[list[int]] = [[] for _ in range(free)]
    for net, (vertex, other) in enumerate(edges):
        near[vertex - 1].append(net)
        far[other - fixed - 1].append(net)
    width = max(map(len, far))
    padded = [[*nets, *[-1] * (width - len(nets))] for nets in far]
    return (
        [(MM * (place + 1), nets) for place, nets in enumerate(near)],
        [(MM * (place + 1) * fixed // free, nets) for place, nets in enumerate(padded)],
    )


def problem_of(path: Path) -> Problem:
    """The instance as the engine gets it."""
    sketch = Sketch()
    near, far = stacks(path)
    for x, nets in near:
        for net in nets:
            sketch.pin(x, 0, net, half=1000)
    sites = [tuple(sketch.pin(x, GAP * MM, net, half=1000) for net in nets) for x, nets in far]
    sketch.groups.append(group(sites, price=0))
    return sketch.problem()


def files_of(path: Path) -> tuple[bytes, bytes]:
    """The instance as a board and its rules: row A stands still, the stacks of row B are units.

    Pads carry no copper: pins of several nets at one point would be a short.
    """
    near, far = stacks(path)
    number = count(1)
    free = [",".join(f'"B:{np.base_repr(next(number), 36)}"' for _ in nets) for _, nets in far]
    tuples = "".join(f"[{pins}],\n" for pins in free)
    board = _BOARD % (_row("A", 0, near), _row("B", GAP, far))
    return board.encode(), f"[[unit]]\ntuples = [\n{tuples}]\n".encode()


_BOARD = """\
(kicad_pcb (version 20241229) (generator "rows_made_for_a_test")
  (general (thickness 1.6))
  (layers (0 "F.Cu" signal) (2 "B.Cu" signal))
%s%s)
"""


def _row(ref: str, y: int, row: list[Stack]) -> str:
    number = count(1)
    pads = "".join(
        f'    (pad "{np.base_repr(next(number), 36)}" smd rect (at {x / MM:.6f} 0)'
        f' (size 0.002 0.002) (layers "F.Mask"){_net(net)})\n'
        for x, nets in row
        for net in nets
    )
    return (
        f'  (footprint "row" (layer "F.Cu") (at 0 {y})\n    (property "Reference" "{ref}"'
        f' (at 0 0) (layer "F.SilkS"))\n{pads}  )\n'
    )


def _net(net: int) -> str:
    return f' (net "/E{net}")' if net >= 0 else ""


def optima(path: Path, track: str) -> dict[str, int]:
    """Instance -> published optimum, of one track."""
    rows = [line.split("\t") for line in path.read_text("utf-8").splitlines()[1:]]
    return {row[1]: int(row[5]) for row in rows if row[0] == track}
