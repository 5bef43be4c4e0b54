"""Made boards that several tests of the planner use."""

from __future__ import annotations

from channels.test_plan import two_rows


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
