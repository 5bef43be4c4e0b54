"""Boards on which the channel objective is measured: the demo, and scrambled real boards."""

from __future__ import annotations

from typing import NamedTuple

from conftest import CORPUS, SHARED

from cases.boardtext import BoardText
from cases.scramble import busiest, pool_rules, scramble
from renet.channels.job import outlook
from renet.copper import Mode
from renet.orthogonal.job import Comparison, planned_of, untangle_channels
from renet.pipeline import Inputs, Job, Named, Options, untangle

DEMO = "demo"
BOARDS = (
    DEMO, "v2016_wifi_relay", "v2017_fpga_stick", "v2017_wifi_devkit", "v2022_usb_key",
    "v20241229_mcu_board", "v2024_adapter", "v2024_fpga_stick", "v20260206_fader",
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


def measured(name: str, seed: int = 1) -> tuple[str, Comparison, Job]:
    """A row of the table before and after (blocked / vias), and what the last column stands on."""
    case = case_of(name, seed)
    straight = untangle(case.inputs, case.options).changes
    lines = planned_of(outlook(case.inputs, case.options, changes=straight))
    job, found = untangle_channels(case.inputs, case.options)
    plans = (found.planned[0], lines, found.planned[1])
    said = [f"{one.blocked} / {one.vias}" for one in plans]
    return f"| {name} | {lines.connections} | {' | '.join(said)} |", found, job


class Row(NamedTuple):
    """A part: its pads are (dx, dy, net) in millimetres, all square and of one size."""

    ref: str
    x: float
    y: float
    pads: list[tuple[float, float, int]]
    size: float = 0.5
    through: bool = False
    back: bool = False


def board_of(parts: list[Row], wide: float, high: float, more: str = "") -> bytes:
    """A two-layer board of simple parts; net ``n`` is ``/Nn``, 0 is none."""
    nets = max((net for part in parts for *_, net in part.pads), default=0)
    lines = ["(kicad_pcb (version 20211014) (generator made)", "(general (thickness 1.6))"]
    lines.append('(layers (0 "F.Cu" signal) (31 "B.Cu" signal) (44 "Edge.Cuts" user))')
    lines += ['(net 0 "")', *(f'(net {n} "/N{n}")' for n in range(1, nets + 1))]
    for part in parts:
        side = "B.Cu" if part.back else "F.Cu"
        kind = ("thru_hole", '(drill 0.3) (layers "*.Cu")') if part.through else ("smd", "")
        layers = kind[1] or f'(layers "{side}")'
        lines.append(f'(footprint "made" (layer "{side}") (at {part.x} {part.y})')
        lines.append(f'(fp_text reference "{part.ref}" (at 0 0) (layer "F.SilkS"))')
        for number, (dx, dy, net) in enumerate(part.pads, start=1):
            named = f' (net {net} "/N{net}")' if net else ""
            lines.append(
                f'(pad "{number}" {kind[0]} rect (at {dx:g} {dy:g}) '
                f"(size {part.size} {part.size}) {layers}{named})"
            )
        lines.append(")")
    lines.append(f'(gr_rect (start 0 0) (end {wide} {high}) (layer "Edge.Cuts") (width 0.1))')
    return "\n".join([*lines, more, ")"]).encode()
