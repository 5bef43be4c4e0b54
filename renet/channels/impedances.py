"""What a planned track is as a line, layer by layer: impedance and delay from the stack-up.

Two closed forms for each, so that their difference shows how far either can be
trusted: 5 to 8 % here.  Layers that see no plane have no line impedance of their own.
"""

from __future__ import annotations

from typing import NamedTuple

from renet.channels import lines
from renet.channels.crossovers import height_over_plane, impedance
from renet.channels.plan import Plan
from renet.channels.stackup import gaps
from renet.model import Board

COPPER_NM = 35_000


class Line(NamedTuple):
    """Ohm by the exact and by the handbook form, ps/mm; ``height`` to the nearest plane in nm."""

    layer: int
    height: int
    er: float
    exact: float
    handbook: float
    delay: float


def lines_of(board: Board, plan: Plan) -> list[Line]:
    """The planned track on every layer that has a plane somewhere, front to back."""
    stack, _ = gaps(board)
    copper = {sheet.copper: sheet.thickness for sheet in board.stackup if sheet.copper >= 0}
    found = []
    for layer in plan.ground.layers:
        height = height_over_plane(plan.directions.ways, stack, layer)
        if height == float("inf"):
            continue
        er = stack[min(layer, len(stack) - 1)][1]
        thick = copper.get(layer) or COPPER_NM
        found.append(_line(plan, stack, (layer, int(height), er, thick)))
    return found


def _line(plan: Plan, stack: list[tuple[int, float]], where: tuple[int, int, float, int]) -> Line:
    layer, height, er, thick = where
    width = float(plan.sizes.track)
    exact = impedance(plan, stack, layer)
    if layer in (0, len(plan.directions.ways) - 1):
        handbook = lines.thick_microstrip(width, height, thick, er)
        effective = lines.microstrip(width, height, er)[1]
    else:
        handbook, effective = lines.thick_stripline(width, 2 * height, thick, er), er
    return Line(layer, height, er, exact, handbook, lines.delay(effective))
