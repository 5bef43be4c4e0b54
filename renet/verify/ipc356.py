"""The second opinion on an updated IPC-D-356A file, line by line.

Own reading: lines side by side, fixed columns, nothing from the reader but its
answer, which must be the same as what stands in the columns here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from renet.errors import RenetError
from renet.model import Board
from renet.read.ipc356 import read_ipc356
from renet.rules import Rules
from renet.verify.facts import Facts
from renet.verify.listed import check_moves
from renet.verify.partition import check_partition
from renet.verify.permitted import check_rules
from renet.verify.permutable import with_listed
from renet.verify.poured import Planes
from renet.verify.scope import LeftOut, Scope, scope_of
from renet.verify.seats import Seat, Seats
from renet.verify.verdict import BYTES, PINS, Expect, Finding, Place, Verdict, net_words, unreadable

Key = tuple[str, str]

_OPEN = ("", "N/C")
_WIDTH = 14
_BLANK = " \t\n\r\f\v"
_PLACE = re.compile(r".{0,15}?(?:A *\d\d?)? *X *[+-]? *\d{1,7} *Y *[+-]? *\d")


class Row(NamedTuple):
    """A line that belongs to a pin: its number from 1, the pin, its net (None: none).

    ``word`` is what stands for the net in the columns, here or in a line before.
    """

    line: int
    key: Key
    net: str | None
    word: str


def verify_records(before: bytes, after: bytes, expect: Expect) -> Verdict:
    """Whether AFTER is BEFORE with net columns exchanged as expected.

    Raises InputError when BEFORE cannot be read and RulesError when the rules
    cannot; an AFTER that cannot be read is a finding.
    """
    verdict = Verdict()
    board = read_ipc356(before)[0]
    try:
        read_ipc356(after)
    except RenetError as fault:
        verdict.findings.append(unreadable(fault))
        return verdict
    counts = verdict.counts
    counts.bytes_compared += len(after)
    had, has = _rows(before), _rows(after)
    verdict.findings += _frame(before, after, had, has)
    if [row.key for row in had] != [row.key for row in has]:
        what = "AFTER has other pins than BEFORE; no pin was compared"
        verdict.findings.append(Finding(PINS, "same pads", "file", what))
        return verdict
    counts.pads_compared += len(has)
    verdict.findings += _reader(board, had)
    verdict.findings += _together(had, has)
    _compare(verdict, board, _seats(board, had, has), expect)
    return verdict


def _compare(verdict: Verdict, board: Board, seats: Sequence[Seat], expect: Expect) -> None:
    """What every kind of board is asked, once its pins are known."""
    counts = verdict.counts
    counts.pins_compared += len(seats)
    seats, rules = with_listed(seats, expect, cut=True)
    everyone = Seats(seats)
    scope = Scope()
    if rules is not None:
        planes = Planes(board, Facts(board), everyone.all)
        scope = scope_of(rules, everyone, LeftOut(rules, everyone, planes.nets, expect.left_out))
    verdict.moved = tuple(seat.as_moved() for seat in everyone.moved())
    verdict.findings += check_partition(everyone, scope, counts)
    if rules is not None or expect.changes is None:
        verdict.findings += check_rules(everyone, rules or Rules(), scope, counts)
    if expect.changes is not None:
        verdict.findings += check_moves(everyone, expect.changes, counts)


def _frame(before: bytes, after: bytes, had: list[Row], has: list[Row]) -> Iterator[Finding]:
    """Line by line the same, but for columns 4 to 17 of pins that moved."""
    old, new = before.split(b"\n"), after.split(b"\n")
    if len(old) != len(new):
        what = f"AFTER has {len(new)} lines, BEFORE {len(old)}"
        yield Finding(BYTES, "lines", "file", what)
    moved = {i.line: i.net for was, i in zip(had, has, strict=False) if was.net != i.net}
    words = _words(had)
    for number, (was, is_) in enumerate(zip(old, new, strict=False), start=1):
        if was == is_:
            continue
        around = was[:3] + was[17:] == is_[:3] + is_[17:] and len(was) == len(is_)
        if number not in moved or not around:
            what = "the line differs in more than the net of a pin that moved"
            yield Finding(BYTES, "unchanged", "file", what, Place("after", number, 1))
        elif is_[3:17] not in words.get(moved[number], set()):
            what = "the net is not written as BEFORE writes it"
            yield Finding(BYTES, "white space", "file", what, Place("after", number, 4))


def _words(rows: list[Row]) -> dict[str | None, set[bytes]]:
    """What may stand in the columns for each net: a word that stands for it, at their left end."""
    found: dict[str | None, set[bytes]] = {}
    for row in rows:
        if row.net is not None or row.word.upper() in _OPEN:
            found.setdefault(row.net, set()).add(row.word.encode("latin-1").ljust(_WIDTH))
    found.setdefault(None, {_OPEN[-1].encode().ljust(_WIDTH)})
    return found


def _is_record(line: bytes) -> bool:
    digits = line[:3].isdigit() and line[:1] in (b"0", b"3") and line[1:2] <= b"6"
    return digits and line[2:3] == b"7"


def _long_names(data: bytes) -> dict[str, str]:
    """Short names with the long ones behind them."""
    found = {}
    for line in _decoded(data):
        words = line.encode("latin-1").split(None, 2)
        if len(words) == 3 and words[0] in (b"P", b"C") and words[1].startswith(b"NNAME"):
            short, name = (word.rstrip().decode("latin-1") for word in words[1:])
            found[short] = name
    return found


def _decoded(data: bytes) -> Iterator[str]:
    """Lines up to the end record; one character a byte, so that columns are columns."""
    for line in data.split(b"\n"):
        if line[:3] == b"999":
            return
        yield line.decode("latin-1")


def _rows(data: bytes) -> list[Row]:
    """All lines of plated pins with a number; continuations follow what they leave blank.

    A continuation counts where it gives a place, which begins in columns 32 to 47.
    """
    names = _long_names(data)
    rows: list[Row] = []
    net, ref, pin = "", "", ""
    for number, line in enumerate(_decoded(data), start=1):
        if not _is_record(line.encode("latin-1")):
            continue
        if line[0] == "0" and not _PLACE.match(line.replace("\t", " "), 31):
            continue
        own = _field(line, 20, 26), _field(line, 26, 31).removeprefix("-").strip(_BLANK)
        word = _field(line, 3, 17)
        more = line[0] == "0"
        ref, pin = (ref, pin) if more and own == ("", "") else own
        net = net if more and not word else word
        if ref.upper() != "VIA" and pin and line[1] != "6":
            rows.append(Row(number, (_text(ref), _text(pin)), _real(names.get(net, net)), net))
    return rows


def _field(line: str, start: int, end: int) -> str:
    """Some columns without blanks around; a no-break space belongs to a name."""
    return line[start:end].strip(_BLANK)


def _text(latin: str) -> str:
    """What the bytes say as UTF-8, where they are that."""
    try:
        return latin.encode("latin-1").decode("utf-8")
    except UnicodeDecodeError:
        return latin


def _real(name: str) -> str | None:
    """The net of that name; names of open pins are none."""
    if name.upper() in _OPEN or name.lower().startswith("unconnected-("):
        return None
    return _text(name)


def _reader(board: Board, rows: list[Row]) -> Iterator[Finding]:
    """The reader must see the very same pins on the very same nets."""
    mine: dict[Key, list[str]] = {}
    for row in rows:
        mine.setdefault(row.key, []).append(net_words(row.net))
    theirs: dict[Key, list[str]] = {}
    for index, pin in enumerate(board.pins):
        nets = [net_words(board.net_name(board.pads[pad].net)) for pad in pin.pads]
        theirs.setdefault(board.pin_key(index), []).extend(nets)
    if mine != theirs:
        what = "the reader and verify read other pins or nets in BEFORE"
        yield Finding(PINS, "reader", "file", what)


def _together(had: list[Row], has: list[Row]) -> Iterator[Finding]:
    """Pads of one pin that were on one net stay on one net."""
    was: dict[Key, set[str | None]] = {}
    is_: dict[Key, set[str | None]] = {}
    for old, new in zip(had, has, strict=True):
        was.setdefault(old.key, set()).add(old.net)
        is_.setdefault(new.key, set()).add(new.net)
    for key, nets in is_.items():
        if len(nets) > 1 and nets != was[key]:
            names = ", ".join(sorted(net_words(net) for net in nets))
            yield Finding(PINS, "all pads", ":".join(key), f"its pads are now on {names}")


def _seats(board: Board, had: list[Row], has: list[Row]) -> list[Seat]:
    """All pins in the order of the reader, which is part by part."""
    both: dict[Key, list[tuple[str | None, str | None]]] = {}
    for old, new in zip(had, has, strict=True):
        both.setdefault(old.key, []).append((old.net, new.net))
    made = []
    for index, pin in enumerate(board.pins):
        key = board.pin_key(index)
        pairs = both.get(key, [(None, None)])
        was, net = next((pair for pair in pairs if pair[0] != pair[1]), pairs[0])
        seat = Seat(
            part=pin.part,
            ref=key[0],
            number=key[1],
            name="",
            type="",
            at=tuple((board.pads[pad].x, board.pads[pad].y) for pad in pin.pads),
            alone=bool(key[0]),
            torn=len({pair[0] for pair in pairs}) > 1,
            was=was,
            is_=net,
        )
        made.append(seat)
    return made
