"""All hand-over files of an applied change list: for schematic, firmware, test and change board."""

from __future__ import annotations

import re

from renet.changes import ChangeList
from renet.report.deed import Deed
from renet.report.exchanges import exchanges
from renet.report.pinmaps import devicetree_text, header_text, map_csv, map_json
from renet.report.record import record_json, record_markdown
from renet.report.routes import touched
from renet.report.tables import csv_text

_CONNECTOR = re.compile(r"(?:J|P|X|CN|CON|XS|XP)\d", re.IGNORECASE)
_TEST = re.compile(r"TP\d", re.IGNORECASE)


def hand_over(deed: Deed) -> dict[str, str]:
    """Texts by file name."""
    return {
        "pins.csv": map_csv(deed),
        "pins.json": map_json(deed),
        "pins.h": header_text(deed),
        "pins.dtsi.template": devicetree_text(deed),
        "test-points.csv": points_csv(deed),
        "change-record.json": record_json(deed),
        "change-record.md": record_markdown(deed),
        "was-is.csv": was_is_csv(deed.changes),
        "exchanges.csv": exchanges_csv(deed.changes),
    }


def was_is_csv(changes: ChangeList) -> str:
    """What each pin had and gets: all that was is read before anything is written."""
    header = ("part", "pin", "name", "was", "is")
    return csv_text(header, ((m.part, m.pin, m.name, m.was, m.is_) for m in changes.moves))


def exchanges_csv(changes: ChangeList) -> str:
    """Steps in order, for editors that can only trade the nets of two pins at a time."""
    header = ("step", "swap", "part", "pin", "with part", "with pin", "note")
    rows: list[tuple[object, ...]] = []
    for swap in changes.swaps:
        steps = exchanges(swap)
        if steps is None:
            rows.append((swap.id, "", "", "", "", "no exchange does this: see was-is.csv"))
        rows += [(swap.id, *step.one, *step.two, "") for step in steps or ()]
    return csv_text(header, ((number, *row) for number, row in enumerate(rows, start=1)))


def points_csv(deed: Deed) -> str:
    """Test points and connectors on nets that moved: what a fixture or a cable may meet there."""
    nets = set(touched(deed.changes.swaps))
    after = deed.after()
    moved = {(move.part, move.pin) for move in deed.changes.moves}
    rows = []
    for key in deed.pins_of({part for part, _ in deed.pins}):
        was, is_ = deed.pins[key].net, after[key].net
        kind = _kind(deed, key[0])
        if kind and (key in moved or is_ in nets):
            rows.append((*key, kind, was, is_, "yes" if key in moved else ""))
    return csv_text(("part", "pin", "kind", "was", "is", "moved"), rows)


def _kind(deed: Deed, part: str) -> str:
    """What the reference or the footprint says; "" for neither."""
    fact = deed.parts.get(part)
    footprint = fact.footprint.lower() if fact else ""
    if _TEST.match(part) or "test" in footprint:
        return "test point"
    if _CONNECTOR.match(part) or any(w in footprint for w in ("conn", "header", "socket", "plug")):
        return "connector"
    return ""
