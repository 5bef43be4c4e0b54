"""Coupling, impedance, delay and channel figures against tables and worked examples.

"computed" is worked out with independent code (the source of the table is named);
"from memory" marks a formula or figure that nobody has looked up again.
"""

from __future__ import annotations

import itertools
from pathlib import Path

import networkx as nx
import pytest
from conftest import SHARED
from hypothesis import given
from hypothesis import strategies as st
from scipy.constants import epsilon_0
from twins.channels import constrained_left_edge, constraints_of, intervals

from renet.channels import coupling, leftedge, lines
from renet.channels.coupling import Crossing

# Field solution of two crossing bars between planes, er 4.3, t 17.5 um: method of moments,
# computed, +-5 % (facts 1.1).  h -> w -> values in fF for d = 0.1, 0.2, 0.36, 0.7 mm.
FIELD = {
    0.1: {
        0.10: (19.3, 12.9, 9.1, 6.2),
        0.15: (28.9, 18.6, 12.9, 8.7),
        0.20: (40.3, 25.2, 17.2, 11.6),
        0.30: (70.1, 41.9, 27.4, 18.1),
    },
    0.2: {
        0.10: (26.5, 19.2, 14.3, 9.9),
        0.15: (37.3, 26.1, 19.1, 13.1),
        0.20: (49.8, 33.7, 24.2, 16.5),
        0.30: (80.5, 51.8, 35.8, 23.9),
    },
    0.4: {0.15: (51.3, 39.1, 30.3, 22.0), 0.20: (65.8, 48.5, 36.9, 26.5)},
}
GAPS = (0.1, 0.2, 0.36, 0.7)
CASES = [
    (Crossing(w, w, d, h, 4.3), value)
    for h, rows in FIELD.items()
    for w, values in rows.items()
    for d, value in zip(GAPS, values, strict=True)
] + [(Crossing(0.15, 0.30, 0.2, 0.2, 4.3), 37.0)]


@pytest.mark.parametrize(("crossing", "value"), CASES)
def test_the_fit_stays_within_its_error_of_the_field_solution(
    crossing: Crossing, value: float
) -> None:
    found = coupling.fitted(crossing)
    if crossing.between <= coupling.FIT_REACH_MM:
        assert abs(found / value - 1) <= coupling.FIT_ERROR + 0.005
    else:
        assert 1.0 <= found / value <= 1.45
    assert coupling.plate(crossing) < value
    assert coupling.plate(crossing) < found


@pytest.mark.parametrize(
    ("crossing", "value"),
    [
        (Crossing(0.15, 0.15, 0.1, 0.2, 4.3), 8.57),
        (Crossing(0.15, 0.15, 0.2, 0.2, 4.3), 4.28),
        (Crossing(0.2, 0.2, 0.1, 0.2, 4.3), 15.23),
        (Crossing(0.1524, 0.1524, 0.1, 0.2, 4.2), 8.64),
        (Crossing(0.2032, 0.2032, 0.2, 0.2, 4.6), 8.41),
    ],
)
def test_plate_values(crossing: Crossing, value: float) -> None:
    """Computed (facts 1.1); e0 from scipy.constants (CODATA)."""
    assert coupling.plate(crossing) == pytest.approx(value, abs=0.006)
    assert pytest.approx(epsilon_0 * 1e12) == coupling.E0_FF_PER_MM


@pytest.mark.parametrize(
    ("crossing", "value"),
    [
        (Crossing(0.15, 0.15, 0.1, 0.2, 4.3), 34.9),
        (Crossing(0.15, 0.15, 0.2, 0.2, 4.3), 25.5),
        (Crossing(0.2, 0.2, 0.2, 0.2, 4.3), 32.9),
        (Crossing(0.15, 0.15, 0.1, 0.1, 4.3), 25.3),
        (Crossing(0.15, 0.30, 0.2, 0.2, 4.3), 36.0),
    ],
)
def test_fitted_values(crossing: Crossing, value: float) -> None:
    """Computed (facts 1.1, our own fit)."""
    assert coupling.fitted(crossing) == pytest.approx(value, abs=0.06)


@given(
    w=st.floats(0.05, 0.5), d=st.floats(0.05, 0.8), h=st.floats(0.05, 0.8), er=st.floats(1.5, 10)
)
def test_the_fit_is_monotone(w: float, d: float, h: float, er: float) -> None:
    at = coupling.fitted(Crossing(w, w, d, h, er))
    assert coupling.fitted(Crossing(w, w, d * 1.1, h, er)) < at
    assert coupling.fitted(Crossing(w * 1.1, w, d, h, er)) > at
    assert coupling.fitted(Crossing(w, w, d, h * 1.1, er)) > at
    assert coupling.fitted(Crossing(w, w, d, h, er * 1.1)) > at
    assert at > coupling.plate(Crossing(w, w, d, h, er))


def test_noise_at_a_crossover() -> None:
    """Computed (facts 1.2), by C dV/dt Z0 / 2 (Johnson and Graham 1993, from memory)."""
    assert coupling.driven_noise(30, 3.3, 1.0, 50) == pytest.approx(2.475e-3)
    assert coupling.driven_noise(30, 1.0, 0.1, 50) == pytest.approx(7.5e-3)
    assert coupling.driven_noise(50, 1.8, 0.5, 50) == pytest.approx(4.5e-3)
    assert coupling.divided_noise(30, 3.3, 10_000) == pytest.approx(9.87e-3, rel=1e-3)
    assert coupling.divided_noise(30, 3.3, 5_000) == pytest.approx(19.7e-3, rel=2e-3)
    assert coupling.coupled_db(16, 1e9, 50) == pytest.approx(-52, abs=0.1)


def test_parallel_runs() -> None:
    """Computed (facts 1.3), 1 / (1 + (D/H)^2) (Johnson and Graham 1993, 5.3, from memory)."""
    expected = (0.5, 0.2, 0.1, 0.0588, 0.0385)
    for ratio, share in zip(range(1, 6), expected, strict=True):
        assert coupling.parallel(ratio, 1) == pytest.approx(share, abs=6e-5)
    assert coupling.parallel_run(1, 1, 10, 40) == pytest.approx(0.25)
    assert coupling.parallel_run(1, 1, 30, 40) == pytest.approx(0.5)


def test_microstrip() -> None:
    """Computed (facts 1.5), Hammerstad and Jensen 1980 (from memory)."""
    assert lines.microstrip(1, 1, 1.0)[0] == pytest.approx(126.424, abs=1e-3)
    assert lines.microstrip(1, 1, 4.3) == pytest.approx((71.751, 3.1045), abs=1e-3)
    assert lines.microstrip(2, 1, 4.3) == pytest.approx((49.192, 3.2755), abs=1e-3)
    assert lines.microstrip(1.9, 1, 4.2)[0] == pytest.approx(51.276, abs=1e-3)
    assert lines.delay(lines.microstrip(2, 1, 4.3)[1]) == pytest.approx(6.037, abs=1e-3)


def test_stripline() -> None:
    """Computed (facts 1.5), Cohn 1954 (from memory)."""
    for width, between, z0 in (
        (0.15, 0.4, 56.221), (0.2, 0.6, 59.468), (0.2, 0.4, 48.466), (0.1, 0.4, 67.521),
    ):  # fmt: skip
        assert lines.stripline(width, between, 4.3) == pytest.approx(z0, abs=1e-2)
    assert lines.delay(4.3) == pytest.approx(6.917, abs=1e-3)


def test_handbook_estimates() -> None:
    """Computed (facts 1.5), estimates in the style of IPC-2141 (from memory)."""
    assert lines.thick_microstrip(0.2, 0.2, 0.035, 4.3) == pytest.approx(66.04, abs=1e-2)
    assert lines.thick_microstrip(0.3, 0.2, 0.035, 4.3) == pytest.approx(53.52, abs=1e-2)
    assert lines.thick_stripline(0.15, 0.4, 0.0175, 4.3) == pytest.approx(49.47, abs=1e-2)


def test_edges() -> None:
    """Computed (facts 1.4): 0.5 / t_r, and an edge of 1 ns is 144.6 mm at er 4.3."""
    assert lines.knee_mhz(1.0) == 500
    assert lines.knee_mhz(0.1) == 5000
    assert lines.edge_mm(1.0, 4.3) == pytest.approx(144.6, abs=0.1)


def rows(name: str) -> tuple[list[int], list[int]]:
    """The two pin rows of a channel of ../shared/channels."""
    path: Path = SHARED / "channels" / name
    if not path.exists():
        pytest.skip("no channels: ../shared/channels is not there")
    text = [line for line in path.read_text().splitlines() if not line.startswith("#")]
    top, bottom = ([int(word) for word in line.split()] for line in text)
    return top, bottom


@pytest.mark.parametrize(
    ("name", "dense", "cyclic"),
    [
        ("deutsch.rows", 19, False),
        ("textbook_12_columns.rows", 5, False),
        ("cyclic_12_columns.rows", 4, True),
    ],
)
def test_density_and_left_edge_of_published_channels(name: str, dense: int, cyclic: bool) -> None:
    """Figures of ../shared/channels/README.md."""
    top, bottom = rows(name)
    spans = intervals(top, bottom)
    graph = constraints_of(top, bottom)
    assert leftedge.density(spans) == dense
    assert len(leftedge.left_edge(spans)) == dense
    assert leftedge.is_cyclic(graph) == cyclic
    assert (constrained_left_edge(spans, graph) is None) == cyclic


def test_the_difficult_channel() -> None:
    """72 nets, longest chain 23, fewest dogleg-free tracks 28, plain rule 39 (README there)."""
    top, bottom = rows("deutsch.rows")
    spans, graph = intervals(top, bottom), constraints_of(top, bottom)
    assert len(spans) == 72
    assert len(nx.dag_longest_path(graph)) == 23
    assert leftedge.dogleg_free_bound(spans, graph) == 28
    found = constrained_left_edge(spans, graph)
    assert found is not None and len(found) == 39


def test_the_textbook_channel_takes_five_tracks() -> None:
    """README of ../shared/channels."""
    top, bottom = rows("textbook_12_columns.rows")
    spans, graph = intervals(top, bottom), constraints_of(top, bottom)
    found = constrained_left_edge(spans, graph)
    assert found is not None and len(found) == 5
    assert leftedge.dogleg_free_bound(spans, graph) <= 5


def test_the_interval_example() -> None:
    """Computed (facts 7): touching ends count as overlap."""
    names = dict(zip("ABCDEF", itertools.count(1), strict=False))
    given_ = {"A": (1, 4), "B": (2, 6), "C": (5, 8), "D": (3, 5), "E": (7, 9), "F": (6, 9)}
    spans = {names[name]: span for name, span in given_.items()}
    assert leftedge.density(spans) == 3
    tracks = [{name for name in names if names[name] in t} for t in leftedge.left_edge(spans)]
    assert tracks == [{"A", "C"}, {"B", "E"}, {"D", "F"}]


@st.composite
def channels(draw: st.DrawFn) -> tuple[list[int], list[int]]:
    row = st.lists(st.integers(0, 6), min_size=9, max_size=9)
    return draw(row), draw(row)


@given(channels())
def test_the_bound_lies_between_density_and_a_filled_channel(
    pins: tuple[list[int], list[int]],
) -> None:
    spans, graph = intervals(*pins), constraints_of(*pins)
    found = constrained_left_edge(spans, graph)
    if found is not None:
        bound = leftedge.dogleg_free_bound(spans, graph)
        assert leftedge.density(spans) <= bound <= len(found)
