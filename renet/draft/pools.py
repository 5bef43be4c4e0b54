"""Pools of programmable parts: general-purpose pins, class by class, with their domains."""

from __future__ import annotations

from renet.draft.evidence import Evidence
from renet.draft.kinds import LOGIC, MODULE, UNKNOWN
from renet.draft.lanes import lanes
from renet.draft.pins import Scope, judge, never, pin_class, scope_of
from renet.draft.records import ASKED, FREE, KEPT, Entry, Found, Line, Verdict
from renet.model import NONE, Part


def programmable(ev: Evidence, index: int, kinds: dict[int, str]) -> Found:
    """Pools and domains of a controller or of programmable logic."""
    scope = scope_of(ev, index, kinds)
    pins = ev.ordered(scope.part)
    verdicts = {pin: judge(scope, pin) for pin in pins}
    entries: list[Entry] = []
    units = lanes(ev, scope.part, verdicts) if scope.kind != LOGIC else []
    in_units = {pin for pin, verdict in verdicts.items() if verdict.kind == "bus lane"}
    traded = [p for p in pins if verdicts[p].state != KEPT and p not in in_units]
    for name in sorted({pin_class(ev, pin) for pin in traded}):
        mine = [p for p in traded if pin_class(ev, p) == name]
        entries += _pool(scope, name, mine, verdicts)
    entries += units
    entries += _domains(scope, verdicts)
    return Found(tuple(entries), tuple(verdicts.items()))


def _pool(scope: Scope, name: str, pins: list[int], verdicts: dict[int, Verdict]) -> list[Entry]:
    """The pool of one class; a lone pin is kept, nobody may trade with it."""
    ev, part = scope.ev, scope.part
    carrying = [pin for pin in pins if ev.board.pins[pin].net != NONE]
    if len(pins) < 2 or not carrying:
        for pin in pins:
            why = f"no other {name or 'general-purpose'} pin of {part.ref} to trade with"
            verdicts[pin] = Verdict(KEPT, "alone", why, verdicts[pin].evidence)
        return []
    free = [pin for pin in pins if verdicts[pin].state == FREE]
    kind = "programmable logic" if scope.kind == LOGIC else "a controller"
    title = [f"{part.ref} {part.value}: {kind} by its pin names; {name or 'general-purpose'} pins."]
    if name:
        title.append(f"Like for like: {name} pins trade with {name} pins only.")
    if len(free) < 2:
        title.append("? All but one are in doubt: take the marks away where the answer is yes.")
    lines = tuple(
        Line(ev.board.pins[p].number, note(ev, p, verdicts[p]), verdicts[p].state == ASKED)
        for p in pins
    )
    fields = (("part", part.ref), ("pins", lines))
    key = f"pool {part.ref} {name}".strip()
    if len(free) < 2:
        for pin in free:
            why = "the others of its kind are in doubt"
            verdicts[pin] = Verdict(ASKED, "others in doubt", why, verdicts[pin].evidence)
    return [Entry(key, "pool", tuple(title), fields, asked=len(free) < 2)]


def note(ev: Evidence, pin: int, verdict: Verdict) -> str:
    """What stands beside a pin: name, net, and why where that is not plain."""
    entry = ev.board.pins[pin]
    net = ev.net(pin)
    said = " ".join(filter(None, (entry.name, net or "spare")))
    if verdict.kind == "general purpose":
        return said
    why = verdict.why
    return f"{said}: {'it' + why[len(net) :] if net and why.startswith(f'{net} ') else why}"


def _domains(scope: Scope, verdicts: dict[int, Verdict]) -> list[Entry]:
    """One domain for each net that feeds a bank, where it matters."""
    ev, part = scope.ev, scope.part
    fed: dict[str, list[int]] = {}
    for pin in ev.ordered(part):
        if pin in scope.banks.of and verdicts[pin].state != KEPT:
            fed.setdefault(scope.banks.of[pin], []).append(pin)
    found = []
    for net, pins in sorted(fed.items()):
        title = (
            f"{part.ref}: pins of banks that {net} feeds, by the supply pins' names and nets.",
        )
        lines = tuple(Line(ev.board.pin_label(pin), ev.board.pins[pin].name) for pin in pins)
        name = f"{part.ref} fed by {net}"
        fields = (("name", name), ("pins", lines))
        found.append(Entry(f"domain {part.ref} {net}", "domain", title, fields))
    return found


def in_doubt(ev: Evidence, part: Part, kind: str) -> Found:
    """A part of which only the engineer knows whether its pins may be traded."""
    verdicts: dict[int, Verdict] = {}
    question = {
        UNKNOWN: "are these pins programmable? Nothing is said of them but their nets",
        MODULE: "does it stand for rows of sockets that mate with something off the board?",
    }[kind]
    for pin in ev.ordered(part):
        verdict = never(ev, pin)
        if verdict is None and ev.board.pins[pin].net == NONE:
            verdict = Verdict(
                KEPT, "open", "it carries no net, and what it is is not known", "no net"
            )
        verdicts[pin] = verdict or Verdict(ASKED, f"{kind} part", question, "the part's shape")
    asked = [pin for pin, verdict in verdicts.items() if verdict.state == ASKED]
    if len(asked) < 2:
        return Found(
            (), tuple((p, v if v.state == KEPT else _alone(part)) for p, v in verdicts.items())
        )
    title = (f"? {part.ref} {part.value}: {question}.", "Then take the marks away.")
    lines = tuple(Line(ev.board.pins[pin].number, ev.net(pin)) for pin in asked)
    fields = (("part", part.ref), ("pins", lines))
    entry = Entry(f"pool {part.ref}", "pool", title, fields, asked=True)
    return Found((entry,), tuple(verdicts.items()))


def _alone(part: Part) -> Verdict:
    return Verdict(KEPT, "alone", f"no other pin of {part.ref} to trade with", "the part's pins")
