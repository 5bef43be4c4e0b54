"""Structure cases: a few parts and what a draft must find in them, corpus/drafts/structures.

What a part has is said in scripts/corpus_maker/structures.py, which writes the
board file beside each case; here the same board is made in memory, so that tests
can change it.  ``[[expect]]`` are the entries of the draft, all of them and in any
order, ``rows`` what each lists; ``[kept]`` gives the kind of reason of some kept
pins; ``functions`` are rows of a CSV: part, pin, function, mapping.
"""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

from conftest import CORPUS
from strategies.rules import Spec, pinned_board

from renet.draft import Draft, Entry, draft_rules, gather
from renet.model import Board, Pad
from renet.read.board import read_board
from renet.read.functions import read_functions

FOLDER = CORPUS / "drafts" / "structures"


def cases() -> list[Path]:
    return sorted(FOLDER.glob("*.toml"))


def read(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text("utf-8"))


def board_of(case: dict[str, Any]) -> Board:
    """The board of a case, its nets in order of appearance."""
    parts, values, nets = {}, {}, {}
    for part in case["part"]:
        count = len(part["pins"])
        specs = []
        for index, (number, name, kind, net) in enumerate(part["pins"]):
            nets.setdefault(net)
            specs.append(
                Spec(number, name, kind, net, spot(part.get("shape", "row"), index, count))
            )
        parts[part["ref"]], values[part["ref"]] = specs, part.get("value", "")
    nets.pop("", None)
    board = pinned_board(parts, tuple(nets), values)
    outlines = [part.get("outline", "") for part in case["part"]]
    both = zip(board.parts, outlines, strict=True)
    parts_with = tuple(part._replace(footprint=name) for part, name in both)
    holes = [part.get("shape") == "header" for part in case["part"]]
    pads = tuple(_in_holes(pad) if holes[pad.part] else pad for pad in board.pads)
    edges = [part.get("shape") == "edge" for part in case["part"]]
    pads = tuple(_on_edge(board, pad) if edges[pad.part] else pad for pad in pads)
    return replace(board, parts=parts_with, pads=pads)


def _in_holes(pad: Pad) -> Pad:
    """A pad of a header: one millimetre of the board becomes one pitch."""
    return pad._replace(x=pad.x * 254 // 100, y=pad.y * 254 // 100, through=True)


def _on_edge(board: Board, pad: Pad) -> Pad:
    """A pad of an edge: the second row goes to the back, under the first."""
    x = board.parts[pad.part].x
    return pad if pad.x == x else pad._replace(x=x, layers=1 << (len(board.layers) - 1))


def spot(shape: str, index: int, count: int) -> tuple[int, int]:
    half = (count + 1) // 2
    if shape != "row":
        return (0, index) if index < half else (3 if shape == "dual" else 1, count - 1 - index)
    return (0, index)


def draft_of(case: dict[str, Any]) -> Draft:
    """The draft of a case, its board made here."""
    return draft_on(board_of(case), case)


def draft_of_file(path: Path) -> Draft:
    """The draft of the board file that lies beside a case in the corpus."""
    board, _ = read_board(path.with_suffix(".kicad_pcb").read_bytes())
    return draft_on(board, read(path))


def draft_on(board: Board, case: dict[str, Any]) -> Draft:
    rows = ["part,pin,function,mapping", *map(",".join, case.get("functions", []))]
    tables = read_functions("\n".join(rows).encode(), "functions.csv")
    return draft_rules(gather(board, tables=tables))


def shown(entry: Entry) -> tuple[str, bool, tuple[str, ...]]:
    """An entry as cases write it: section, whether asked, and its rows."""
    fields = dict(entry.fields)
    rows = next(fields[key] for key in ("tuples", "pins", "nets") if key in fields)
    words = []
    for row in rows:  # type: ignore[attr-defined]
        value = getattr(row, "value", row)
        mark = "? " if getattr(row, "asked", False) else ""
        words.append(mark + (" ".join(value) if isinstance(value, list) else str(value)))
    return entry.section, entry.asked, tuple(words)
