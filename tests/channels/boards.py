"""Made boards that several tests of the planner use."""

from __future__ import annotations

from channels.test_plan import two_rows

from renet.channels import plan
from renet.channels.job import Outlook, outlook
from renet.channels.obstacles import obstacles_of
from renet.pipeline import Inputs, Named, Options


def strait(pins: list[int], low: float = 14, high: float = 17) -> bytes:
    """Two rows as in :func:`two_rows`, and between them a wall with a gap from ``low`` to ``high``.

    The wall is 4 mm thick, of no tracks and no vias on any layer; the gap is in mm.
    """
    wall = "".join(
        f'(zone (net 0) (net_name "") (layers "*.Cu") (min_thickness 0.2) '
        "(keepout (tracks not_allowed) (vias not_allowed)) "
        f"(polygon (pts (xy 18 {y0}) (xy 22 {y0}) (xy 22 {y1}) (xy 18 {y1}))))"
        for y0, y1 in ((1, low), (high, 34))
    )
    return two_rows(pins)[:-1] + wall.encode() + b")"


def planning(data: bytes, name: str = "made") -> tuple[Outlook, plan._Job]:
    """The plan of a board, and what to make others of it with."""
    one = outlook(Inputs(Named(name, data)), Options())
    site, directions, sizes = one.site, one.plan.directions, one.plan.sizes
    return one, plan._Job(site, directions, sizes, obstacles_of(site.board, site.counted))
