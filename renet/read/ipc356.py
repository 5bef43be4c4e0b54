"""IPC-D-356A as a board: every pad with net, part, pin and place, and no copper.

The file's y points up and the model's down, so y changes its sign.  What the
format does not carry stays empty: values, pin names and types, tracks, zones,
the board's edge.  Vias and points along a track belong to copper that is not
known; they are passed over, so all connections count as open.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from renet.geometry import MAX_EXTENT
from renet.model import NONE, Board, Core, Layer, Pad, Part, Pin, Shape, Tracks, Vias
from renet.read.ipc356_lines import NET, Lines, Record, lines_of
from renet.read.kind import RECORDS, expect
from renet.read.nets import PRIVATE
from renet.read.slots import NOWHERE, Span
from renet.scan import fault

VERSION = 356
VIA = b"VIA"
OPEN = (b"", b"N/C")

_TORN = "its pads are on different nets"
_NO_REFERENCE = "its part has no reference"
_MAX_LAYERS = 60


@dataclass(frozen=True, slots=True)
class RecordSpans:
    """Side table: the net columns of each pad by id, and how the file writes a net.

    A continuation that repeats no net has NOWHERE: it follows the record before
    it.  ``starts`` is where each pad's line begins.  ``words`` is net name -> the
    short name in the columns; ``none`` stands for no net.
    """

    net: tuple[Span, ...]
    starts: tuple[int, ...]
    words: dict[str, bytes]
    none: bytes

    def __repr__(self) -> str:
        return f"<spans of {len(self.net)} records>"


class _Point(NamedTuple):
    """A record of a part with what it takes over from the one before it."""

    record: Record
    part: bytes
    pin: bytes
    net: bytes
    span: Span


def read_ipc356(data: bytes) -> tuple[Board, RecordSpans]:
    """The board in ``data`` and where its nets stand; InputError with the line.

    Parts come in the order of their first records, pads part by part in the
    order of the file.
    """
    expect(data, RECORDS)
    lines = lines_of(data)
    points = _points(lines)
    if not points:
        what = "no record of a pin (317 or 327) in this file"
        raise fault(data, 0, what, "is it an IPC-D-356A file?")
    _check_extent(data, points, lines.units.step)
    refs = list(dict.fromkeys(point.part for point in points))
    order = {ref: index for index, ref in enumerate(refs)}
    points.sort(key=lambda point: order[point.part])
    names = _names(points, lines)
    spans = _spans(points, names)
    return _board(points, lines, names, order), spans


def text(raw: bytes) -> str:
    """A field as text: UTF-8, or one character a byte where it is not."""
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError:
        return raw.decode("latin-1")


def _points(lines: Lines) -> list[_Point]:
    """Records of parts; a continuation takes over what it leaves blank."""
    found: list[_Point] = []
    last: _Point | None = None
    for record in lines.records:
        span = (record.start + NET.start, record.start + NET.stop)
        point = _Point(record, record.part, record.pin, record.net, span)
        if record.operation[:1] == b"0" and last is not None:
            point = _continued(point, last)
        last = point
        if point.part.upper() != VIA and (point.part or point.pin):
            found.append(point)
    return found


def _continued(point: _Point, last: _Point) -> _Point:
    if not point.net:
        point = point._replace(net=last.net, span=NOWHERE)
    if not point.part and not point.pin:
        point = point._replace(part=last.part, pin=last.pin)
    return point


def _names(points: Sequence[_Point], lines: Lines) -> dict[bytes, str | None]:
    """What stands in net columns -> the name of the net, None for no net."""
    found: dict[bytes, str | None] = {}
    for point in points:
        if point.net not in found:
            name = text(lines.aliases.get(point.net, point.net))
            private = name.lower().startswith(PRIVATE)
            is_open = point.net.upper() in OPEN or name.upper() == "N/C"
            found[point.net] = None if private or is_open else name
    return found


def _spans(points: Sequence[_Point], names: dict[bytes, str | None]) -> RecordSpans:
    words: dict[str, bytes] = {}
    for word, name in names.items():
        if name is not None:
            words.setdefault(name, word)
    opened = Counter(point.net for point in points if point.net.upper() in OPEN)
    none = max(sorted(opened), key=opened.__getitem__) if opened else OPEN[1]
    net = tuple(point.span for point in points)
    return RecordSpans(net, tuple(point.record.start for point in points), words, none)


def _board(
    points: Sequence[_Point],
    lines: Lines,
    names: dict[bytes, str | None],
    order: dict[bytes, int],
) -> Board:
    nets = tuple(sorted({name for name in names.values() if name is not None}))
    ids: dict[str | None, int] = {name: index for index, name in enumerate(nets)}
    count = max(2, *(point.record.access for point in points))
    pin_ids: dict[tuple[bytes, bytes], int] = {}
    pads = []
    for point in points:
        plated = point.record.operation[1:2] != b"6"
        pin = NONE
        if plated and point.pin:
            pin = pin_ids.setdefault((point.part, point.pin), len(pin_ids))
        net = ids.get(names[point.net], NONE)
        pads.append(_pad(point.record, lines, (order[point.part], pin, net), count))
    return Board(
        version=VERSION,
        layers=tuple(Layer(f"L{number:02d}", "") for number in range(1, count + 1)),
        nets=nets,
        parts=_parts(list(order), pads, list(pin_ids), count),
        pins=_pins(list(pin_ids), pads, order),
        pads=tuple(pads),
        tracks=_no_tracks(),
        vias=_no_vias(),
        zones=(),
        edge=(),
        stackup=(),
        classes=(),
        thickness=0,
    )


def _pad(record: Record, lines: Lines, owner: tuple[int, int, int], count: int) -> Pad:
    part, pin, net = owner
    step, degrees = lines.units
    drilled = record.operation[1:2] != b"2"
    layer = max(record.access, 1)
    everywhere = record.access == 0 or drilled
    angle = float(record.angle) if degrees else math.degrees(record.angle / 100)
    return Pad(
        part=part,
        pin=pin,
        x=record.x * step,
        y=-record.y * step,
        angle=angle,
        layers=(1 << count) - 1 if everywhere else 1 << (layer - 1),
        through=drilled,
        plated=record.operation[1:2] != b"6",
        shape=_shape(record.width * step, record.height * step, record.hole * step),
        net=net,
    )


@lru_cache(maxsize=1024)
def _shape(wide: int, high: int, hole: int) -> Shape:
    """A rectangle, or a disc where the file gives one size only (or the hole alone)."""
    u, v = (wide or high or hole) // 2, (high or wide or hole) // 2
    if not (wide and high):
        return Shape((-u, -u, u, u), (Core(((0, 0),), u),))
    corners = ((-u, -v), (u, -v), (u, v), (-u, v))
    return Shape((-u, -v, u, v), (Core(corners, 0),))


def _parts(
    refs: Sequence[bytes],
    pads: Sequence[Pad],
    pins: Sequence[tuple[bytes, bytes]],
    count: int,
) -> tuple[Part, ...]:
    """Parts stand in the middle of their pads; all of a part's surface pads tell its side."""
    of: list[list[int]] = [[] for _ in refs]
    for index, pad in enumerate(pads):
        of[pad.part].append(index)
    pin_count = Counter(ref for ref, _ in pins)
    made, first = [], 0
    for ref, here in zip(refs, of, strict=True):
        xs, ys = [pads[i].x for i in here], [pads[i].y for i in here]
        back = all(not pads[i].through and pads[i].layers >> (count - 1) for i in here)
        x, y = (min(xs) + max(xs)) // 2, (min(ys) + max(ys)) // 2
        numbers = range(first, first + pin_count[ref])
        first = numbers.stop
        span = range(here[0], here[-1] + 1)
        made.append(Part(text(ref), "", "", x, y, 0.0, back, numbers, span))
    return tuple(made)


def _pins(
    keys: Sequence[tuple[bytes, bytes]], pads: Sequence[Pad], order: dict[bytes, int]
) -> tuple[Pin, ...]:
    of: list[list[int]] = [[] for _ in keys]
    for index, pad in enumerate(pads):
        if pad.pin != NONE:
            of[pad.pin].append(index)
    made = []
    for (ref, number), here in zip(keys, of, strict=True):
        torn = len({pads[i].net for i in here}) > 1
        why = _NO_REFERENCE if not ref else _TORN if torn else ""
        net = pads[here[0]].net
        made.append(Pin(order[ref], text(number), "", "", False, net, tuple(here), why))
    return tuple(made)


def _check_extent(data: bytes, points: Sequence[_Point], step: int) -> None:
    """Refuse layers and places that no board has and exact arithmetic could not hold."""
    xs = sorted(point.record.x for point in points)
    ys = sorted(point.record.y for point in points)
    middle = xs[len(xs) // 2], ys[len(ys) // 2]
    for point in points:
        record = point.record
        if record.access > _MAX_LAYERS:
            what = f"access from layer {record.access}: more than {_MAX_LAYERS} layers"
            raise fault(data, record.start, what, "export the file again")
        far = max(abs(record.x - middle[0]), abs(record.y - middle[1])) * step
        if far > MAX_EXTENT // 2:
            what = "the board is wider than 2 m: this stands too far from the rest"
            raise fault(data, record.start, what, "move it or remove it")


def _no_tracks() -> Tracks:
    none = np.empty(0, dtype=np.int64)
    flags = np.empty(0, dtype=bool)
    return Tracks(none.reshape(0, 4), none.reshape(0, 2), flags, none, none, none, flags)


def _no_vias() -> Vias:
    none = np.empty(0, dtype=np.int64)
    return Vias(none.reshape(0, 2), none, none, none, none, np.empty(0, dtype=bool))
