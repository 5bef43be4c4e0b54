"""The plan as SVG: outline, pads, pieces by direction, vias; blocked connections are dashed."""

from __future__ import annotations

from html import escape

from renet.channels.job import Outlook
from renet.channels.routes import Route
from renet.report.tables import shown

COLOURS = {"h": "#b8442f", "v": "#2f62b8"}
BLOCKED = "#c79500"


def channels_svg(one: Outlook) -> str:
    """A drawing in millimetres of the board, self-contained."""
    lattice, board = one.plan.ground.lattice, one.scene.board
    wide, high = lattice.columns * lattice.pitch / 1e6, lattice.rows * lattice.pitch / 1e6
    x, y = lattice.x / 1e6 - 2, lattice.y / 1e6 - 2
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{x:g} {y:g} {wide + 4:g} {high + 4:g}" '
        f'width="{4 * (wide + 4):g}" height="{4 * (high + 4):g}">',
        f"<title>{escape(shown(one.name))}: orthogonal plan</title>",
        f'<rect x="{x:g}" y="{y:g}" width="{wide + 4:g}" height="{high + 4:g}" fill="#ffffff"/>',
    ]
    for line in board.edge:
        points = " ".join(f"{a / 1e6:g},{b / 1e6:g}" for a, b in line)
        parts.append(f'<polyline points="{points}" fill="none" stroke="#555" stroke-width="0.15"/>')
    for corners in (one.scene.cols.corners / 1e6).tolist():
        points = " ".join(f"{a:g},{b:g}" for a, b in corners)
        parts.append(f'<polygon points="{points}" fill="#cfcfcf"/>')
    for route in one.plan.routes:
        parts += _route(one, route)
    return "\n".join([*parts, "</svg>", ""])


def _route(one: Outlook, route: Route) -> list[str]:
    board, plan = one.scene.board, one.plan
    name = escape(shown(board.nets[route.net]))
    if not route.routed:
        a, b = board.pads[route.a], board.pads[route.b]
        ends = _ends(a.x, a.y, b.x, b.y)
        return [
            f'<line {ends} stroke="{BLOCKED}" stroke-width="0.12" stroke-dasharray="0.5 0.3">'
            f"<title>{name}: blocked</title></line>"
        ]
    width = plan.sizes.track / 1e6
    found = [f"<g><title>{name}</title>"]
    for p in route.pieces:
        way = plan.directions.ways[p.layer]
        ends = _ends(p.x1, p.y1, p.x2, p.y2)
        found.append(
            f'<line {ends} stroke="{COLOURS[way]}" stroke-width="{width:g}" stroke-linecap="round" '
            f'stroke-opacity="0.8"/>'
        )
    for x, y in route.vias:
        found.append(
            f'<circle cx="{x / 1e6:g}" cy="{y / 1e6:g}" r="{plan.sizes.via / 2e6:g}" fill="none" '
            f'stroke="#333" stroke-width="0.1"/>'
        )
    return [*found, "</g>"]


def _ends(x1: int, y1: int, x2: int, y2: int) -> str:
    return f'x1="{x1 / 1e6:g}" y1="{y1 / 1e6:g}" x2="{x2 / 1e6:g}" y2="{y2 / 1e6:g}"'
