"""One-sided crossing instances as engine problems: two rows that face each other.

Every edge is a net of two pins.  A vertex is a stack of pins at one point; a
free vertex is one unit, padded with empty pins to the greatest degree, so that
edges which meet in a vertex do not cross.
"""

from __future__ import annotations

from pathlib import Path

from strategies.problems import MM, Sketch, group

from renet.engine.problem import Problem

GAP = 40


def read(path: Path) -> tuple[int, int, list[tuple[int, int]]]:
    """(fixed vertices, free vertices, edges), vertices numbered from 1 through both."""
    lines = [line.split() for line in path.read_text("utf-8").splitlines() if line.strip()]
    head = next(words for words in lines if words[:2] == ["p", "ocr"])
    edges = [(int(a), int(b)) for a, b in (w[:2] for w in lines if w[0] not in ("p", "c"))]
    return int(head[2]), int(head[3]), edges


def problem_of(path: Path) -> Problem:
    fixed, free, edges = read(path)
    sketch = Sketch()
    nets_at: dict[int, list[int]] = {fixed + i + 1: [] for i in range(free)}
    for net, (vertex, other) in enumerate(edges):
        sketch.pin(vertex * MM, 0, net, half=1000)
        nets_at[other].append(net)
    width = max(map(len, nets_at.values()))
    sites = []
    for place, nets in enumerate(nets_at.values()):
        padded = [*nets, *[-1] * (width - len(nets))]
        x = (place + 1) * MM * fixed // free
        sites.append(tuple(sketch.pin(x, GAP * MM, net, half=1000) for net in padded))
    sketch.groups.append(group(sites, price=0))
    return sketch.problem()


def optima(path: Path, track: str) -> dict[str, int]:
    """Instance -> published optimum, of one track."""
    rows = [line.split("\t") for line in path.read_text("utf-8").splitlines()[1:]]
    return {row[1]: int(row[5]) for row in rows if row[0] == track}
