"""How many cases were tried, how far they went, and what came of them."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Sequence

from .targets import Depth

OUTCOMES = ("done", "refused", "gate", "traceback", "hang", "memory", "unclear")


class Figures:
    """Counts by kind of file, depth and outcome; the time all cases took, and the slowest."""

    def __init__(self) -> None:
        self.counts: Counter[tuple[str, int, str]] = Counter()
        self.seconds = self.slowest = 0.0

    @property
    def cases(self) -> int:
        """How many were tried."""
        return self.counts.total()

    def add(self, kind: str, depth: Depth, outcome: str, seconds: float) -> None:
        """One case more."""
        self.counts[kind, int(depth), outcome] += 1
        self.seconds += seconds
        self.slowest = max(self.slowest, seconds)

    def join(self, other: Figures) -> None:
        """Those of another batch besides."""
        self.counts += other.counts
        self.seconds += other.seconds
        self.slowest = max(self.slowest, other.slowest)

    def as_json(self) -> str:
        """For a later run to go on from."""
        counts = [[*key, number] for key, number in sorted(self.counts.items())]
        return json.dumps({"counts": counts, "seconds": self.seconds, "slowest": self.slowest})

    @classmethod
    def from_json(cls, text: str) -> Figures:
        """What :meth:`as_json` wrote."""
        record = json.loads(text)
        found = cls()
        found.counts.update({(k, d, o): number for k, d, o, number in record["counts"]})
        found.seconds, found.slowest = record["seconds"], record["slowest"]
        return found


def figures_table(figures: Figures) -> str:
    """A Markdown table: a row per kind of file, and one of all."""
    depths = [depth.name.lower() for depth in Depth]
    head = ["file", "cases", *depths, *OUTCOMES]
    kinds = sorted({kind for kind, _, _ in figures.counts})
    rows = [_row(figures, kind, [kind]) for kind in kinds] + [_row(figures, "all", kinds)]
    return table(head, rows)


def table(head: Sequence[object], rows: Iterable[Sequence[object]]) -> str:
    """A Markdown table."""
    return "\n".join(_line(row) for row in (head, ["---"] * len(head), *rows))


def _row(figures: Figures, name: str, kinds: list[str]) -> list[object]:
    mine = {key: number for key, number in figures.counts.items() if key[0] in kinds}
    depths = [sum(n for (_, d, _), n in mine.items() if d == depth) for depth in Depth]
    ends = [sum(n for (_, _, o), n in mine.items() if o == outcome) for outcome in OUTCOMES]
    return [name, sum(mine.values()), *depths, *ends]


def _line(cells: Iterable[object]) -> str:
    return f"| {' | '.join(map(str, cells))} |"
