"""Lanes: nets that are numbered alike, and pairs that are lanes of a connector.

Where a pool leaves the order of a bus free, the draft asks whether it must be
kept.  Where a pool must not have the pins, because what they can do is not
known, their lanes may still trade with one another: that is asked instead.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from renet.columns import natural
from renet.draft.buses import couples, seats
from renet.draft.evidence import Evidence
from renet.draft.records import ASKED, FREE, KEPT, Entry, Line, Verdict
from renet.draft.words import is_port, last_word
from renet.freedom.spots import Spots
from renet.model import Part

_NUMBERED = re.compile(r"(.*?[^\d])(\d{1,2})")
_DATA = re.compile(r"(.*_)?(D|AD|DB|DQ|DATA|IO)")  # what a parallel bus calls its lanes
_SERIAL = ("CLK", "CK", "CMD", "SCK", "SCLK")  # beside these the order of lanes is the protocol's
FEWEST_LANES = 4
Verdicts = dict[int, Verdict]


def orders(
    ev: Evidence, part: Part, verdicts: Mapping[int, Verdict], state: str = FREE
) -> list[Entry]:
    """A question for every bus with pins of this state: must the order of its lanes be kept?"""
    on = seats(ev, part, verdicts)
    entries = []
    for stem, nets in _buses(on):
        if any(verdicts[on[net]].state == state for net in nets):
            title = (
                f"? {part.ref}: must {nets[0]} to {nets[-1]} stay in order?",
                "As it stands, the order of this bus is free.",
            )
            fields = (("part", part.ref), ("nets", nets))
            entries.append(Entry(f"order {part.ref} {stem}", "order", title, fields, asked=True))
    return entries


def lanes(ev: Evidence, part: Part, verdicts: Verdicts) -> list[Entry]:
    """Units of the lanes of parallel buses, where no pool may have them; verdicts are told so."""
    on = seats(ev, part, verdicts)
    entries = []
    for stem, nets in _buses(on):
        word = last_word(stem)
        doubts = {(verdicts[on[net]].state, verdicts[on[net]].kind) for net in nets}
        if not _DATA.fullmatch(word) or not doubts <= _UNKNOWN or _serial(ev, part, word):
            continue
        why = f"a lane of {nets[0]} to {nets[-1]}: may these trade with one another?"
        for net in nets:
            verdicts[on[net]] = Verdict(ASKED, "bus lane", why, "the nets' names")
        title = (
            f"? {part.ref}: may the lanes {nets[0]} to {nets[-1]} trade with one another?",
            "Yes, if all that is read over them was written over them: no commands, no codes.",
        )
        lines = tuple(Line([ev.board.pin_label(on[net])], net) for net in nets)
        fields = (("tuples", lines),)
        entries.append(Entry(f"unit {part.ref} {stem}", "unit", title, fields, asked=True))
    return entries


_UNKNOWN = {(ASKED, "function unknown"), (ASKED, "need unknown")}


def _buses(on: Iterable[str]) -> list[tuple[str, list[str]]]:
    """(stem, nets in order) of nets numbered without a gap; nets called after ports are no bus."""
    found: dict[str, dict[int, str]] = {}
    for net in on:
        numbered = _NUMBERED.fullmatch(net)
        if numbered and not is_port(last_word(net)):
            found.setdefault(numbered[1], {})[int(numbered[2])] = net
    return [
        (stem, [nets[number] for number in sorted(nets)])
        for stem, nets in sorted(found.items())
        if len(nets) >= FEWEST_LANES and max(nets) - min(nets) < len(nets)
    ]


def _serial(ev: Evidence, part: Part, word: str) -> bool:
    """Whether the bus has a clock or a command of its own, as memory cards have."""
    head = word[: word.rfind("_") + 1]
    words = {last_word(ev.net(pin)) for pin in part.pins}
    return bool(head) and any(f"{head}{end}" in words for end in _SERIAL)


def pair_lanes(ev: Evidence, part: Part, verdicts: Verdicts) -> list[Entry]:
    """Pairs of a connector whose pins are asked about: they trade as pairs or not at all."""
    on = {n: pin for n, pin in seats(ev, part, verdicts).items() if verdicts[pin].state == ASKED}
    near = Spots(ev.board, [ev.board.pins[part.pins[0]].part]).neighbours
    found = [(on[p], on[n]) for p, n in couples(on) if on[n] in near[on[p]]]
    if len(found) < 2:
        why = "one of the only pair of its connector, which stays together"
        verdicts |= {pin: Verdict(KEPT, "pair", why, "the nets' names") for p in found for pin in p}
        return []
    why = f"one of a pair of {part.ref}; pairs trade whole: are both ends ours?"
    mark = Verdict(ASKED, "pair lane", why, "the nets' names")
    verdicts |= {pin: mark for pair in found for pin in pair}
    found.sort(key=lambda pair: natural(ev.board.pins[pair[0]].number))
    lines = tuple(
        Line([ev.board.pin_label(p) for p in pair], " ".join(map(ev.net, pair))) for pair in found
    )
    title = (f"? {part.ref} {part.value}: may its pairs trade whole, both ends being ours?",)
    fields = (("tuples", lines), ("cost_mm", 20.0))
    return [Entry(f"unit {part.ref} pairs", "unit", title, fields, asked=True)]
