"""The change record: what a change board reads, with the lines that only people can fill.

Fields follow what facts of the trade ask of an engineering change (was and is,
reason, what else is affected, file digests, approvals); title data are named
after ISO 7200.  Nothing here approves anything.
"""

from __future__ import annotations

import json
from typing import Any

from renet.changes import Move, Swap
from renet.report.cautions import OF_MOVES
from renet.report.deed import Deed
from renet.report.differences import marked
from renet.report.summary import before_after
from renet.report.tables import net_shown

BLANKS = ("originator", "checker", "approver")
_REASON = "a pinout that is easier to route"


def change_record(deed: Deed) -> dict[str, Any]:
    """The record; None stands for what is blank or not known."""
    return {
        "schema": "renet/change/1",
        "status": "not approved",
        "title": f"Pin changes on {deed.source[0]}",
        "document_type": "engineering change",
        "identification_number": None,
        "revision_index": None,
        "legal_owner": None,
        "date_of_issue": deed.date,
        "language": "en",
        **dict.fromkeys(BLANKS),
        "reason": _REASON,
        "effective_from": None,
        "disposition_of_stock": None,
        "source": {"file": deed.source[0], "sha256": deed.source[1]},
        "result": {"file": deed.result[0], "sha256": deed.result[1]},
        "tool": {"name": "renet", "version": deed.version},
        "options": {"copper": deed.changes.copper, "seed": None, "swaps": _ids(deed)},
        "figures": None if deed.figures is None else _figures(deed),
        "changes": [
            _entry(deed, number, swap, move)
            for number, (swap, move) in enumerate(_moves(deed), start=1)
        ],
        "cautions": list(OF_MOVES),
    }


def record_json(deed: Deed) -> str:
    """The record for programs."""
    return json.dumps(change_record(deed), indent=1, ensure_ascii=True) + "\n"


def record_markdown(deed: Deed) -> str:
    """The record for people."""
    record = change_record(deed)
    lines = [f"# {marked(record['title'])}", "", f"Status: **{record['status']}**", ""]
    for word in BLANKS:
        lines += [f"{word.capitalize()}: ______________________  Date: ____________", ""]
    lines += [f"- identification number: {'_' * 20}", f"- date of issue: {deed.date}"]
    lines += [f"- reason: {_REASON}", f"- effective from: {'_' * 20}"]
    lines.append(f"- disposition of stock: {'_' * 20}")
    for word, (name, digest) in (("source", deed.source), ("result", deed.result)):
        lines.append(f"- {word}: {marked(name)}, SHA-256 {digest}")
    lines.append(f"- tool: renet {marked(deed.version)}, copper: {deed.changes.copper}")
    if deed.figures is not None:
        lines += ["", "## Figures", "", before_after(*deed.figures)]
    lines += ["", "## Changes", "", "| no | swap | part | pin | was | is | firmware |"]
    lines.append("|---|---|---|---|---|---|---|")
    lines += [_row(entry) for entry in record["changes"]]
    lines += ["", "## Cautions", "", *(f"- {caution}" for caution in OF_MOVES), ""]
    return "\n".join(lines)


def _row(entry: dict[str, Any]) -> str:
    part = f"{entry['part']} {entry['value']}".rstrip()
    pin = f"{entry['pin']} {entry['pin_name']}".rstrip()
    cells = [part, pin, net_shown(entry["was"]), net_shown(entry["is"])]
    told = [str(entry["sequence"]), str(entry["swap"]), *map(marked, cells)]
    return "| " + " | ".join([*told, entry["firmware_impact"]]) + " |"


def _moves(deed: Deed) -> list[tuple[Swap, Move]]:
    return [(swap, move) for swap in deed.changes.swaps for move in swap.moves]


def _ids(deed: Deed) -> list[int]:
    return [swap.id for swap in deed.changes.swaps]


def _figures(deed: Deed) -> dict[str, Any]:
    assert deed.figures is not None
    return {"before": deed.figures[0]._asdict(), "after": deed.figures[1]._asdict()}


def _entry(deed: Deed, number: int, swap: Swap, move: Move) -> dict[str, Any]:
    permit = deed.permits.get((move.part, move.pin))
    value = deed.parts[move.part].value if move.part in deed.parts else ""
    return {
        "sequence": number,
        "swap": swap.id,
        "kind": permit.kind if permit else None,
        "rule": permit.rule if permit else None,
        "part": move.part,
        "value": value,
        "pin": move.pin,
        "pin_name": move.name,
        "was": move.was,
        "is": move.is_,
        "other_ends": _other_ends(deed, move),
        "locked": None,
        "safety_related": None,
        "firmware_impact": "yes" if move.name else "no",
        "firmware_text": _firmware(move),
        "alone": None if swap.alone is None else swap.alone._asdict(),
    }


def _other_ends(deed: Deed, move: Move) -> list[str]:
    """Where else the pin's new net stands."""
    if move.is_ is None:
        return []
    own = (move.part, move.pin)
    after = deed.after()
    return [":".join(key) for key, seat in after.items() if seat.net == move.is_ and key != own]


def _firmware(move: Move) -> str:
    if not move.name:
        return "the pin has no function of its own"
    return f"{move.name} of {move.part}: {move.was or 'open'} becomes {move.is_ or 'open'}"
