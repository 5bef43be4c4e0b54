"""Plans carried over to a finer grid: the same ways there, and room for more of them."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from channels.boards import planning, strait
from hypothesis import given
from hypothesis import strategies as st
from twins.conflicts import complaints

from renet.channels import mend, negotiate, plan
from renet.channels.lattice import Lattice, lay
from renet.channels.record import channels_record
from renet.channels.refine import STEPS, carried, finer
from renet.channels.ways import Way
from renet.model import NONE

Place = tuple[int, int, int]
COARSE = Lattice(1_000, -500, 600, 9, 7)
LAYERS = 3


@st.composite
def walks(draw: st.DrawFn) -> list[Place]:
    """(layer, row, column) along a way: to a neighbour in one of eight directions, or a via."""
    at = (
        draw(st.integers(0, LAYERS - 1)),
        draw(st.integers(0, COARSE.rows - 1)),
        draw(st.integers(0, COARSE.columns - 1)),
    )
    found = [at]
    for turn in draw(st.lists(st.integers(0, 9), max_size=20)):
        layer, row, column = found[-1]
        if turn == 9:
            found.append(((layer + draw(st.integers(1, LAYERS - 1))) % LAYERS, row, column))
            continue
        down, right = turn // 3 - 1, turn % 3 - 1
        inside = 0 <= row + down < COARSE.rows and 0 <= column + right < COARSE.columns
        if inside and (down or right):
            found.append((layer, row + down, column + right))
    return found


def places(way: Way, lattice: Lattice) -> list[Place]:
    """(layer, x, y) of all nodes."""
    layer, point = np.divmod(way.nodes, len(lattice))
    return [
        (one, *lattice.at(other)) for one, other in zip(layer.tolist(), point.tolist(), strict=True)
    ]


@given(walks(), st.sampled_from(STEPS))
def test_a_way_is_the_same_line_with_more_nodes(walk: list[Place], step: int) -> None:
    small = parted(COARSE, step)
    nodes = [layer * len(COARSE) + row * COARSE.columns + column for layer, row, column in walk]
    way = Way(np.array(nodes, dtype=np.int64), 7, NONE)
    (fine,) = carried([way], COARSE, step, {7: 40})
    assert fine is not None
    assert (fine.first, fine.last) == (40, NONE)
    expected = places(way, COARSE)[:1]
    for (one, x1, y1), (two, x2, y2) in pairwise(places(way, COARSE)):
        parts = step if one == two else 1
        expected += [
            (two, x1 + (x2 - x1) * k // parts, y1 + (y2 - y1) * k // parts)
            for k in range(1, parts + 1)
        ]
    assert places(fine, small) == expected


def parted(lattice: Lattice, step: int) -> Lattice:
    """The same area at a fraction of the pitch."""
    columns, rows = (lattice.columns - 1) * step + 1, (lattice.rows - 1) * step + 1
    return Lattice(lattice.x, lattice.y, lattice.pitch // step, columns, rows)


def test_the_finer_grid_wastes_least_and_has_all_points_of_the_coarse_one() -> None:
    assert finer(COARSE, 300) == (2, parted(COARSE, 2))
    assert finer(COARSE, 200) == (3, parted(COARSE, 3))
    assert finer(COARSE, 600) == (2, parted(COARSE, 2))
    odd = Lattice(1_000, -500, 601, 9, 7)
    assert finer(odd, 200) == (1, odd)


def test_what_a_coarse_grid_leaves_blocked_gets_through_on_a_finer_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Twelve nets in reversed order over a strait of 3 mm: at 1.2 mm a few, at 0.4 mm more."""
    monkeypatch.setattr(negotiate, "LONG", mend.Budget(300, 100_000_000, 100))
    data = strait(list(range(12))[::-1])
    path = tmp_path / "strait.kicad_pcb"
    path.write_bytes(data)
    one, job = planning(data, path.name)
    coarse = plan._fresh(job, lay(plan._box(job.site), 1_200_000, plan._pads_at(job.site)), 1)
    step, small = finer(coarse.field.ground.lattice, job.sizes.pitch)
    fine = plan._refined(job, coarse, step, small, mend.unheard)
    assert fine.plan.blocked < coarse.plan.blocked
    for found in (coarse, fine):
        record = channels_record(replace(one, plan=found.plan))
        assert complaints(path, record, ()) == []
