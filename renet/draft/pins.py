"""The verdict on every pin of a controller or of programmable logic."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import NamedTuple

from renet.draft.banks import Banks, banks_of
from renet.draft.evidence import Evidence, prefix
from renet.draft.functions import known_functions, wanted
from renet.draft.kinds import AMPLIFIER, CONNECTOR, CRYSTAL, LOGIC
from renet.draft.records import ASKED, FREE, KEPT, Verdict
from renet.draft.straps import role_by_part
from renet.draft.words import (
    analog,
    bus_word,
    clock_net,
    interrupt,
    is_port,
    last_word,
    net_role,
    pieces,
    pin_role,
)
from renet.freedom.names import role_by_type
from renet.model import NONE, Part, Pin

_CLASSES = {
    "input": "input-only",
    "output": "output-only",
    "tri_state": "output-only",
    "open_collector": "open-drain",
    "open_emitter": "open-emitter",
}
_STROBE = re.compile(r"(.*?)[UL]?DQS[UL]?\d*(_?[PNCT+-])?")
_BYTE = re.compile(r"(.*?)[UL]?(DQS?|DQM|DM)[UL]?\d*(_?[PNCT+-])?")


_LANE = re.compile(r"(.+_)(D|DQ|DAT|DATA|IO)\d{1,2}")


class Scope(NamedTuple):
    """What the verdicts on one part's pins are based on.

    ``strobed``: what the names of nets of memories with strobes begin with.
    """

    ev: Evidence
    part: Part
    kind: str
    kinds: dict[int, str]
    banks: Banks
    strobed: frozenset[str]


def scope_of(ev: Evidence, index: int, kinds: dict[int, str]) -> Scope:
    """The scope of one programmable part; ``kinds`` is by part id."""
    part = ev.board.parts[index]
    words = (_STROBE.fullmatch(last_word(ev.net(pin))) for pin in part.pins)
    strobed = frozenset(found[1] for found in words if found)
    return Scope(ev, part, kinds[index], kinds, banks_of(ev, part), strobed)


def pin_class(ev: Evidence, pin: int) -> str:
    """The class within which a pin trades: like for like."""
    entry = ev.board.pins[pin]
    if analog(entry.name, entry.number):
        return "analogue-only"
    return _CLASSES.get(entry.type, "")


def judge(scope: Scope, pin: int) -> Verdict:
    """The verdict on one pin: the first rule that says something stands."""
    for rule in _RULES:
        verdict = rule(scope, pin)
        if verdict:
            return verdict
    said = f"{scope.ev.said_by[pin]}: name {scope.ev.board.pins[pin].name}"
    return Verdict(FREE, "general purpose", "a general-purpose pin", said)


def never(ev: Evidence, pin: int) -> Verdict | None:
    """Why a pin of any part is kept whatever else is known of it."""
    entry = ev.board.pins[pin]
    said = ev.said_by[pin]
    if entry.fault:
        return Verdict(KEPT, "fault", entry.fault, "the board")
    if pin in ev.differs:
        return Verdict(KEPT, "disagreement", ev.differs[pin], "board against netlist")
    kind = role_by_type(entry.type)
    if kind:
        return Verdict(KEPT, kind, f"{_a(kind)} pin by type", f"type {entry.type}")
    role = pin_role(entry.name, entry.number)
    if role:
        return Verdict(KEPT, role, f"{_a(role)} pin by its name", f"{said}: name {entry.name}")
    return never_by_net(ev, pin)


def never_by_net(ev: Evidence, pin: int) -> Verdict | None:
    """Why a pin is kept for the sake of what it carries."""
    net = ev.board.pins[pin].net
    if net in ev.supply:
        why = f"it carries {ev.board.nets[net]}, {ev.supply[net]}"
        return Verdict(KEPT, "supply net", why, "the net")
    for other in (net, *ev.beyond.get(net, ())) if net != NONE else ():
        role = net_role(ev.board.nets[other])
        if role:
            behind = "" if other == net else " behind a series part"
            why = f"its net{behind}, {ev.board.nets[other]}, is called like {_a(role)} net"
            return Verdict(KEPT, f"{role} net", why, "the net's name")
    return None


def _never(scope: Scope, pin: int) -> Verdict | None:
    return never(scope.ev, pin)


def _by_type(scope: Scope, pin: int) -> Verdict | None:
    """Straps and inner wiring that only the data sheet of the type tells of."""
    role = role_by_part(scope.part, scope.ev.board.pins[pin])
    if not role:
        return None
    why = f"{_a(role)} pin of this type of part"
    return Verdict(KEPT, role, why, f"type {scope.part.value}, from memory")


def _far_end(scope: Scope, pin: int) -> Verdict | None:
    """Pins whose far end has a role: a crystal, a debug pin, a USB line, the flash bus."""
    ev = scope.ev
    net = ev.board.pins[pin].net
    for other in ev.on_net[net] if net != NONE else ():
        entry = ev.board.pins[other]
        role = pin_role(entry.name, entry.number) if entry.part == ev.board.pins[pin].part else ""
        if other != pin and role in ("flash bus", "boot", "debug"):
            why = f"its net is also on {ev.board.pin_label(other)}, {_a(role)} pin by its name"
            return Verdict(KEPT, f"{role} net", why, "the other pin's name")
    for other in ev.others(pin):
        entry = ev.board.pins[other]
        label = ev.board.pin_label(other)
        if scope.kinds[entry.part] == CRYSTAL:
            why = f"it goes to {label} of a crystal or an oscillator"
            return Verdict(KEPT, "clock input", why, "the part at the far end")
        role = pin_role(entry.name, entry.number)
        if scope.kinds[entry.part] == AMPLIFIER and scope.kind != LOGIC:
            why = f"it goes to {label} of an amplifier: which analogue function must its pin have?"
            return Verdict(ASKED, "function unknown", why, "the part at the far end")
        if role in ("debug", "USB", "radio") and len(ev.board.parts[entry.part].pins) > 2:
            why = f"it goes to {label}, {_a(role)} pin by its name ({entry.name})"
            return Verdict(KEPT, f"{role} net", why, "the pin at the far end")
    return None


def _fixed_function(scope: Scope, pin: int) -> Verdict | None:
    ev, entry = scope.ev, scope.ev.board.pins[pin]
    if (
        is_port(entry.name, entry.number)
        or pin in ev.functions
        or pin_class(ev, pin) == "analogue-only"
    ):
        return None
    if not entry.name:
        return Verdict(KEPT, "no name", "nothing is known of what it can do", "no pin name")
    why = f"its name, {entry.name}, is not that of a general-purpose pin"
    return Verdict(KEPT, "fixed function", why, ev.said_by[pin])


def _strap(scope: Scope, pin: int) -> Verdict | None:
    """A pin that a resistor pulls and nobody else uses may be read at start-up."""
    ev = scope.ev
    net = ev.board.pins[pin].net
    if net == NONE:
        return None
    others = [p for p in ev.on_net[net] if p != pin]
    pulled = [p for p in others if _pull(ev, p)]
    if pulled and len(pulled) == len(others):
        label = ev.board.parts[ev.board.pins[pulled[0]].part].ref
        why = f"{label} pulls it and nothing else is on its net: is it read at start-up?"
        return Verdict(ASKED, "pulled only", why, "the net's parts")
    return None


def _pull(ev: Evidence, pin: int) -> bool:
    part = ev.board.parts[ev.board.pins[pin].part]
    if prefix(part.ref) != "R" or len(part.pins) != 2:
        return False
    return any(ev.board.pins[p].net in ev.supply for p in part.pins if p != pin)


def _in_logic(scope: Scope, pin: int) -> Verdict | None:
    """Clock inputs, strobed memory and unknown banks of programmable logic."""
    if scope.kind != LOGIC:
        return None
    net = scope.ev.net(pin)
    if net and clock_net(net):
        why = f"{net} is called like a clock that drives logic: only clock inputs take it"
        return Verdict(KEPT, "clock input", why, "the net's name")
    byte = _BYTE.fullmatch(last_word(net))
    if byte and byte[1] in scope.strobed:
        why = f"{net} belongs to a strobed memory: only inside the byte of its strobe"
        return Verdict(KEPT, "memory byte", why, "the net's name")
    if scope.banks.several and pin not in scope.banks.of:
        why = "the banks of this part have different supplies: which of them feeds this pin?"
        return Verdict(ASKED, "bank unknown", why, "the supply pins' nets")
    return None


def _by_function(scope: Scope, pin: int) -> Verdict | None:
    """A controller's pin by what its net needs and the pin can do."""
    if scope.kind == LOGIC:
        return None
    ev, net = scope.ev, scope.ev.net(pin)
    functions = known_functions(ev, pin)
    need, how = wanted(ev, pin)
    chosen = ev.chosen.get(pin, "")
    if chosen and not need and pin in ev.complete:
        why = f"the schematic chooses {chosen}, the table of functions has it not: which is right?"
        return Verdict(ASKED, "need unknown", why, "the schematic against the table")
    if need and len([p for p in scope.part.pins if ev.net(p) == net]) > 1 and net:
        why = f"{net} is on several pins of {scope.part.ref}: which function must each have?"
        return Verdict(ASKED, "need unknown", why, "the part's nets")
    if need:
        names = " or ".join(function.name for function in need)
        return Verdict(FREE, "known need", f"{net or 'it'} needs {names}", how)
    nets = [net, *(ev.board.nets[n] for n in ev.beyond.get(ev.board.pins[pin].net, ()))]
    bus = next((n for n in nets if n and bus_word(n)), "")
    if bus:
        why = f"{bus} is called like a peripheral's signal: which function must its pin have?"
        return Verdict(ASKED, "function unknown", why, "the net's name")
    if _lane(scope, net):
        why = (
            f"{net} is a lane of a bus with a clock or a command: which function must its pin have?"
        )
        return Verdict(ASKED, "function unknown", why, "the nets' names")
    doubt = _hint(scope, pin)
    if doubt:
        why = f"{doubt}: which function must its pin have?"
        return Verdict(ASKED, "function unknown", why, "the parts on its net")
    if functions and net:
        why = f"it can be {', '.join(f.name for f in functions[:3])}: does {net} need one of them?"
        return Verdict(ASKED, "need unknown", why, ev.function_source.get(pin, "the pin's name"))
    return None


def _hint(scope: Scope, pin: int) -> str:
    """What the parts on a net say of it: a peripheral's pin, a filter; "" for nothing."""
    ev = scope.ev
    for other in ev.others(pin):
        entry = ev.board.pins[other]
        part = ev.board.parts[entry.part]
        if scope.kinds[entry.part] != CONNECTOR and len(part.pins) > 2 and _serves(entry):
            return f"it goes to {ev.board.pin_label(other)}, called {entry.name}"
        tied = [p for p in part.pins if ev.board.pins[p].net in ev.supply]
        if prefix(part.ref) == "C" and len(part.pins) == 2 and tied:
            return f"{part.ref} filters it, as it does an analogue signal"
    if interrupt(ev.net(pin)) and re.match(r"P[A-K]_?\d", ev.board.pins[pin].name):
        return "it interrupts, and pins of one number may share their interrupt"
    return ""


def _serves(far: Pin) -> bool:
    """Whether the pin at the far end is a peripheral's; one that is a port can be anything."""
    if pin_role(far.name, far.number) == "flash bus":
        return True
    words = pieces(far.name, far.number)
    return not is_port(far.name, far.number) and any(bus_word(word) for word in words)


def _lane(scope: Scope, net: str) -> bool:
    """Whether ``net`` is STEM_D0 or the like, beside STEM_CLK or STEM_CMD on the same part."""
    found = _LANE.fullmatch(last_word(net))
    if not found:
        return False
    words = {last_word(scope.ev.net(pin)) for pin in scope.part.pins}
    return bool(words & {f"{found[1]}{end}" for end in ("CLK", "CK", "CMD", "SCK", "WR", "RD")})


def _a(word: str) -> str:
    return f"an {word}" if word[0] in "aeiou" else f"a {word}"


_RULES: tuple[Callable[[Scope, int], Verdict | None], ...] = (
    _never,
    _by_type,
    _far_end,
    _fixed_function,
    _strap,
    _in_logic,
    _by_function,
)
