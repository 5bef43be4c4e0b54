"""Every kind of structure in a board of its own, with the groups it must give."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from cases.structures import board_of, cases, draft_of, read, shown

from renet.draft import ASKED, FREE, draft_text, updated
from renet.freedom import resolve
from renet.read.rules import read_rules


@pytest.fixture(params=cases(), ids=lambda path: path.stem)
def case(request: pytest.FixtureRequest) -> dict[str, object]:
    path: Path = request.param
    return read(path)


def test_the_draft_finds_the_groups_and_no_others(case: dict[str, list[dict[str, object]]]) -> None:
    expected = {
        (e["section"], e.get("asked", False), tuple(e["rows"]))  # type: ignore[arg-type]
        for e in case.get("expect", [])
    }
    assert {shown(entry) for entry in draft_of(case).entries} == expected


def test_kept_pins_are_kept_for_the_reason_given(case: dict[str, dict[str, str]]) -> None:
    draft = draft_of(case)
    board = draft.evidence.board
    kinds = {board.pin_label(pin): v.kind for pin, v in draft.verdicts.items() if v.state == "kept"}
    expected = case.get("kept", {})
    assert {pin: kinds.get(pin) for pin in expected} == expected


def test_what_is_free_is_what_the_rules_set_free(case: dict[str, object]) -> None:
    """The written file, read and resolved as untangle does, frees exactly the free pins."""
    draft, board = draft_of(case), board_of(case)
    text = draft_text(draft, "buoy.kicad_pcb").encode()
    freedom = resolve(board, read_rules(text), {})
    free = {pin for pin, verdict in draft.verdicts.items() if verdict.state == FREE}
    lone = {pin for pin, why in freedom.kept if why.startswith("no other pin")}
    assert set(np.flatnonzero(freedom.movable).tolist()) == free - lone
    assert not freedom.findings


def test_drafting_again_changes_nothing(case: dict[str, object]) -> None:
    draft = draft_of(case)
    text = draft_text(draft, "buoy.kicad_pcb").encode()
    assert draft_text(draft_of(case), "buoy.kicad_pcb").encode() == text
    assert updated(text, draft).data == text


def test_every_question_may_be_answered_with_yes(case: dict[str, object]) -> None:
    """Without the marks the file still loads and holds on the board."""
    draft = draft_of(case)
    text = draft_text(draft, "buoy.kicad_pcb").replace("#? ", "").encode()
    freedom = resolve(board_of(case), read_rules(text), {})
    asked = {pin for pin, verdict in draft.verdicts.items() if verdict.state == ASKED}
    kept = {pin for pin, _ in freedom.kept}
    assert asked <= set(np.flatnonzero(freedom.movable).tolist()) | kept
