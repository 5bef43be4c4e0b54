"""Copper broken into cores: arcs, pads, fills."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from renet import geometry
from renet.model import Core, Shape
from renet.shapes import arc, cores, elements
from tests.strategies.boards import (
    MM,
    PadSpec,
    TrackSpec,
    ViaSpec,
    ZoneSpec,
    build,
    disc,
    rectangle,
)

RADIUS = st.integers(20_000, 60 * MM)
ANGLE = st.floats(0, math.tau)
SWEEP = st.floats(0.01, 6.2)

NM = st.integers(-2_000_000_000, 2_000_000_000)
ANGLES = st.one_of(
    st.sampled_from([0, 90, 180, 270, -90, 360, 450, 45, -0.0]), st.floats(-720, 720)
)


def on_circle(radius: int, angle: float) -> list[int]:
    return [round(radius * math.cos(angle)), round(radius * math.sin(angle))]


@given(RADIUS, ANGLE, SWEEP, st.sampled_from([-1, 1]))
def test_chords_of_an_arc_stay_on_their_circle_and_on_their_way(
    radius: int, begin: float, sweep: float, sense: int
) -> None:
    middle, end = begin + sense * sweep / 2, begin + sense * sweep
    if min(sweep, math.tau - sweep) * radius < 20_000:
        return
    ends = np.array(on_circle(radius, begin) + on_circle(radius, end))
    chain = arc(ends, np.array(on_circle(radius, middle)))
    assert chain[0].tolist() == ends[:2].tolist()
    assert chain[-1].tolist() == ends[2:].tolist()
    slack = 3 + 8 / min(sweep, 1.0) ** 2  # the three points were rounded to nanometres
    away = np.abs(np.hypot(chain[:, 0], chain[:, 1]) - radius)
    assert away.max() <= slack
    between = (chain[:-1] + chain[1:]) / 2
    assert np.abs(np.hypot(between[:, 0], between[:, 1]) - radius).max() <= 5_000 + slack
    turned = (np.arctan2(chain[:, 1], chain[:, 0]) - begin) * sense % math.tau
    turned[0] = 0.0
    assert (np.diff(turned[:-1]) > 0).all()
    steps = np.hypot(*np.diff(chain, axis=0).T).sum()
    assert abs(steps - radius * sweep) <= 0.12 * radius * sweep + 10


def test_three_points_in_a_line_and_giant_circles_are_polylines() -> None:
    straight = arc(np.array([0, 0, 10, 10]), np.array([4, 4]))
    assert straight.tolist() == [[0, 0], [4, 4], [10, 10]]
    backwards = arc(np.array([0, 0, MM, 0]), np.array([900 * MM, 1]))
    assert backwards.tolist() == [[0, 0], [900 * MM, 1], [MM, 0]]
    nearly = arc(np.array([0, 0, 2_000_000_000, 0]), np.array([1_000_000_000, 1]))
    assert nearly.tolist()[:: len(nearly) - 1] == [[0, 0], [2_000_000_000, 0]]
    assert np.abs(nearly[:, 1]).max() <= 1


def test_elements_are_numbered_pads_tracks_vias_fills() -> None:
    board = build(
        [PadSpec("U1", "1", 0, 0, "A"), PadSpec("U1", "2", 1, 0, plated=False)],
        [TrackSpec((0, 0, 1, 0), "B", layer=1, locked=True)],
        [ViaSpec(0, 0, "A")],
        [
            ZoneSpec(None, [], [(0, rectangle(0, 0, 1, 1))]),
            ZoneSpec(
                "B", [], [(1, rectangle(0, 0, 1, 1)), (0, rectangle(0, 0, 2, 2))], locked=True
            ),
        ],
    )
    table = elements(board)
    assert (table.tracks, table.vias, table.fills, len(table)) == (2, 3, 4, 7)
    assert table.net.tolist() == [0, -1, 1, 0, -1, 1, 1]
    assert table.layers.tolist() == [1, 0, 2, 3, 1, 2, 1]
    assert table.locked.tolist() == [False, False, True, False, False, True, True]
    assert table.zone.tolist() == [0, 1, 1]


def test_cores_have_closed_polygons_and_open_lines() -> None:
    oval = Shape((-1, -1, 1, 1), (Core(((-MM, 0), (MM, 0)), MM), Core((), 5)))
    board = build(
        [PadSpec("U1", "1", 5, 5, "A", oval, angle=90.0), PadSpec("U1", "2", 0, 0, "A", disc(1))],
        [TrackSpec((0, 0, 1, 0), "A", width=0.3)],
        [ViaSpec(3, 4, "A", size=0.5)],
        [ZoneSpec("A", [], [(0, rectangle(0, 0, 1, 1))], grow=0.1)],
    )
    table = elements(board)
    found = cores(board, table, np.ones(len(table), dtype=bool))
    assert found.element.tolist() == [0, 1, 2, 3, 4]
    assert found.filled.tolist() == [False, False, False, False, True]
    assert found.radius.tolist() == [MM, MM / 2, 150_000, 250_000, 100_000]
    assert found.core_of_edge.tolist() == [0, 1, 2, 3, 4, 4, 4, 4]
    assert found.edges[0].tolist() == [5 * MM, 6 * MM, 5 * MM, 4 * MM]
    assert found.edges[3].tolist() == [3 * MM, 4 * MM, 3 * MM, 4 * MM]
    assert found.edges[7].tolist() == [0, MM, 0, 0]


def test_a_fill_that_nobody_wants_is_not_decoded(monkeypatch: pytest.MonkeyPatch) -> None:
    square = [(0, rectangle(0, 0, 1, 1))]
    board = build([], zones=[ZoneSpec("A", [], square), ZoneSpec("B", [], square * 2)])
    decoded: list[bytes] = []

    def points(raw: bytes) -> np.ndarray:
        decoded.append(raw)
        return geometry.points(raw)

    monkeypatch.setattr("renet.shapes.points", points)
    found = cores(board, elements(board), np.array([True, False, False]))
    assert found.element.tolist() == [0]
    assert len(decoded) == 1


@given(st.lists(st.tuples(NM, NM, NM, NM, ANGLES), max_size=6))
def test_points_placed_in_bulk_as_one_by_one(rows: list[tuple[int, int, int, int, float]]) -> None:
    local = np.array([row[:2] for row in rows], dtype=np.int64).reshape(-1, 2)
    at = np.array([row[2:4] for row in rows], dtype=np.int64).reshape(-1, 2)
    angle = np.array([row[4] for row in rows], dtype=np.float64)
    found = geometry.place_rows(local, at, angle).tolist()
    assert found == [list(*geometry.place([(u, v)], x, y, turn)) for u, v, x, y, turn in rows]


@given(st.tuples(NM, NM, NM, NM), NM, NM, ANGLES)
def test_corners_go_round_the_box(
    box: tuple[int, int, int, int], x: int, y: int, angle: float
) -> None:
    u0, v0, u1, v1 = box
    [found] = geometry.box_corners(np.array([box]), np.array([[x, y]]), np.array([angle])).tolist()
    round_ = geometry.place(((u0, v0), (u1, v0), (u1, v1), (u0, v1)), x, y, angle)
    assert found == [list(corner) for corner in round_]
