"""The review page: one HTML file that needs nothing else and asks nobody.

Everything from files is escaped where it enters the text: markup through
``html.escape``, data as JSON with no ``<`` in it.  The security policy allows
the page's own script and style by their hashes and nothing from anywhere.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterator, Mapping, Sequence
from html import escape
from pkgutil import get_data
from string import Template

from renet.changes import Figures, Move, Swap
from renet.report.buttons import net_button
from renet.report.cautions import OF_MOVES
from renet.report.frontier import frontier_section
from renet.report.pagedata import data_text
from renet.report.remaining import remaining_section
from renet.report.summary import NO_COPPER, figures_words
from renet.report.svg import LEGEND, body
from renet.report.tables import shown
from renet.report.view import View

_SCRIPTS = ("exact.js", "tangle.js", "review.js")
_REMAINING = "$remaining"
_LABELS = {
    "crossings": "crossings",
    "overlaps": "overlaps",
    "over_pads": "over foreign pads",
    "length_mm": "length, mm",
}


def view_page(view: View) -> str:
    """The review page of a view."""
    return "".join(page_pieces(view))


def page_pieces(view: View) -> Iterator[str]:
    """The review page in pieces: what holds thousands of crossings is long."""
    frame = view.frame
    style, script = _own("review.css"), _script()
    pins = {view.board.pin_key(pin): pin for pin in range(len(view.board.pins))}
    nets = {net: index for index, net in enumerate(view.board.nets)}
    fields = {
        "policy": _policy(script, style),
        "title": escape(f"Proposed swaps for {shown(view.name)}"),
        "lead": escape(_lead(view)),
        "style": style,
        "script": script,
        "figures": "".join(_figure_row(name) for name in Figures._fields),
        "body": body(view),
        "box": f"0 0 {frame.width} {frame.height}",
        "legend": "".join(_legend_item(*entry) for entry in LEGEND),
        "swaps": "".join(_swap_item(swap, pins, nets) for swap in view.changes.swaps),
        "cautions": "".join(f"<li>{escape(caution)}</li>" for caution in OF_MOVES),
        "frontier": frontier_section(view.frontier),
        "kept": _kept(view),
        "leftout": _left_out(view),
        "data": data_text(view, frame),
    }
    above, below = _own("review.html").split(_REMAINING)
    yield Template(above).substitute(fields)
    yield from remaining_section(view, nets)
    yield Template(below).substitute(fields)


def _own(name: str) -> str:
    found = get_data("renet.report", f"review/{name}")
    assert found is not None
    return found.decode("utf-8")


def _script() -> str:
    parts = "".join(_own(name) for name in _SCRIPTS)
    return f'"use strict";\n(() => {{\n{parts}}})();\n'


def _policy(script: str, style: str) -> str:
    return (
        f"default-src 'none'; script-src {_hash(script)}; style-src {_hash(style)}; "
        "base-uri 'none'; form-action 'none'"
    )


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"


def _lead(view: View) -> str:
    swaps, moves = len(view.changes.swaps), len(view.changes.moves)
    copper = f"existing copper: {view.changes.copper}" if view.knows_copper else NO_COPPER
    return (
        f"{swaps} swaps move {moves} pins; {copper}. "
        "Nothing is approved: tick what you accept, then save the selection."
    )


def _figure_row(name: str) -> str:
    cells = "".join(f'<td><data id="{which}-{name}"></data></td>' for which in ("before", "now"))
    change = f'<td><data id="change-{name}"></data></td>'
    return f'<tr><th scope="row">{_LABELS[name]}</th>{cells}{change}</tr>'


def _legend_item(kind: str, path: str, words: str) -> str:
    stroke = ' stroke-width="26"' if kind.startswith("track") else ""
    sample = f'<path class="{kind}"{stroke} d="M40 60{path}"/>'
    return f'<li><svg viewBox="0 0 380 120" aria-hidden="true">{sample}</svg>{words}</li>'


Ids = Mapping[tuple[str, str], int]


def _swap_item(swap: Swap, pins: Ids, nets: Mapping[str, int]) -> str:
    rows = "".join(_move_row(move, pins, nets) for move in swap.moves)
    worth = [("alone", swap.alone), ("left out", swap.lost_without)]
    lines = "".join(
        f'<p class="worth">{word}: {escape(figures_words(figures))}</p>'
        for word, figures in worth
        if figures is not None
    )
    count = len(swap.moves)
    return (
        f'<li id="swap-{swap.id}"><h3><label><input type="checkbox" checked '
        f'data-swap="{swap.id}">Swap {swap.id}, {count} pin{"" if count == 1 else "s"}</label></h3>'
        f'{lines}<table class="moves"><thead><tr><th scope="col">pin</th><th scope="col">function'
        f'</th><th scope="col">was</th><th scope="col">becomes</th></tr></thead>'
        f"<tbody>{rows}</tbody></table></li>"
    )


def _move_row(move: Move, pins: Ids, nets: Mapping[str, int]) -> str:
    label = escape(shown(f"{move.part}:{move.pin}"))
    pin = (
        f'<button type="button" aria-pressed="false" data-pin="{pins[move.part, move.pin]}" '
        f'aria-label="Light up pin {label}">{label}</button>'
    )
    cells = (pin, escape(shown(move.name)), net_button(move.was, nets), net_button(move.is_, nets))
    return "<tr>" + "".join(f"<td>{cell}</td>" for cell in cells) + "</tr>"


def _kept(view: View) -> str:
    """Pins that a pool or a unit names and that stay, those with one reason together."""
    by_reason: dict[str, list[str]] = {}
    for pin, why in view.kept:
        by_reason.setdefault(why, []).append(view.board.pin_label(pin))
    rows = [f"{why}: {', '.join(pins)}" for why, pins in by_reason.items()]
    return _listed("h-kept", "Named pins that stay, and why", rows)


def _left_out(view: View) -> str:
    rows = [f"{view.board.nets[net]}: {why}" for net, why in view.left_out.items()]
    return _listed("h-out", "Nets left out of the figures", rows)


def _listed(name: str, heading: str, rows: Sequence[str]) -> str:
    if not rows:
        return ""
    items = "".join(f"<li>{escape(shown(row))}</li>" for row in rows)
    title = f'<h2 id="{name}">{heading}</h2>'
    return f'<section aria-labelledby="{name}">{title}<ul>{items}</ul></section>'
