"""Shared by all tests: where the real boards are, when they are there."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

ROOT = Path(__file__).resolve().parent.parent
SHARED = ROOT.parent / "shared"
CORPUS = ROOT / "corpus"

settings.register_profile(
    "renet", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("renet")


def board_paths() -> list[Path]:
    """The real boards beside the project; an empty list where there are none."""
    return sorted((SHARED / "boards").glob("*.kicad_pcb"))


@pytest.fixture
def shared_boards() -> list[Path]:
    """The real boards, or a skip that says what is missing."""
    found = board_paths()
    if not found:
        pytest.skip("no real boards: ../shared/boards is not there")
    return found
