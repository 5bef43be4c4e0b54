"""One-sided crossing minimisation: the public tiny set, against the published optima.

Source: PACE 2024 challenge (pacechallenge.org/2024), instances and optima in
``../shared/pace``.  This holds the part of the engine for rows that face each
other to outside figures, no more.
"""

from __future__ import annotations

import pytest
from cases.pace import optima, problem_of
from conftest import SHARED

from renet.engine import reorder

TINY = sorted((SHARED / "pace" / "tiny").glob("*.gr"))


def test_the_set_is_whole() -> None:
    if not TINY:
        pytest.skip("no instances: ../shared/pace is not there")
    assert len(TINY) == 13


@pytest.mark.parametrize("path", TINY, ids=lambda path: path.stem)
def test_the_published_optimum_is_found_and_proved(path) -> None:  # type: ignore[no-untyped-def]
    result = reorder(problem_of(path))
    assert result.after.crossings == optima(SHARED / "pace" / "optima.tsv", "tiny")[path.stem]
    assert result.proved_optimal
