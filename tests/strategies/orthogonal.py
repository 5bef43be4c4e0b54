"""Fields for small engine problems: escapes and cells on a coarse grid, so that ties abound."""

from __future__ import annotations

import numpy as np
from hypothesis import strategies as st

from renet.engine.problem import Problem
from renet.orthogonal.cells import Cells
from renet.orthogonal.escapes import ANY, STEPS, Escape
from renet.orthogonal.field import Field
from strategies.problems import MM

OUT = 3 * MM // 2


@st.composite
def escapes(draw: st.DrawFn, at: tuple[int, int]) -> Escape:
    """A pad that leaves in one direction, or in two, on some layer."""
    sides = draw(st.lists(st.integers(0, 3), min_size=1, max_size=2, unique=True))
    exits = tuple(
        (side, (at[0] + STEPS[side][0] * OUT, at[1] + STEPS[side][1] * OUT))
        for side in sorted(sides)
    )
    low, high = draw(st.integers(0, 2)), draw(st.integers(0, 2))
    body = (at[0] - low * OUT, at[1] - high * OUT, at[0] + high * OUT, at[1] + low * OUT)
    layer = draw(st.sampled_from([ANY, 0, 1]))
    drop, ways, fixed = draw(st.integers(0, 1)), draw(st.integers(1, 3)), draw(st.booleans())
    return Escape(at, exits, layer, drop, ways, body, fixed)


@st.composite
def fields(draw: st.DrawFn, problem: Problem) -> Field:
    """A field for the pads of a problem."""
    cols = problem.cols
    points = zip(cols.x.tolist(), cols.y.tolist(), strict=True)
    columns, rows = draw(st.integers(1, 4)), draw(st.integers(1, 4))
    room = draw(
        st.lists(
            st.sampled_from([0, 500, 1000, 2000]),
            min_size=2 * columns * rows,
            max_size=2 * columns * rows,
        )
    )
    cells = Cells(0, 0, 2 * MM, columns, rows, np.array(room, dtype=np.int64))
    return Field(
        tuple(draw(escapes(point)) for point in points),
        cells,
        draw(st.sampled_from([MM // 7, MM // 4, MM, 3 * MM])),
        problem.weight,
    )


@st.composite
def posed(draw: st.DrawFn, problems: st.SearchStrategy[Problem]) -> tuple[Problem, Field]:
    """A problem with its field."""
    problem = draw(problems)
    return problem, draw(fields(problem))
