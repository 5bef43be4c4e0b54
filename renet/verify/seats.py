"""Every pin of the board with the net it had and the net it has: what the rules speak of."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from fnmatch import fnmatchcase
from functools import cached_property
from itertools import compress, groupby
from operator import ne
from typing import NamedTuple, TypeVar, overload

from renet.errors import RulesError
from renet.model import Netlist, Node
from renet.rules import line_of
from renet.verify.verdict import Moved

Point = tuple[int, int]
_Row = TypeVar("_Row")

_DIGITS = re.compile(r"([0-9]{1,18})")
_RANGE = re.compile(r"([0-9]{1,9})-([0-9]{1,9})")
_DECIMAL = re.compile(r"[0-9]{1,9}")


class Seat(NamedTuple):
    """One pin: (part, pad number).  ``was`` and ``is_`` are net names, None is no net.

    ``type`` is lower case without marks; ``at`` the centres of its plated pads;
    ``alone`` whether its part has a reference that no other part has; ``torn``
    whether its pads were on different nets before; ``disputed`` whether a netlist
    says something else of it.
    """

    part: int
    ref: str
    number: str
    name: str
    type: str
    at: tuple[Point, ...]
    alone: bool
    torn: bool
    was: str | None
    is_: str | None
    disputed: bool = False

    @property
    def label(self) -> str:
        """``PART:PIN``."""
        return f"{self.ref}:{self.number}"

    @property
    def moved(self) -> bool:
        """Whether its net is another one now."""
        return self.was != self.is_

    def as_moved(self) -> Moved:
        """The move, for the verdict."""
        return Moved(self.ref, self.number, self.name, self.was, self.is_)


class SeatColumns(NamedTuple):
    """The fields of :class:`Seat`, each for all seats."""

    part: Sequence[int]
    ref: Sequence[str]
    number: Sequence[str]
    name: Sequence[str]
    type: Sequence[str]
    at: Sequence[tuple[Point, ...]]
    alone: Sequence[bool]
    torn: Sequence[bool]
    was: Sequence[str | None]
    is_: Sequence[str | None]
    disputed: Sequence[bool]


class Made(Sequence[_Row]):
    """Rows that are made when somebody asks for one, and then kept."""

    def __init__(self, count: int, make: Callable[[int], _Row]) -> None:
        self._rows, self._make = range(count), make
        self._made: dict[int, _Row] = {}

    def __len__(self) -> int:
        return len(self._rows)

    @overload
    def __getitem__(self, at: int) -> _Row: ...
    @overload
    def __getitem__(self, at: slice) -> list[_Row]: ...
    def __getitem__(self, at: int | slice) -> _Row | list[_Row]:
        if isinstance(at, slice):
            return [self[row] for row in self._rows[at]]
        row = self._rows[at]
        if row not in self._made:
            self._made[row] = self._make(row)
        return self._made[row]


class SeatRows(Made[Seat]):
    """Seats by columns."""

    def __init__(self, columns: SeatColumns) -> None:
        super().__init__(len(columns.part), self._seat)
        self.columns = columns

    def _seat(self, row: int) -> Seat:
        return Seat._make([column[row] for column in self.columns])


def natural(number: str) -> tuple[tuple[int, int, str], ...]:
    """Pin order: 2 before 10, A2 before B1, digits before letters."""
    return tuple(
        (0, int(bit), bit) if _DIGITS.fullmatch(bit) else (1, 0, bit)
        for bit in _DIGITS.split(number)
        if bit
    )


def with_netlist(seats: Sequence[Seat], met: Mapping[int, Node]) -> list[Seat]:
    """Seats with the netlist's names where the board has none, and what it disputes.

    Names of nets differ between the two, so a net is known by its pins: a pin is
    disputed when one side has it open and the other does not, or when its net
    has other pins on both sides and not one of them in common.
    """
    mine: dict[str | None, set[int]] = {}
    theirs: dict[str | None, set[int]] = {}
    for index, node in met.items():
        mine.setdefault(seats[index].was, set()).add(index)
        theirs.setdefault(node.net, set()).add(index)
    made = list(seats)
    for index, node in met.items():
        seat = seats[index]
        here, there = mine[seat.was] - {index}, theirs[node.net] - {index}
        apart = bool(here and there) and not here & there
        disputed = (seat.was is None) != (node.net is None) or (seat.was is not None and apart)
        named = seat.name or node.name
        made[index] = seat._replace(name=named, type=seat.type or node.type, disputed=disputed)
    return made


def met_in(seats: Sequence[Seat], netlist: Netlist, cut: bool) -> dict[int, Node]:
    """The node that each seat is in the netlist.

    Part by part and pin by pin: the same name; else, where on both sides there
    is only one that could be it, the same in capitals, or (``cut``) a longer
    name that begins or ends with ours, which is as long as its columns.
    """
    nodes = {(node.ref, node.pin): node for node in netlist.nodes}
    refs = _alike({s.ref for s in seats}, {ref for ref, _ in nodes}, (6,) if cut else ())
    pins: dict[str, set[str]] = {}
    theirs: dict[str, set[str]] = {}
    for seat in seats:
        pins.setdefault(seat.ref, set()).add(seat.number)
    for ref, pin in nodes:
        theirs.setdefault(ref, set()).add(pin)
    widths = (4, 5) if cut else ()
    numbers = {ref: _alike(pins[ref], theirs[there], widths) for ref, there in refs.items()}
    return {
        index: nodes[refs[seat.ref], numbers[seat.ref][seat.number]]
        for index, seat in enumerate(seats)
        if seat.ref in refs and seat.number in numbers[seat.ref]
    }


def _alike(ours: set[str], theirs: set[str], widths: Sequence[int]) -> dict[str, str]:
    found = {name: name for name in ours & theirs}
    sought, offered = ours - theirs, theirs - ours
    forms: dict[str, set[str]] = {}
    for name in offered:
        big = name.upper()
        for width in (len(big), *(w for w in widths if w < len(big))):
            forms.setdefault(big[:width], set()).add(name)
            forms.setdefault(big[len(big) - width :], set()).add(name)
    could = {name: forms.get(name.upper(), set()) for name in sought}
    asked = Counter(other for names in could.values() for other in names)
    for name, names in could.items():
        if len(names) == 1 and asked[min(names)] == 1:
            found[name] = min(names)
    return found


class Seats:
    """All seats, and how the words of a rules file find them.

    ``moving`` are those whose net changed, in the order of the board.
    """

    def __init__(self, every: Sequence[Seat]) -> None:
        self.all = every
        self.columns = every.columns if isinstance(every, SeatRows) else _columns(every)
        moves = map(ne, self.columns.was, self.columns.is_)
        self.moving = tuple(compress(range(len(every)), moves))
        self._numbers: dict[str, dict[str, int]] = {}

    @cached_property
    def by_ref(self) -> dict[str, list[int]]:
        """The seats of all parts of one reference, references in the order they come first."""
        found: dict[str, list[int]] = {}
        begin = 0
        for ref, run in groupby(self.columns.ref):
            end = begin + len(list(run))
            found.setdefault(ref, []).extend(range(begin, end))
            begin = end
        return found

    @cached_property
    def nets(self) -> frozenset[str]:
        """The nets of BEFORE."""
        return frozenset([net for net in set(self.columns.was) if net is not None])

    def numbered(self, ref: str, number: str) -> list[int]:
        """The seats of this pad number on parts called ``ref``."""
        here, numbers = self.by_ref.get(ref, []), self.columns.number
        if ref not in self._numbers:
            self._numbers[ref] = dict(zip([numbers[i] for i in here], here, strict=True))
        known = self._numbers[ref]
        if number not in known:
            return []
        if len(known) == len(here):
            return [known[number]]
        return [i for i in here if numbers[i] == number]

    def moved(self) -> list[Seat]:
        """The seats whose net changed, in the order of the board."""
        return [self.all[i] for i in self.moving]

    def part(self, ref: str, line: int) -> list[int]:
        """The seats of the part called ``ref``."""
        if ref not in self.by_ref:
            raise RulesError(f'no part "{ref}" on the board', "name a part of it", line=line)
        return self.by_ref[ref]

    def of_word(self, ref: str, word: str) -> tuple[list[int], bool]:
        """The seats a pin word finds on the part called ``ref``; and whether by pad number."""
        exact = self.numbered(ref, word)
        if exact:
            return exact, True
        here, numbers, names = self.by_ref[ref], self.columns.number, self.columns.name
        span = _RANGE.fullmatch(word)
        if span:
            low, high = int(span[1]), int(span[2])
            inside = [
                i for i in here if _DECIMAL.fullmatch(numbers[i]) and low <= int(numbers[i]) <= high
            ]
            if inside:
                return inside, False
        named = [i for i in here if names[i] == word]
        return named or [i for i in here if fnmatchcase(names[i], word)], False

    def of_words(self, ref: str, words: Iterable[str], line: int) -> dict[int, bool]:
        """Seats of part ``ref`` found by pin words, and whether one of them was a pad number."""
        self.part(ref, line)  # which says when there is none
        found: dict[int, bool] = {}
        for word in words:
            hits, by_number = self.of_word(ref, word)
            if not hits:
                raise RulesError(
                    f'"{word}" is no pin of {ref}', "correct the word", line=line_of(word, line)
                )
            for i in hits:
                found[i] = found.get(i, False) or by_number
        return found

    def of_far_word(self, word: str, line: int) -> dict[int, bool]:
        """Seats found by ``PART:PIN``, and whether by pad number."""
        ref, colon, pin = word.partition(":")
        refs = [ref] if ref in self.by_ref else [r for r in self.by_ref if fnmatchcase(r, ref)]
        found: dict[int, bool] = {}
        for name in refs if colon else ():
            hits, by_number = self.of_word(name, pin)
            found.update((i, by_number) for i in hits)
        if not found:
            raise RulesError(f'"{word}" finds no pin', "write PART:PIN", line=line_of(word, line))
        return found

    def nets_of(self, words: Iterable[str], line: int, may_fail: bool = False) -> frozenset[str]:
        """The nets of BEFORE that net words find."""
        found: set[str] = set()
        for word in words:
            hits = {word} & self.nets or {n for n in self.nets if fnmatchcase(n, word)}
            if not hits and not may_fail:
                raise RulesError(
                    f'"{word}" is no net of the board',
                    "correct the word",
                    line=line_of(word, line),
                )
            found |= hits
        return frozenset(found)


def _columns(seats: Sequence[Seat]) -> SeatColumns:
    columns = list(zip(*seats, strict=True)) if seats else [()] * len(SeatColumns._fields)
    return SeatColumns(*columns)
