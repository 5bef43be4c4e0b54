"""The change list as text: an S-expression with one line per moved pin.

Written so that it diffs and reviews like code.  ``read/swaps.py`` reads it back.
"""

from __future__ import annotations

from sexpdata import Symbol, dumps

from renet.changes import ChangeList, Figures, Move, Swap

VERSION = 1


def swaps_text(changes: ChangeList) -> str:
    """The change list as a document; every line ends in a line feed."""
    lines = [f"(renet_swaps (version {VERSION})"]
    for source in changes.sources:
        fields = _fields(kind=Symbol(source.kind), file=source.file, sha256=source.sha256)
        lines.append(f"  (source {fields})")
    lines.append(f"  (copper {changes.copper})")
    if changes.tied:
        lines.append(f"  {_fields(tied=changes.tied)}")
    for left in changes.left:
        fields = _fields(net=left.net, tracks=left.tracks, vias=left.vias, fills=left.fills)
        lines.append(f"  (left {fields})")
    for swap in changes.swaps:
        lines += _swap_lines(swap)
    return "\n".join(lines) + ")\n"


def _swap_lines(swap: Swap) -> list[str]:
    lines = [f"  (swap {swap.id}"]
    if swap.alone is not None:
        lines.append(f"    (alone {_figures(swap.alone)})")
    if swap.lost_without is not None:
        lines.append(f"    (lost_without {_figures(swap.lost_without)})")
    lines += [f"    {_move(move)}" for move in swap.moves]
    lines[-1] += ")"
    return lines


def _figures(figures: Figures) -> str:
    return _fields(**figures._asdict())


def _move(move: Move) -> str:
    fields: dict[str, object] = {"part": move.part, "pin": move.pin, "name": move.name}
    if move.was is not None:
        fields["was"] = move.was
    if move.is_ is not None:
        fields["is"] = move.is_
    return f"(move {_fields(**fields)})"


def _fields(**fields: object) -> str:
    return " ".join(str(dumps([Symbol(key), value])) for key, value in fields.items())
