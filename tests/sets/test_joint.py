"""Boards side by side: the tangle of the whole is the sum of the boards' tangles."""

from __future__ import annotations

import numpy as np
import pytest
from conftest import CORPUS
from hypothesis import given, settings
from hypothesis import strategies as st

from renet.engine.score import score
from renet.inputs import inputs_of
from renet.pipeline import Options, Scene, problem_of, survey
from renet.sets.joint import Joint, join_boards


@pytest.fixture(scope="module")
def scenes() -> list[Scene]:
    paths = (CORPUS / "demo" / "buoy.kicad_pcb", CORPUS / "boards" / "probe.kicad_pcb")
    found = [CORPUS / "set" / f"{path.stem}.rules.toml" for path in paths]
    return [
        survey(inputs_of(path, None, rules), Options())
        for path, rules in zip(paths, found, strict=True)
    ]


@pytest.fixture(scope="module")
def joint(scenes: list[Scene]) -> Joint:
    return join_boards(scenes, [problem_of(s, Options()).active for s in scenes], [], [])


@given(st.data())
@settings(max_examples=15)
def test_the_whole_is_the_sum(scenes: list[Scene], joint: Joint, data: st.DataObject) -> None:
    nets = joint.problem.pin_net.copy()
    for group in joint.freedom.groups:
        if len(group.sites[0]) == 1:
            pins = np.array(group.sites)[:, 0]
            nets[pins] = nets[data.draw(st.permutations(pins.tolist()))]
    whole = score(joint.problem, nets)
    parts = [
        score(problem_of(scene, Options()), joint.own(k, nets)) for k, scene in enumerate(scenes)
    ]
    assert whole[:3] == tuple(sum(part[i] for part in parts) for i in range(3))
    assert whole.weighted == tuple(sum(part.weighted[i] for part in parts) for i in range(3))
    assert whole.length_nm == pytest.approx(sum(part.length_nm for part in parts))
    assert (whole.moved_pins, whole.price_nm) == (
        sum(part.moved_pins for part in parts),
        sum(part.price_nm for part in parts),
    )
    for mine in joint.problem.conditions:
        assert mine.violations(joint.problem.pin_net) == 0


def test_mated_pins_that_are_not_tied_stay(scenes: list[Scene]) -> None:
    active = [problem_of(scene, Options()).active for scene in scenes]
    mated = [
        (k, index)
        for k, (scene, ref) in enumerate(zip(scenes, ("J7", "J1"), strict=True))
        for index, pin in enumerate(scene.board.pins)
        if scene.board.parts[pin.part].ref == ref
    ]
    joint = join_boards(scenes, active, [], mated)
    free = set(joint.problem.free_pins.tolist())
    assert free
    assert not {joint.pin_start[k] + pin for k, pin in mated} & free
