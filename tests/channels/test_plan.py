"""The plan on boards made for the purpose: what it finds, what it draws, what it refuses."""

from __future__ import annotations

import json
from itertools import combinations, pairwise, product
from pathlib import Path
from typing import Any

import pytest
from conftest import CORPUS
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString
from twins.conflicts import complaints, pads_apart

from renet.cli import run
from renet.read.board import read_board

BUOY = CORPUS / "demo" / "buoy.kicad_pcb"


def two_rows(pins: list[int]) -> bytes:
    """Two rows of through pads, net i at place i on the left and at ``pins[i]`` on the right."""
    count = len(pins)
    lines = ["(kicad_pcb (version 20211014) (generator made)", "(general (thickness 1.6))"]
    lines.append('(layers (0 "F.Cu" signal) (31 "B.Cu" signal) (44 "Edge.Cuts" user))')
    lines += ['(net 0 "")', *(f'(net {i + 1} "/N{i}")' for i in range(count))]
    places = {"J1": list(range(count)), "J2": [pins.index(i) for i in range(count)]}
    for ref, x in (("J1", 5), ("J2", 35)):
        lines.append(f'(footprint "row" (layer "F.Cu") (at {x} 5)')
        lines.append(f'(fp_text reference "{ref}" (at 0 0) (layer "F.SilkS"))')
        for place, net in enumerate(places[ref]):
            lines.append(
                f'(pad "{place + 1}" thru_hole circle (at 0 {2.1 * place:.2f}) (size 1.2 1.2) '
                f'(drill 0.8) (layers "*.Cu") (net {net + 1} "/N{net}"))'
            )
        lines.append(")")
    high = 10 + 2.1 * count
    corners = [(0, 0), (40, 0), (40, high), (0, high), (0, 0)]
    for (a, b), (c, d) in pairwise(corners):
        lines.append(f'(gr_line (start {a} {b:g}) (end {c} {d:g}) (layer "Edge.Cuts") (width 0.1))')
    return "\n".join([*lines, ")"]).encode()


def line(piece: dict[str, Any]) -> LineString:
    return LineString([(piece["x1_mm"], piece["y1_mm"]), (piece["x2_mm"], piece["y2_mm"])])


def two_sides(count: int) -> bytes:
    """A row of surface pads down the left, one in the same order along the bottom, on the back."""
    lines = ["(kicad_pcb (version 20211014) (generator made)", "(general (thickness 1.6))"]
    lines.append('(layers (0 "F.Cu" signal) (31 "B.Cu" signal) (44 "Edge.Cuts" user))')
    lines += ['(net 0 "")', *(f'(net {i + 1} "/N{i}")' for i in range(count))]
    for ref, layer, x, y in (("J1", "F.Cu", 5, 20), ("J2", "B.Cu", 15, 30)):
        lines.append(f'(footprint "row" (layer "{layer}") (at {x} {y})')
        lines.append(f'(fp_text reference "{ref}" (at 0 0) (layer "F.SilkS"))')
        for place in range(count):
            dx, dy = (0.0, -2.1 * place) if ref == "J1" else (2.1 * place, 0.0)
            lines.append(
                f'(pad "{place + 1}" smd circle (at {dx:.2f} {dy:.2f}) (size 1 1) '
                f'(layers "{layer}") (net {place + 1} "/N{place}"))'
            )
        lines.append(")")
    lines.append('(gr_rect (start 0 0) (end 40 40) (layer "Edge.Cuts") (width 0.1))')
    return "\n".join([*lines, ")"]).encode()


def plan_of(path: Path, capsys: pytest.CaptureFixture[str], *args: str) -> dict[str, Any]:
    capsys.readouterr()
    assert run(["channels", str(path), "--json", *args]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


def planned(pins: list[int], folder: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    path = folder / "rows.kicad_pcb"
    path.write_bytes(two_rows(pins))
    record = plan_of(path, capsys)
    assert complaints(path, record, ()) == []
    return record


def test_nets_in_order_run_straight(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Facts 7: a straight link has no bend, so no via."""
    record = planned([0, 1, 2, 3, 4, 5], tmp_path, capsys)
    assert record["vias"] == 0 and record["blocked"] == 0
    assert all(route["corners"] == 0 for route in record["routes"])
    assert record["facing_crossovers"] == 0
    assert record["length_mm"] == pytest.approx(6 * 30, abs=6 * 2)


def test_vias_of_nets_that_step_aside_alike_stand_in_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Facts 7: an L has one bend.  Two rows at right angles, wired in order: one via each."""
    path = tmp_path / "corner.kicad_pcb"
    path.write_bytes(two_sides(6))
    record = plan_of(path, capsys)
    assert complaints(path, record, ()) == []
    assert record["blocked"] == 0 and record["vias"] == 6
    assert all(route["corners"] == 1 and len(route["vias"]) == 1 for route in record["routes"])
    at = {route["net"]: route["vias"][0] for route in record["routes"]}
    steps = [
        (at[f"/N{i + 1}"]["x_mm"] - at[f"/N{i}"]["x_mm"],
         at[f"/N{i + 1}"]["y_mm"] - at[f"/N{i}"]["y_mm"]) for i in range(5)
    ]  # fmt: skip
    assert all(dx > 0 and dy < 0 for dx, dy in steps)  # on one diagonal, in the order of the nets


def test_nets_reversed_cross_on_different_layers(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Facts 7: 4321 has 6 inversions: every pair must cross, or go round an end of the rows.

    Checked pair by pair from the pieces: where two nets meet, their pieces are on different layers.
    """
    record = planned([3, 2, 1, 0], tmp_path, capsys)
    assert record["blocked"] == 0
    met = set()
    for one, two in combinations(record["routes"], 2):
        for p, q in product(one["pieces"], two["pieces"]):
            if line(p).intersects(line(q)):
                assert p["layer"] != q["layer"]
                met.add((one["net"], two["net"]))
    found = record["coupling"]["crossovers"]
    assert {tuple(sorted(one["nets"])) for one in found} == met
    assert len(met) >= 3  # others go round the ends of the rows
    assert all(one["layers"] == ["F.Cu", "B.Cu"] for one in found)
    assert record["coupling"]["holds"] is False
    assert all(one["fitted_ff"] is None for one in found)


@settings(max_examples=12)
@given(st.permutations(range(6)))
def test_any_permutation_is_planned_free_of_conflicts(pins: list[int]) -> None:
    from renet.channels.job import outlook
    from renet.channels.record import channels_record
    from renet.pipeline import Inputs, Named, Options

    one = outlook(Inputs(Named("rows", two_rows(list(pins)))), Options())
    record = channels_record(one)
    assert record["blocked"] == 0
    for route in record["routes"]:
        assert route["length_mm"] >= route["bound_mm"]
        assert route["length_mm"] >= pads_apart(route) - 3.0
    again = channels_record(outlook(Inputs(Named("rows", two_rows(list(pins)))), Options()))
    assert record == again


def test_the_sketch_changes_no_copper(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "sketch.kicad_pcb"
    record = plan_of(BUOY, capsys, "--sketch", str(out))
    before, after = BUOY.read_bytes(), out.read_bytes()
    assert read_board(after)[0] == read_board(before)[0]
    pieces = sum(len(route["pieces"]) for route in record["routes"])
    assert after.count(b"(gr_line") - before.count(b"(gr_line") == pieces
    assert after.count(b"(gr_circle") - before.count(b"(gr_circle") == record["vias"]
    assert after.count(b"(segment") == before.count(b"(segment")


def test_a_board_without_a_user_layer_cannot_be_sketched(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "rows.kicad_pcb"
    path.write_bytes(two_rows([0, 1]))
    out = tmp_path / "out.kicad_pcb"
    assert run(["channels", str(path), "--sketch", str(out)]) == 2
    assert not out.exists()
    assert "no user layer" in capsys.readouterr().err


def test_the_drawing_shows_every_via(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "plan.svg"
    record = plan_of(BUOY, capsys, "--svg", str(out))
    text = out.read_text()
    assert text.startswith("<svg") and text.count("<circle") == record["vias"]


def test_suggested_tables_come_best_first(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "rows.kicad_pcb"
    path.write_bytes(two_rows([1, 0, 2]))
    found = plan_of(path, capsys, "--suggest")["suggested"]
    assert sorted(one["directions"] for one in found) == ["hv", "vh"]
    ranks = [(one["blocked"], one["vias"], one["facing_crossovers"]) for one in found]
    assert ranks == sorted(ranks)


@pytest.mark.parametrize("option", ["--track", "--clearance", "--via"])
def test_sizes_out_of_range_are_refused(option: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["channels", str(BUOY), option, "0"]) == 2
    assert "out of range" in capsys.readouterr().err


def test_quiet_nets_get_their_noise_from_fast_ones(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A stack of signal, signal, plane: crossovers hold, and the sums follow the formula."""
    text = two_rows([3, 2, 1, 0]).decode()
    copper = '(0 "F.Cu" signal) (1 "In1.Cu" signal) (2 "In2.Cu" power) (31 "B.Cu" signal)'
    text = text.replace('(0 "F.Cu" signal) (31 "B.Cu" signal)', copper)
    path = tmp_path / "rows.kicad_pcb"
    path.write_text(text)
    rules = tmp_path / "r.toml"
    rules.write_text(
        "[board]\nhorizontal = [1]\nvertical = [2]\n"
        '[[signal]]\nnets = ["/N0"]\nkind = "fast"\nswing_v = 3.3\nrise_ns = 1.0\n'
        '[[signal]]\nnets = ["/N[123]"]\nkind = "quiet"\n'
    )
    coupling = plan_of(path, capsys, "--rules", str(rules))["coupling"]
    assert coupling["holds"] is True
    hit = {n for one in coupling["crossovers"] if "/N0" in one["nets"] for n in one["nets"]}
    crossed = {one["net"] for one in coupling["victims"] if one["crossovers"]}
    assert crossed == hit - {"/N0"} and crossed
    for one in coupling["crossovers"]:
        assert one["plate_ff"] < one["fitted_ff"]
    for victim in coupling["victims"]:
        assert victim["budget_mv"] == pytest.approx(165)
        assert 10 < victim["impedance_ohm"] < 150 and victim["knee_mhz"] == 500
        # Into 5 pF, one crossing at a time (facts 1.2): less than all of them in one divider sum.
        ratio = victim["total_ff"] / 5000
        assert 3300 * ratio / (1 + ratio) <= victim["undriven_mv"] <= 3300 * ratio
        # 2 pi f C Z0 / 2 at the knee, 500 MHz.
        share = 3.14159265 * 500e6 * victim["total_ff"] * 1e-15 * victim["impedance_ohm"]
        assert 10 ** (victim["crossing_db"] / 20) == pytest.approx(share, rel=0.01)
        capacitance = sum(
            one["fitted_ff"]
            for one in coupling["crossovers"]
            if {"/N0", victim["net"]} == set(one["nets"])
        )
        # C dV/dt Z0/2 with Z0 between 10 and 150 ohm.
        assert victim["total_ff"] == pytest.approx(capacitance, abs=0.01)
        assert 0.0165 * capacitance <= victim["crossing_mv"] <= 0.2475 * capacitance


def test_lines_follow_the_stack_up(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Four layers, planes inside, 1.6 mm shared out: 0.533 mm to the plane, er 4.3 assumed."""
    text = two_rows([1, 0]).decode()
    copper = '(0 "F.Cu" signal) (1 "In1.Cu" power) (2 "In2.Cu" power) (31 "B.Cu" signal)'
    path = tmp_path / "rows.kicad_pcb"
    path.write_text(text.replace('(0 "F.Cu" signal) (31 "B.Cu" signal)', copper))
    found = plan_of(path, capsys, "--track", "0.3")["lines"]
    assert [one["layer"] for one in found["layers"]] == ["F.Cu", "B.Cu"]
    for one in found["layers"]:
        assert one["to_plane_mm"] == pytest.approx(1.6 / 3, abs=1e-5)
        # 87/sqrt(5.71) ln(5.98 x 0.5333 / (0.24 + 0.035)), by hand: 89.29 (facts 1.5, from memory).
        assert one["handbook_ohm"] == pytest.approx(89.29, abs=0.1)
        assert abs(one["impedance_ohm"] / one["handbook_ohm"] - 1) <= found["error"]


def test_left_edge_needs_no_more_tracks_than_the_plan_takes(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record = planned([3, 0, 5, 1, 4, 2], tmp_path, capsys)
    assert record["channels"]
    for one in record["channels"]:
        assert one["demand"] <= one["left_edge_tracks"] <= one["tracks"]
        assert one["cyclic"] == (one["dogleg_free_tracks"] is None)
        if not one["cyclic"]:
            assert one["left_edge_tracks"] <= one["dogleg_free_tracks"]


def test_thorough_looks_on_only_where_something_is_blocked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Tracks too wide for the row of pins stay blocked; with nothing blocked all is as without."""
    path = tmp_path / "wide.kicad_pcb"
    path.write_bytes(two_rows([0, 1]))
    wide = ["--track", "2", "--clearance", "1"]
    for more, said in (((), True), (("--thorough",), False)):
        assert run(["channels", str(path), *wide, *more]) == 0
        text = capsys.readouterr().out
        assert "blocked 2" in text
        assert ("--thorough tries" in text) == said
    records = []
    for more in ((), ("--thorough",)):
        assert run(["channels", str(BUOY), "--json", *more]) == 0
        records.append(capsys.readouterr().out)
    assert records[0] == records[1]
