"""Connectors: standard ones are kept, plain headers asked about."""

from __future__ import annotations

from renet.draft.connectors import standard
from renet.draft.evidence import Evidence
from renet.draft.lanes import orders, pair_lanes
from renet.draft.pins import never
from renet.draft.records import ASKED, KEPT, Entry, Found, Line, Verdict
from renet.model import NONE, Part


def connector(ev: Evidence, part: Part) -> Found:
    """Verdicts on a connector's pins, and the question whether both ends are ours."""
    name = standard(ev, part)
    pins = ev.ordered(part)
    if name:
        why = f"{part.ref} looks like {name}, whose far end is not on the board"
        kept = Verdict(KEPT, "standard connector", why, "part shape, names and nets")
        return Found((), tuple((pin, never(ev, pin) or kept) for pin in pins))
    verdicts: dict[int, Verdict] = {}
    for pin in pins:
        verdict = never(ev, pin)
        if verdict is None and ev.board.pins[pin].net == NONE:
            verdict = Verdict(KEPT, "open", "nothing is connected to it here", "no net")
        why = f"{part.ref} mates with something off the board: are both ends ours?"
        verdicts[pin] = verdict or Verdict(ASKED, "plain header", why, "part shape")
    units = pair_lanes(ev, part, verdicts)
    asked = [pin for pin, verdict in verdicts.items() if verdict.kind == "plain header"]
    if len(asked) < 2:
        why = "the only signal of its connector"
        only = Verdict(KEPT, "alone", why, "the connector's nets")
        return Found(tuple(units), tuple({**verdicts, **dict.fromkeys(asked, only)}.items()))
    title = (
        f"? {part.ref} {part.value}: are both ends of this connector ours, so that it may change?",
        "Then take the marks away; a [[mate]] says where the other end is.",
    )
    lines = tuple(Line(ev.board.pins[pin].number, ev.net(pin)) for pin in asked)
    fields = (("part", part.ref), ("pins", lines), ("cost_mm", 20.0))
    entry = Entry(f"pool {part.ref}", "pool", title, fields, asked=True)
    in_pool = {pin: verdict for pin, verdict in verdicts.items() if pin in asked}
    entries = (entry, *units, *orders(ev, part, in_pool, ASKED))
    return Found(entries, tuple(verdicts.items()))
