"""Limits of ``--fail-above``: words, refusals, and what counts as above."""

from __future__ import annotations

from pathlib import Path

import pytest
from conftest import CORPUS
from hypothesis import given
from hypothesis import strategies as st

from renet.cli import run
from renet.errors import InputError
from renet.limits import exceeded, limits_of

FIGURES = {"crossings": 4, "overlaps": 0, "over_pads": 2, "length_mm": 31.5}


def test_words() -> None:
    assert limits_of(None) == ()
    assert limits_of("over_pads=2, crossings = 0") == (("over_pads", 2.0), ("crossings", 0.0))


@pytest.mark.parametrize(
    "text", ["", "crossing=1", "crossings", "crossings=", "crossings=-1", "crossings=nan",
             "crossings=inf", "crossings=1,crossings=2", "crossings=1,"],
)  # fmt: skip
def test_refused(text: str) -> None:
    with pytest.raises(InputError):
        limits_of(text)


@given(st.sampled_from(sorted(FIGURES)), st.floats(0, 100))
def test_above_means_greater(name: str, limit: float) -> None:
    found = exceeded(((name, limit),), FIGURES)
    assert bool(found) == (FIGURES[name] > limit)
    assert all(name in line for line in found)


def test_untangle_exits_with_one_above_a_limit(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    board = str(CORPUS / "boards" / "probe.kicad_pcb")
    common = ["untangle", board, "--iterations", "20", "-q", "--out"]
    assert run([*common, str(tmp_path / "a"), "--fail-above", "crossings=100000"]) == 0
    assert run([*common, str(tmp_path / "b"), "--fail-above", "length_mm=1"]) == 1
    assert "is above the limit of 1" in capsys.readouterr().err
    assert (tmp_path / "b" / "probe.swaps").is_file()
    assert run([*common, str(tmp_path / "c"), "--fail-above", "corners=1"]) == 2
