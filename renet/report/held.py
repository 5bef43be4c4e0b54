"""What holds each crossing that is left, in names and in a sentence."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from renet.freedom import Freedom
from renet.freedom.keep import kept_by_rules
from renet.pipeline import Job
from renet.remaining import Kind, Reason, Remaining

_NOBODY = "no pool and no unit names it"


class Held(NamedTuple):
    """A crossing of the result: its nets, the pins at the ends of both connections, the reason."""

    nets: tuple[str, str]
    ends: tuple[tuple[int, int], tuple[int, int]]
    reason: Reason
    why: str


def held_of(job: Job, those: Iterable[Remaining]) -> Iterator[Held]:
    """The given ones of a run's ``remaining`` crossings, one by one: sentences take room."""
    board, found = job.scene.board, job.tangle.connections
    kept = kept_by_rules(job.scene.freedom.names, job.scene.rules)
    kept |= dict(job.scene.freedom.kept)
    for one in those:
        first, second = (int(found.net[row]) for row in (one.first, one.second))
        ends = tuple(
            (board.pads[int(found.a[row])].pin, board.pads[int(found.b[row])].pin)
            for row in (one.first, one.second)
        )
        why = _why(one.reason, [pin for pair in ends for pin in pair], job.scene.freedom, kept)
        yield Held((board.nets[first], board.nets[second]), (ends[0], ends[1]), one.reason, why)


def _why(reason: Reason, ends: Sequence[int], freedom: Freedom, kept: dict[int, str]) -> str:
    told = _exchange(reason, freedom)
    match reason.kind:
        case Kind.OPEN:
            return f"a longer search takes it away (--iterations): {told} saves {_few(reason)}"
        case Kind.LIMIT:
            return f"--max-moves holds it: {told} would save {_few(reason)}"
        case Kind.RULE:
            return f"{reason.rule} holds it: without that, {told} would save {_few(reason)}"
        case Kind.ELSEWHERE if reason.crossings:
            return f"to part them costs more elsewhere: {told} would add {_few(reason)} in all"
        case Kind.ELSEWHERE:
            return f"to part them gains nothing: {told} makes as many crossings elsewhere"
        case Kind.KEPT:
            return f"no pin of either net may move: {_reasons(ends, freedom, kept)}"
        case Kind.STUCK:
            return f"no single exchange parts them: {_reasons(ends, freedom, kept)}"


def _exchange(reason: Reason, freedom: Freedom) -> str:
    labels = [freedom.names.label(pin) for pin in reason.pins]
    if len(labels) == 2:
        return f"exchanging {labels[0]} and {labels[1]}"
    return f"exchanging among {', '.join(labels)}"


def _few(reason: Reason) -> str:
    count = abs(reason.crossings)
    return f"{count:g} crossing{'' if count == 1 else 's'}"


def _reasons(ends: Sequence[int], freedom: Freedom, kept: dict[int, str]) -> str:
    """The pins at the ends, those with the same reason together."""
    by_reason: dict[str, list[str]] = {}
    for pin in dict.fromkeys(ends):
        why = "free" if freedom.movable[pin] else kept.get(pin, _NOBODY)
        by_reason.setdefault(why, []).append(freedom.names.label(pin))
    return "; ".join(f"{', '.join(pins)}: {why}" for why, pins in by_reason.items())
