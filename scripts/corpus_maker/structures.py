"""Small boards for the drafting of rules: one for every kind of structure.

The cases are written by hand, ``corpus/drafts/structures/NAME.toml``: the parts
with their pins, and the groups that a draft must find.  Here each becomes a board
file beside it.  A part has ``ref``, ``value``, ``shape``, ``outline`` and ``pins``
of [number, name, type, net].  Shapes: "row"; "dual", whose numbers run down one
side and up the other; "header", the same with holes, the rows one pitch of 2.54 mm
apart; "edge", the same in one place on the two sides of the board.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

from corpus_maker.board_writer import board_text
from corpus_maker.design import Design, Kind, Outline, PadDef, Part, PinDef, mm
from corpus_maker.versions import NEWEST, SUFFIX

FOLDER = "drafts/structures"
SOURCES = Path(__file__).resolve().parents[2] / "corpus" / FOLDER
COLUMN = 20  # mm from part to part


def structure_files() -> dict[str, bytes]:
    """The board of every case by its path under corpus/."""
    found = {}
    for path in sorted(SOURCES.glob("*.toml")):
        case = tomllib.loads(path.read_text("utf-8"))
        found[f"{FOLDER}/{path.stem}{SUFFIX}"] = board_text(
            design_of(path.stem, case), NEWEST
        ).encode()
    return found


def design_of(name: str, case: dict[str, Any]) -> Design:
    """The parts of a case side by side, without copper."""
    parts = case["part"]
    high = max(len(part["pins"]) for part in parts) * 3 + 10
    size = (mm(COLUMN * len(parts) + 20), mm(high))
    design = Design(name, name, size, (mm(20), mm(20)), 2)
    for column, part in enumerate(parts):
        design.parts.append(
            Part(part["ref"], _kind(part), part.get("value", ""), mm(COLUMN * column + 10), mm(5))
        )
        for number, _, _, net in part["pins"]:
            if net:
                design.nets[part["ref"], number] = net
    return design


def _kind(part: dict[str, Any]) -> Kind:
    name = part.get("outline") or "PLAIN"
    shape = part.get("shape", "row")
    pads = [_pad(shape, row[0], i, len(part["pins"])) for i, row in enumerate(part["pins"])]
    half = (mm(2), mm(len(pads)))
    outline = Outline(name, "a part of a case", "case", tuple(pads), half)
    pins = tuple(PinDef(number, pin, kind) for number, pin, kind, _ in part["pins"])
    return Kind(name, "", "a part of a case", outline, pins)


def _pad(shape: str, number: str, index: int, count: int) -> PadDef:
    half = (count + 1) // 2
    first = shape == "row" or index < half
    y = index if first else count - 1 - index
    if shape == "header":
        size, drill = mm(1.7), mm(1)
        return PadDef(
            number, "thru_hole", "circle", 0 if first else mm(2.54), mm(2.54 * y), size, size, drill
        )
    x = 0 if first or shape == "edge" else mm(3)
    back = shape == "edge" and not first
    return PadDef(
        number,
        "connect" if shape == "edge" else "smd",
        "rect",
        x,
        mm(y),
        mm(0.5),
        mm(0.5),
        back=back,
    )
