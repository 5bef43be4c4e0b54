"""Path text against a plain reader of it, and arcs against the circle through their points."""

from __future__ import annotations

import math
import re

from hypothesis import assume, given
from hypothesis import strategies as st

from renet.report.paths import UNIT, Frame, arc, polyline

WHOLE = st.integers(-40_000, 40_000)
POINT = st.tuples(WHOLE, WHOLE)


def walked(text: str) -> list[tuple[int, int]]:
    """The corners of one relative path piece, as the SVG grammar reads it."""
    found = re.fullmatch(r"M(-?\d+) ?(-?\d+)(?:h0|l([-\d ]+)(z?))", text)
    assert found, text
    at = (int(found[1]), int(found[2]))
    points = [at]
    steps = [int(n) for n in re.findall(r"-?\d+", found[3] or "")]
    for dx, dy in zip(steps[::2], steps[1::2], strict=True):
        at = (at[0] + dx, at[1] + dy)
        points.append(at)
    return points


@given(st.lists(POINT, min_size=1, max_size=12), st.booleans())
def test_a_path_walks_the_points_without_repeats(
    points: list[tuple[int, int]], closed: bool
) -> None:
    expected = [p for i, p in enumerate(points) if i == 0 or p != points[i - 1]]
    assert walked(polyline(points, closed)) == expected


@given(st.integers(20, 5000), st.floats(0, 6.28), st.floats(0.2, 5.5), st.booleans())
def test_an_arc_has_the_flags_of_its_sweep(
    radius: int, start: float, sweep: float, clockwise: bool
) -> None:
    """Over half a turn is a large arc; growing angles, y down, are flag 1 (SVG 1.1, 8.3.8)."""
    assume(abs(sweep - math.pi) > 0.2)
    turned = sweep if clockwise else -sweep
    far = radius * UNIT
    at = [
        (round(far * math.cos(start + t * turned)), round(far * math.sin(start + t * turned)))
        for t in (0.0, 0.5, 1.0)
    ]
    found = re.fullmatch(r"M.*A(\d+) \1 0 ([01]) ([01]) .*", arc(at, Frame((0, 0), 1, 1)))
    assert found
    assert int(found[1]) == radius
    assert (found[2] == "1") == (sweep > math.pi)
    assert (found[3] == "1") == clockwise
