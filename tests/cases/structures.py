"""Structure cases: a few parts and what a draft must find in them, one TOML file each.

A part has ``ref``, ``value``, ``shape`` ("row", or "dual": numbers run down one
side and up the other) and ``pins`` of [number, name, type, net].  ``[[expect]]`` are
the entries of the draft, all of them and in any order, ``rows`` what each lists;
``[kept]`` gives the kind of reason of some kept pins.
"""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

from conftest import ROOT
from strategies.rules import Spec, pinned_board

from renet.draft import Draft, Entry, draft_rules, gather
from renet.model import Board

FOLDER = ROOT / "tests" / "draft" / "structures"


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
    return replace(board, parts=tuple(part._replace(footprint=name) for part, name in both))


def spot(shape: str, index: int, count: int) -> tuple[int, int]:
    half = (count + 1) // 2
    if shape == "dual":
        return (0, index) if index < half else (3, count - 1 - index)
    return (0, index)


def draft_of(case: dict[str, Any]) -> Draft:
    return draft_rules(gather(board_of(case)))


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
