"""Every kind of structure in a board of its own, with the groups it must give."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from cases.structures import cases, draft_of, draft_of_file, read, shown

from renet.draft import ASKED, FREE, KEPT, Draft, draft_text, updated
from renet.engine import Params
from renet.freedom import resolve
from renet.pipeline import Inputs, Named, Options, untangle
from renet.read.rules import read_rules


@pytest.fixture(params=cases(), ids=lambda path: path.stem)
def path(request: pytest.FixtureRequest) -> Path:
    found: Path = request.param
    return found


@pytest.fixture
def case(path: Path) -> dict[str, Any]:
    return read(path)


@pytest.fixture
def draft(path: Path) -> Draft:
    return draft_of_file(path)


def test_the_draft_finds_the_groups_and_no_others(draft: Draft, case: dict[str, Any]) -> None:
    expected = [
        (e["section"], e.get("asked", False), tuple(e["rows"])) for e in case.get("expect", [])
    ]
    assert sorted(map(shown, draft.entries)) == sorted(expected)


def test_kept_pins_are_kept_for_the_reason_given(draft: Draft, case: dict[str, Any]) -> None:
    board = draft.evidence.board
    kinds = {board.pin_label(pin): v.kind for pin, v in draft.verdicts.items() if v.state == KEPT}
    expected = case.get("kept", {})
    assert {pin: kinds.get(pin) for pin in expected} == expected


def test_the_board_file_says_what_the_case_says(draft: Draft, case: dict[str, Any]) -> None:
    made = draft_of(case)
    labels = [
        {one.evidence.board.pin_label(pin): v for pin, v in one.verdicts.items()}
        for one in (draft, made)
    ]
    assert labels[0] == labels[1]
    assert draft.entries == made.entries


def test_what_is_free_is_what_the_rules_set_free(draft: Draft) -> None:
    """The written file, read and resolved as untangle does, frees exactly the free pins."""
    board = draft.evidence.board
    text = draft_text(draft, "buoy.kicad_pcb").encode()
    freedom = resolve(board, read_rules(text), {})
    free = {pin for pin, verdict in draft.verdicts.items() if verdict.state == FREE}
    lone = {pin for pin, why in freedom.kept if why.startswith("no other pin")}
    assert set(np.flatnonzero(freedom.movable).tolist()) == free - lone
    assert not freedom.findings


def test_drafting_again_changes_nothing(draft: Draft, path: Path) -> None:
    text = draft_text(draft, "buoy.kicad_pcb").encode()
    assert draft_text(draft_of_file(path), "buoy.kicad_pcb").encode() == text
    assert updated(text, draft).data == text


def test_every_question_may_be_answered_with_yes(draft: Draft) -> None:
    """Without the marks the file still loads and holds on the board."""
    text = draft_text(draft, "buoy.kicad_pcb").replace("#? ", "").encode()
    freedom = resolve(draft.evidence.board, read_rules(text), {})
    asked = {pin for pin, verdict in draft.verdicts.items() if verdict.state == ASKED}
    kept = {pin for pin, _ in freedom.kept}
    assert asked <= set(np.flatnonzero(freedom.movable).tolist()) | kept


def test_untangle_takes_the_draft_of_every_case(draft: Draft, path: Path) -> None:
    """The pipeline raises where the second opinion, which reads the rules by itself, objects."""
    board = Named("board", path.with_suffix(".kicad_pcb").read_bytes())
    rules = Named("rules", draft_text(draft, "board").encode())
    job = untangle(Inputs(board, None, rules), Options(params=Params(iterations=20)))
    free = {draft.evidence.board.pin_key(p) for p, v in draft.verdicts.items() if v.state == FREE}
    assert {(move.part, move.pin) for move in job.changes.moves} <= free
