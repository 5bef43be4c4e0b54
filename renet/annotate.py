"""Moves carried back into schematic sheets, by byte edits: labels trade places.

A pin can be done when nothing but one label stands at the end of its wire, or
nothing at all where it is open; a swap is done whole or not at all.  What was
written is read again, and every pin of every sheet must stand on the label
that was meant.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from renet.changes import ChangeList, Move, Swap
from renet.errors import GateError
from renet.read.schematic import Label, Sheet, SheetPin, read_sheet
from renet.splice import Edit, splice
from renet.wiring import Stub, stubs

Key = tuple[str, str]


class Undone(NamedTuple):
    """A pin that could not be done on the sheets, and why."""

    swap: int
    part: str
    pin: str
    why: str


class Annotated(NamedTuple):
    """New bytes of every sheet (as given where nothing changed), swaps done, pins left."""

    sheets: tuple[bytes, ...]
    done: tuple[int, ...]
    undone: tuple[Undone, ...]


class _Spot(NamedTuple):
    """A pin on its sheet with all that hangs on it."""

    sheet: int
    pin: SheetPin
    stub: Stub

    @property
    def label(self) -> Label:
        return self.stub.labels[0]


def annotate(sheets: Sequence[bytes], changes: ChangeList) -> Annotated:
    """Carry every swap into the sheets that can be carried whole."""
    read = [read_sheet(data) for data in sheets]
    spots = _spots(read)
    edits: list[list[Edit]] = [[] for _ in read]
    done, undone = [], []
    meant = {key: _labels(found) for key, found in spots.items()}
    for swap in changes.swaps:
        faults = _faults(swap, spots)
        if faults:
            undone += faults
            continue
        done.append(swap.id)
        texts = {m.was: spots[m.part, m.pin][0].label.text for m in swap.moves if m.was is not None}
        for move in swap.moves:
            meant[move.part, move.pin] = [texts[move.is_]] if move.is_ is not None else []
        for sheet, edit in _edits(swap, spots, read):
            edits[sheet].append(edit)
    written = [splice(data, sorted(own)) for data, own in zip(sheets, edits, strict=True)]
    _insist(written, meant)
    return Annotated(tuple(written), tuple(done), tuple(undone))


def _spots(read: Sequence[Sheet]) -> dict[Key, list[_Spot]]:
    found: dict[Key, list[_Spot]] = {}
    for number, sheet in enumerate(read):
        for pin, stub in zip(sheet.pins, stubs(sheet), strict=True):
            found.setdefault((pin.ref, pin.number), []).append(_Spot(number, pin, stub))
    return found


def _labels(found: Sequence[_Spot]) -> list[str]:
    return sorted({label.text for spot in found for label in spot.stub.labels})


def _insist(written: Sequence[bytes], meant: Mapping[Key, list[str]]) -> None:
    now = {key: _labels(found) for key, found in _spots([read_sheet(d) for d in written]).items()}
    if now != meant:
        wrong = sorted(key for key in meant if now.get(key) != meant[key])[:3]
        pins = ", ".join(":".join(key) for key in wrong)
        raise GateError(
            f"the sheets about to be written do not say what was meant at {pins}",
            "nothing was written; please report this with the input files",
        )


def _faults(swap: Swap, spots: Mapping[Key, list[_Spot]]) -> list[Undone]:
    """Why a swap cannot be done, pin by pin; empty where it can."""
    whys = [(move, _why(move, spots.get((move.part, move.pin), []))) for move in swap.moves]
    if not any(why for _, why in whys):
        common = _why_together(swap, [spots[m.part, m.pin][0] for m in swap.moves])
        whys = [(move, common) for move in swap.moves]
    if not any(why for _, why in whys):
        return []
    rest = "left with the other pins of its swap"
    return [Undone(swap.id, move.part, move.pin, why or rest) for move, why in whys]


def _why(move: Move, found: Sequence[_Spot]) -> str:
    """Why this pin cannot be done, "" if it can."""
    if not found:
        return "it is on none of the sheets given"
    if len(found) > 1:
        return "it is drawn more than once"
    stub = found[0].stub
    if found[0].pin.uses > 1:
        return "its sheet is used more than once"
    if stub.pins > 1 or stub.others:
        return "its wire joins it to something else before it comes to a label"
    if move.was is None:
        return "it is open on the board but wired here" if stub.wires or stub.labels else ""
    if not stub.labels:
        return "its wire does not end in a label"
    if len(stub.labels) > 1:
        return "its wire has several labels"
    if not names(stub.labels[0], move.was):
        return f'its label says "{stub.labels[0].text}", its net was "{move.was}"'
    return ""


def names(label: Label, net: str) -> bool:
    """Whether a label gives a net of this name."""
    text = label.text.replace("/", "{slash}")
    return net == text if label.kind == b"global_label" else net.rpartition("/")[2] == text


def _why_together(swap: Swap, found: Sequence[_Spot]) -> str:
    """What keeps labels of one swap from trading places."""
    labelled = [spot for spot in found if spot.stub.labels]
    kinds = {spot.label.kind for spot in labelled}
    if len(kinds) > 1:
        return "labels of different kinds would have to trade places"
    if len({spot.sheet for spot in found}) > 1 and kinds != {b"global_label"}:
        return "its swap reaches over several sheets"
    if sorted(filter(None, (m.was for m in swap.moves))) != sorted(
        filter(None, (m.is_ for m in swap.moves))
    ):
        return "its swap brings in a net that is on none of its pins"
    if len({spot.sheet for spot in found}) > 1 and len(labelled) < len(found):
        return "its swap opens a pin on another sheet"
    return ""


def _edits(
    swap: Swap, spots: Mapping[Key, list[_Spot]], read: Sequence[Sheet]
) -> list[tuple[int, Edit]]:
    """Labels get new texts; those of pins that open move to the pins that were open."""
    own = [(move, spots[move.part, move.pin][0]) for move in swap.moves]
    raw = {
        move.was: read[spot.sheet].data[slice(*spot.label.text_at)]
        for move, spot in own
        if move.was is not None
    }
    found = [
        (spot.sheet, Edit(*spot.label.text_at, raw[move.is_]))
        for move, spot in own
        if move.was is not None and move.is_ is not None
    ]
    opened = [spot for move, spot in own if move.is_ is None]
    closed = [(m.is_, spot) for m, spot in own if m.was is None and m.is_ is not None]
    for old, (net, new) in zip(opened, closed, strict=True):
        found += [(old.sheet, edit) for edit in _moved(old, new, raw[net])]
    return found


def _moved(old: _Spot, new: _Spot, text: bytes) -> list[Edit]:
    """The label of a pin that opens goes to the other pin, whose no-connect mark comes back."""
    return [
        Edit(*old.label.text_at, text),
        Edit(*old.label.xy, _xy(new.pin.at)),
        *(Edit(*wire.node, b"") for wire in old.stub.wires),
        *(Edit(*mark.xy, _xy(old.pin.at)) for mark in new.stub.marks),
    ]


def _xy(at: tuple[int, int]) -> bytes:
    return " ".join(f"{value / 1e6:.6f}".rstrip("0").rstrip(".") for value in at).encode()
