"""The designers' pinouts of the real boards against ours, with the pools of ``cases.pinouts``.

The whole table, channel plans included, is printed by ``scripts/boards_table``.
"""

from __future__ import annotations

import statistics
from dataclasses import replace
from pathlib import Path

import pytest
from cases.count import crossings, spanning_edges
from cases.pinouts import (
    PINOUTS,
    Compared,
    Pinout,
    compared,
    inputs_of,
    options_of,
    searched,
    worth_comparing,
)
from conftest import SHARED

from renet.engine import Result
from renet.pipeline import Scene, survey

STEPS = 120  # a short search: what holds then holds for a long one


def board_of(pinout: Pinout) -> Path:
    return SHARED / "boards" / f"{pinout.board}.kicad_pcb"


@pytest.fixture(scope="module")
def found() -> list[tuple[Scene, Result, Compared]]:
    """A search for every board whose pool nets cross one another often enough."""
    there = [pinout for pinout in PINOUTS if board_of(pinout).is_file()]
    if not there:
        pytest.skip("no real boards: ../shared/boards is not there")
    listed = []
    for pinout in there:
        scene = survey(inputs_of(board_of(pinout), pinout), options_of(STEPS))
        if worth_comparing(scene):
            result = searched(scene, STEPS)
            listed.append((scene, result, compared(scene, result, pinout.board)))
    return listed


Found = list[tuple[Scene, Result, Compared]]


def test_every_pool_pin_is_free(found: Found) -> None:
    """The words by hand find the pins they mean, and nothing keeps any of them."""
    assert len(found) > 8
    for scene, _, _ in found:
        assert scene.freedom.kept == ()


def test_no_board_gets_worse_and_the_bound_is_one(found: Found) -> None:
    for _, _, one in found:
        assert one.all[1] <= one.all[0]
        assert one.least <= one.involving[1] <= one.involving[0]
        assert one.all[0] - one.involving[0] == one.all[1] - one.involving[1]


def test_figures_are_those_of_a_count_of_all_pairs(found: Found) -> None:
    """On the smallest board, by a counter that knows nothing of ours."""
    scene, result, one = min(found, key=lambda each: len(each[0].board.pads))
    left_out = {scene.board.nets[net] for net in scene.left_out}
    nets = result.pin_net[scene.cols.pin].tolist()
    pads = (p._replace(net=net) for p, net in zip(scene.board.pads, nets, strict=True))
    after = replace(scene.board, pads=tuple(pads))
    for board, figure in zip((scene.board, after), one.all, strict=True):
        assert crossings(spanning_edges(board, scene.labels.tolist(), left_out)) == figure


def test_the_median_board_has_half_or_it_is_proved_that_it_cannot(found: Found) -> None:
    """Crossings with nets outside the pools bound what any pinout can reach."""
    good = [one.share <= 0.5 or one.half_out_of_reach for _, _, one in found]
    assert statistics.median_low(good)
    among = [one.among[1] / one.among[0] for _, _, one in found]
    assert statistics.median(among) <= 0.5
