"""Limits of ``--fail-above``: words, refusals, and what counts as above."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from conftest import CORPUS
from hypothesis import given
from hypothesis import strategies as st

from renet.cli import run
from renet.errors import InputError
from renet.limits import exceeded, limits_of, wants_plan

QUICK = ("--iterations", "20")
FIGURES = {"crossings": 4, "overlaps": 0, "over_pads": 2, "length_mm": 31.5}


def test_words() -> None:
    assert limits_of(None) == ()
    assert limits_of("over_pads=2, crossings = 0") == (("over_pads", 2.0), ("crossings", 0.0))
    assert not wants_plan(limits_of("over_pads=2"))
    assert wants_plan(limits_of("over_pads=2,blocked=0"))


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


def _printed(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, dict[str, Any]]:
    code = run([*words, "--json"])
    return code, json.loads(capsys.readouterr().out)


def test_blocked_is_what_channels_says_of_the_result(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The plan may use one layer only, going over, so whatever goes up is blocked."""
    board, netlist, rules = (tmp_path / f"probe{s}" for s in (".kicad_pcb", ".net", ".rules.toml"))
    for path in (board, netlist, rules):
        path.write_bytes((CORPUS / "boards" / path.name).read_bytes())
    few = '[tangle]\nleave_out = ["/SONDE_?S*", "/SONDE_D?", "/SONDE_[LPS]*"]\n'
    rules.write_text(rules.read_text().replace("vertical = [-1]", "vertical = []") + few)
    many = ["batch", str(board), "-o", str(tmp_path / "out"), "-j", "1", *QUICK, "--fail-above"]
    code, record = _printed(capsys, *many, "blocked=0")
    [found] = record["boards"]
    written = tmp_path / "out" / "probe" / "probe.kicad_pcb"
    words = ["channels", str(written), "--netlist", str(written.with_suffix(".net"))]
    _, plan = _printed(capsys, *words, "--rules", str(rules))
    assert plan["blocked"] > 0
    assert (code, found["state"], found["blocked"]) == (1, "done", plan["blocked"])
    assert found["above"] == [f"blocked {plan['blocked']} is above the limit of 0"]
    code, record = _printed(capsys, *many, f"blocked={plan['blocked']}")
    assert (code, record["boards"][0]["state"]) == (0, "skipped")
    code, record = _printed(capsys, *many, "crossings=100000")  # a result without that figure
    assert (code, record["boards"][0]["blocked"]) == (0, None)


def test_untangle_plans_when_asked(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    board = str(CORPUS / "boards" / "probe.kicad_pcb")
    words = ["untangle", board, *QUICK, "--out", str(tmp_path), "--fail-above"]
    code, record = _printed(capsys, *words, "blocked=0")
    assert (code, record["blocked"]) == (0, 0)
    assert "blocked" not in _printed(capsys, *words, "overlaps=100000")[1]


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
