"""The plan on corpus and real boards, judged by a checker that shares no code with it."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from cases.boardtext import BoardText
from cases.scramble import busiest, pool_rules
from conftest import CORPUS, board_paths
from twins.conflicts import by_hand, complaints, steps_against

from renet.channels import mend, negotiate, plan
from renet.cli import run
from renet.copper import Mode
from renet.pipeline import Inputs, Named, Options, survey

QUICK = (
    "v2016_wifi_relay", "v2017_fpga_stick", "v2017_wifi_devkit", "v20190331_probe",
    "v2022_usb_key", "v20241229_mcu_board", "v2024_adapter", "v20260206_fader",
    "v20260206_robot", "v3_rf_amplifier", "v4_fpga_module",
)  # fmt: skip
"""Boards that plan within seconds; scripts/bench_channels goes over all of them."""

HARD = {"v2017_wifi_devkit": (3, 1), "v4_fpga_module": (2, 2)}
"""These need a finer grid, so many steps of which make a pitch, and so many restarts on it.

That is `--thorough`; other boards get the plain grid alone.
"""

REAL = [path for path in board_paths() if path.stem in QUICK]
OWN = sorted([*(CORPUS / "boards").glob("*.kicad_pcb"), *(CORPUS / "demo").glob("*.kicad_pcb")])


def planned(capsys: pytest.CaptureFixture[str], *args: str) -> dict[str, Any]:
    """The JSON of a run that must succeed."""
    assert run(["channels", *args, "--json"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


@cache
def pool(path: Path) -> tuple[bytes, frozenset[str]]:
    """Rules that free the busiest part's signals, and the nets whose copper is ripped."""
    data = path.read_bytes()
    ref, pins = busiest(BoardText(data))
    rules = pool_rules(ref, pins) if pins else b""
    scene = survey(Inputs(Named("b", data), rules=Named("r", rules)), Options(mode=Mode.RIP))
    free = [pin for pin, may in zip(scene.board.pins, scene.freedom.movable, strict=True) if may]
    return rules, frozenset(scene.board.nets[pin.net] for pin in free if pin.net >= 0)


@pytest.mark.parametrize("path", REAL, ids=lambda path: path.stem)
def test_a_ripped_pool_is_planned_without_conflicts(
    path: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Of the connections that the file's own tracks join, at most a tenth is blocked.

    Most on the plain grid alone: further ones take long, and are tried for the sake of few.
    """
    monkeypatch.setattr(plan, "QUICK", plan.Effort((2,), 0, 0))
    finer, restarts = HARD.get(path.stem, (2, 0))
    monkeypatch.setattr(plan, "THOROUGH", plan.Effort((finer,), 5_000_000, 10_000_000))
    monkeypatch.setattr(plan, "RESTARTS", restarts)
    monkeypatch.setattr(plan, "MOST_CARRIED", 0)
    monkeypatch.setattr(negotiate, "LONG", mend.Budget(3_000, 300_000_000, 200))
    monkeypatch.setattr(plan, "_aligned", lambda *_: None)
    text, nets = pool(path)
    rules = tmp_path / "pool.rules.toml"
    rules.write_bytes(text)
    how = ["--thorough"] if path.stem in HARD else []
    record = planned(capsys, str(path), "--rules", str(rules), "--copper", "rip", *how)
    assert complaints(path, record, nets) == []
    assert record["blocked"] == sum(r["state"] == "blocked" for r in record["routes"])
    assert all(r["length_mm"] >= r["bound_mm"] for r in record["routes"] if r["pieces"])
    hand = by_hand(path, record)
    assert sum(hand) >= 0.9 * len(hand)
    missed = sum(
        done and route["state"] == "blocked"
        for done, route in zip(hand, record["routes"], strict=True)
    )
    print(f"{path.stem}: {missed} of {sum(hand)} blocked, {missed / sum(hand):.0%}")
    assert missed <= 0.1 * sum(hand)


@pytest.mark.parametrize("path", OWN, ids=lambda path: path.stem)
def test_corpus_boards_are_planned_without_conflicts(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    record = planned(capsys, str(path))
    assert complaints(path, record, ()) == []
    assert record["blocked"] <= 0.1 * len(record["routes"])
    assert steps_against(record) < 0.25
