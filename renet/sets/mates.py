"""Which pin meets which, and whether the nets on them agree."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from renet.columns import natural
from renet.errors import RulesError
from renet.model import NONE, Board
from renet.nearest import quoted, suggestion
from renet.rules import Mate, line_of
from renet.sets.records import BoardSet

Pair = tuple[int, int]


class Meeting(NamedTuple):
    """A mate on real boards.

    ``boards`` are indices in the set, ``pairs`` pin ids (of the one, of the
    other) in the pin order of the first; ``alone`` are pins, in words, that
    should meet one that is not there.
    """

    mate: Mate
    boards: tuple[int, int]
    pairs: tuple[Pair, ...]
    alone: tuple[str, ...]


class Findings(NamedTuple):
    """What mates show: ``wrong`` stops the job, ``notes`` are for people to read."""

    wrong: tuple[str, ...]
    notes: tuple[str, ...]


def meetings_of(found: BoardSet, boards: Sequence[Board]) -> tuple[Meeting, ...]:
    """All mates of the set; RulesError where one names what is not there."""
    index = {member.name: place for place, member in enumerate(found.members)}
    return tuple(_meeting(mate, index, boards) for mate in found.mates)


def check(found: BoardSet, meetings: Sequence[Meeting], boards: Sequence[Board]) -> Findings:
    """Pin by pin: a pin must meet the same net, by the last piece of its name or by ``[[same]]``.

    A net that meets an open pin is a note: it may be meant, and it stays so.
    """
    same = {frozenset((str(record.a), str(record.b))) for record in found.same}
    wrong: list[str] = []
    notes: list[str] = []
    for meeting in meetings:
        wrong += [f"{word} meets no pin" for word in meeting.alone]
        notes.append(first_pin(found, meeting, boards))
        for pair in meeting.pairs:
            agreed = agree(found, meeting, boards, pair, same)
            if agreed is False:
                wrong.append(told(found, meeting, boards, pair))
            elif agreed is None:
                notes.append(f"{told(found, meeting, boards, pair)}: it stays so")
    return Findings(tuple(wrong), tuple(notes))


def agree(
    found: BoardSet,
    meeting: Meeting,
    boards: Sequence[Board],
    pair: Pair,
    same: Iterable[frozenset[str]],
) -> bool | None:
    """Whether two pins that meet belong together; None where just one of them is open."""
    nets = [_net(boards[board], pin) for board, pin in zip(meeting.boards, pair, strict=True)]
    if None in nets:
        return True if nets == [None, None] else None
    a, b = (str(net) for net in nets)
    if a.rpartition("/")[2].casefold() == b.rpartition("/")[2].casefold():
        return True
    names = [found.members[board].name for board in meeting.boards]
    return frozenset((f"{names[0]}:{a}", f"{names[1]}:{b}")) in set(same)


def first_pin(found: BoardSet, meeting: Meeting, boards: Sequence[Board]) -> str:
    """What pin 1 of the first connector meets, in words."""
    if not meeting.pairs:
        return f"{meeting.mate.a} and {meeting.mate.b} share no pin"
    return f"{meeting.mate.a} and {meeting.mate.b}: " + told(
        found, meeting, boards, meeting.pairs[0]
    )


def told(found: BoardSet, meeting: Meeting, boards: Sequence[Board], pair: Pair) -> str:
    """A pair of pins that meet, with what they carry."""
    sides = []
    for board, pin in zip(meeting.boards, pair, strict=True):
        ref, number = boards[board].pin_key(pin)
        net = _net(boards[board], pin)
        sides.append(f"pin {number} of {found.members[board].name}:{ref} ({net or 'open'})")
    return f"{sides[0]} meets {sides[1]}"


def _net(board: Board, pin: int) -> str | None:
    net = board.pins[pin].net
    return None if net == NONE else board.nets[net]


def _meeting(mate: Mate, index: dict[str, int], boards: Sequence[Board]) -> Meeting:
    sides = [word.partition(":") for word in (mate.a, mate.b)]
    places = (index[sides[0][0]], index[sides[1][0]])
    if places[0] == places[1]:
        raise RulesError("a mate joins two boards", "name two boards", line=mate.line)
    a, b = (
        _pins(boards[place], ref, word, mate)
        for place, (_, _, ref), word in zip(places, sides, (mate.a, mate.b), strict=True)
    )
    wanted = _wanted(mate, list(a), list(b))
    pairs = tuple((a[one], b[other]) for one, other in wanted if one in a and other in b)
    met = ({one for one, _ in wanted if one in a}, {other for _, other in wanted if other in b})
    table = not isinstance(mate.map, str)
    alone = [f"pin {one} of {mate.a}" for one, other in wanted if one in a and other not in b]
    alone += [f"pin {other} of {mate.b}" for one, other in wanted if other in b and one not in a]
    if not table:
        alone += [f"pin {number} of {mate.a}" for number in a if number not in met[0]]
        alone += [f"pin {number} of {mate.b}" for number in b if number not in met[1]]
    return Meeting(mate, places, pairs, tuple(dict.fromkeys(alone)))


def _wanted(mate: Mate, a: list[str], b: list[str]) -> list[tuple[str, str]]:
    """Pairs of pin numbers by the mate's map; positions count in pin order."""
    if not isinstance(mate.map, str):
        _check_table(mate, a, b)
        return sorted(((str(p), str(q)) for p, q in mate.map), key=lambda pair: natural(pair[0]))
    if mate.map == "straight":
        return [(number, number) for number in a]
    if mate.map == "mirrored":
        return list(zip(a, reversed(b), strict=False)) if len(a) == len(b) else []
    swapped = [place ^ 1 for place in range(len(a))]
    return [(number, b[other]) for number, other in zip(a, swapped, strict=True) if other < len(b)]


def _check_table(mate: Mate, a: list[str], b: list[str]) -> None:
    seen: set[str] = set()
    assert not isinstance(mate.map, str)
    for one, other in mate.map:
        for word, known, side in ((one, a, mate.a), (other, b, mate.b)):
            if word not in known:
                raise RulesError(
                    f"{side} has no pin {quoted(word)}",
                    suggestion(word, known, "write a pad number of the part"),
                    line=line_of(word, mate.line),
                )
        if other in seen:
            raise RulesError(
                f"pin {quoted(other)} of {mate.b} meets two pins",
                "a pin meets one pin",
                line=line_of(other, mate.line),
            )
        seen.add(other)


def _pins(board: Board, ref: str, word: str, mate: Mate) -> dict[str, int]:
    """Pin number -> id of the one part called ``ref``, in pin order."""
    parts = [part for part in board.parts if part.ref == ref]
    if len(parts) != 1:
        refs = [part.ref for part in board.parts]
        raise RulesError(
            f"{word}: there are {len(parts)} parts called {quoted(ref)}",
            suggestion(ref, refs, "name a part that is there once"),
            line=line_of(word, mate.line),
        )
    numbers = {board.pins[pin].number: pin for pin in parts[0].pins}
    return {number: numbers[number] for number in sorted(numbers, key=natural)}
