"""Boards on which the channel objective is measured: the demo, and scrambled real boards."""

from __future__ import annotations

from typing import NamedTuple

from conftest import CORPUS, SHARED

from cases.boardtext import BoardText
from cases.scramble import busiest, pool_rules, scramble
from renet.copper import Mode
from renet.pipeline import Inputs, Named, Options

DEMO = "demo"
BOARDS = (
    DEMO, "v2016_wifi_relay", "v2017_fpga_stick", "v2017_wifi_devkit", "v20190331_probe",
    "v2022_usb_key", "v20241229_mcu_board", "v2024_adapter", "v20260206_fader",
    "v20260206_robot", "v4_fpga_module",
)  # fmt: skip
"""The demo and ten boards of ../shared that plan within a minute."""


class Case(NamedTuple):
    """A job to measure."""

    inputs: Inputs
    options: Options


def case_of(name: str, seed: int = 1) -> Case:
    """The demo as it is, or a real board whose busiest part had its nets dealt out anew."""
    if name == DEMO:
        folder = CORPUS / "demo"
        board, rules = folder / "buoy.kicad_pcb", folder / "buoy.rules.toml"
        given = Named(board.name, board.read_bytes()), Named(rules.name, rules.read_bytes())
        return Case(Inputs(given[0], rules=given[1]), Options())
    text = BoardText((SHARED / "boards" / f"{name}.kicad_pcb").read_bytes())
    ref, pins = busiest(text)
    board_ = Named(f"{name}.kicad_pcb", scramble(text, ref, pins, seed))
    rules_ = Named("pool.rules.toml", pool_rules(ref, pins))
    return Case(Inputs(board_, rules=rules_), Options(mode=Mode.IGNORE))
