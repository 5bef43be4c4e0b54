"""The board before and after as SVG: one picture of each, or both side by side.

Pure text, well formed whatever stands in the names, and no larger than about
1.6 MB on real boards: copper is drawn coarser where it would take more.
"""

from __future__ import annotations

from html import escape
from typing import NamedTuple

from renet.changes import Figures
from renet.report.drawing import HATCHES
from renet.report.overlay import overlay_elements
from renet.report.paths import Frame
from renet.report.tables import shown
from renet.report.view import View, touched_nets
from renet.tangle import Tangle

GAP = 400
MARGIN_LEFT = 200
CAPTION = 620
FOOT = 260
SMALL = 4000
LEGEND = (
    ("link own", "l300 0", "connection of a net that moves"),
    ("link", "l300 0", "other open connection"),
    ("cross", "m150 0h0", "crossing"),
    ("shared", "l300 0", "overlap"),
    ("over", "m150 0h0", "over a foreign pad"),
    ("track front", "l300 0", "front copper"),
    ("track back", "l300 0", "back copper"),
    ("track inner", "l300 0", "inner copper"),
)
"""What the lines and marks mean: class, path of a sample, words."""

_ENTRY = 2250

STYLE = """
.edge{fill:none;stroke:#57534a;stroke-width:14}
.area{stroke:none}.area.front{fill:#d5e6e0}.area.back{fill:#e7dcec}
.track,.via{fill:none;stroke-linecap:round}
.track.front{stroke:#a3cdc2}.track.back{stroke:#cbb0d8;stroke-dasharray:60 34;stroke-linecap:butt}
.track.inner{stroke:#ddd0a4;stroke-dasharray:1 44}.via{stroke:#cfcabc}
.pad{fill:none;stroke-linecap:round;stroke-linejoin:round}
.pad.front{stroke:#4c8f85}.pad.front.filled{fill:#4c8f85}
.pad.back{stroke:url(#hb)}.pad.back.filled{fill:url(#hb)}
.pad.through{stroke:#8d8a80}.pad.through.filled{fill:#8d8a80}
.hg{fill:#d9c4e2}.hl{stroke:#8456a0;stroke-width:8;fill:none}
.link{fill:none;stroke:#4a5568;stroke-width:9;stroke-linecap:round;opacity:.55}
.link.own{stroke:#1f3a8a;stroke-width:15;opacity:.9}
.shared{fill:none;stroke:#b5179e;stroke-width:44;opacity:.55}
.over{fill:none;stroke:#c77d0a;stroke-width:64;stroke-linecap:square;opacity:.6}
.cross{fill:none;stroke:#b3261e;stroke-width:44;stroke-linecap:round}
.moved{fill:none;stroke:#1f3a8a;stroke-width:18}
.paper{fill:#fcfbf8}text{font-family:sans-serif;fill:#2b2a27}
"""


class _Panel(NamedTuple):
    """One state of the board with its heading."""

    title: str
    tangle: Tangle


def svg_text(view: View) -> str:
    """Before and, where something moves, after, side by side in one document."""
    panels = [_Panel("before", view.before)]
    if view.after is not None:
        panels.append(_Panel("after", view.after))
    return _document(view, panels)


def before_svg(view: View) -> str:
    """The board as it is."""
    return _document(view, [_Panel("before", view.before)])


def after_svg(view: View) -> str:
    """The board with all proposed swaps done."""
    return _document(view, [_Panel("after", view.after or view.before)])


def body(view: View) -> str:
    """Patterns, and the board as a group to be used once for each picture."""
    return f'<defs>{HATCHES}<g id="board">{view.drawn}</g></defs>'


def figures_line(figures: Figures) -> str:
    """The four figures in one line."""
    return (
        f"{figures.crossings} crossings, {figures.overlaps} overlaps, "
        f"{figures.over_pads} over pads, {figures.length_mm:.1f} mm"
    )


def _document(view: View, panels: list[_Panel]) -> str:
    frame = view.frame
    across = max(frame.width, SMALL)
    width = across * len(panels) + GAP * (len(panels) - 1)
    rows = -(-len(LEGEND) // max(1, (width - MARGIN_LEFT) // _ENTRY))
    height = frame.height + CAPTION + FOOT * rows
    title = escape(f"{shown(view.name)}: " + " and ".join(p.title for p in panels))
    words = escape("; ".join(f"{p.title}: {figures_line(p.tangle.figures)}" for p in panels))
    drawn = "".join(_panel(view, p, frame, i * (across + GAP)) for i, p in enumerate(panels))
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        f'width="{width / 100:g}mm" height="{height / 100:g}mm" role="img" '
        f'aria-labelledby="t d"><title id="t">{title}</title><desc id="d">{words}</desc>'
        f'<style>{STYLE}</style><path class="paper" d="M0 0h{width}v{height}h-{width}z"/>'
        f"{body(view)}{drawn}{_legend(width, frame.height + CAPTION)}</svg>\n"
    )


def _panel(view: View, panel: _Panel, frame: Frame, x: int) -> str:
    """One picture under its heading and its figures."""
    heading = escape(f"{shown(view.name)}, {panel.title}")
    line = escape(figures_line(panel.tangle.figures))
    drawn = overlay_elements(view, panel.tangle, frame, touched_nets(view))
    return (
        f'<g transform="translate({x})"><text x="{MARGIN_LEFT}" y="260" font-size="230">{heading}'
        f'</text><text x="{MARGIN_LEFT}" y="540" font-size="190">{line}</text>'
        f'<g transform="translate(0 {CAPTION})"><use href="#board"/>{drawn}</g></g>'
    )


def _legend(width: int, top: int) -> str:
    """Samples with their words, in rows below the pictures."""
    across = max(1, (width - MARGIN_LEFT) // _ENTRY)
    parts = []
    for index, (kind, path, words) in enumerate(LEGEND):
        x, y = MARGIN_LEFT + index % across * _ENTRY, top + index // across * FOOT + FOOT // 2
        stroke = ' stroke-width="26"' if kind.startswith("track") else ""
        parts.append(
            f'<path class="{kind}"{stroke} d="M{x} {y}{path}"/>'
            f'<text x="{x + 360}" y="{y + 40}" font-size="110">{words}</text>'
        )
    return "".join(parts)
