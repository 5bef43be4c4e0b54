"""Pools by hand for the real boards: every programmable signal pin that reaches a connector.

Read off the boards' nets and written out here pin by pin.  Taken: general
inputs and outputs of the programmable part whose net also stands on a
connector.  Not taken: enable, reset, debug and configuration pins, USB data,
memory buses, transceiver lanes, supplies.  Bank voltages, pairs and fixed
functions are not looked at: the question is how much better the pins could
have been dealt out on paper, not whether firmware could follow.
"""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import numpy as np

from renet.copper import Mode
from renet.engine import Params, Result, reorder
from renet.engine.score import connections
from renet.model import IntArray
from renet.pipeline import Inputs, Named, Options, Scene, problem_of
from renet.tangle import Connections, crossing_pairs

LEAST = 10


class Pinout(NamedTuple):
    """A board's file name without its ending, and its pools: (part, pins in words)."""

    board: str
    pools: tuple[tuple[str, str], ...]

    def rules(self) -> bytes:
        """The same as a rules file."""
        lines = []
        for part, pins in self.pools:
            words = ", ".join(f'"{pin}"' for pin in pins.split())
            lines.append(f'[[pool]]\npart = "{part}"\npins = [{words}]\ncost_mm = 0.0\n')
        return "\n".join(lines).encode()


PINOUTS = (
    Pinout(
        "v2016_wifi_relay",
        (("U3", "8 9 10 11 12 13 14 16 23 24 25 26 27 28 29 30 31 33 34 35 36 37"), ("U3", "4-7")),
    ),
    Pinout(
        "v20170123_fpga_host",
        (
            (
                "U2",
                "A8 A9 A10 A12 A13 A14 A15 B9 B10 B11 B12 B14 B15 B16 C8 C9 C11 C12 C13 C14 C16 "
                "D9 D10 D11 D13 D14 D15 D16 E11 E12 E13 E15 E16 F12 F13 F14 F15 G12 G14 G15 G16 "
                "H11 H12 H13 H14 H16 J15 J16",
            ),
        ),
    ),
    Pinout(
        "v2017_fpga_eval",
        (
            (
                "U4",
                "A1 A2 A5 A6 A7 A9 A10 A11 A15 A16 B1 B2 B3 B4 B5 B6 B7 B8 B9 B10 B11 B12 B13 B14 "
                "B15 B16 C1 C2 C3 C4 C5 C6 C7 C8 C9 C10 C11 C12 C13 C14 C16 D1 D2 D3 D4 D5 D6 D7 "
                "D8 D9 D10 D11 D13 D14 D15 D16 E2 E3 E4 E5 E6 E9 E10 E11 E13 E14 E16 F1 F2 F3 F4 "
                "F5 F7 F9 F11 F12 F13 F14 F15 F16 G1 G2 G3 G4 G5 G10 G11 G12 G13 G14 G15 G16 H1 "
                "H2 H3 H4 H5 H6 H11 H12 H13 H14 H16 J1 J2 J4 J5 J10 J11 J12 J13 J14 J15 J16 K1 K3 "
                "K4 K5 K12 K13 K14 K15 K16 L1 L3 L4 L5 L6 L7 L12 L13 L14 L16 M1 M2 M3 M4 M5 M6 "
                "M11 M12 M13 M14 M15 M16 N2 N3 N4 N12 N16 P1 P2 P14 P15 P16 R1 R14 R15 R16 T13",
            ),
        ),
    ),
    Pinout(
        "v2017_fpga_stick",
        (
            (
                "U2",
                "2 3 4 6 9 10 11 12 13 18 19 20 21 23 25 26 27 28 31 32 34 35 36 37 38 42 43 "
                "44 45 46 47 48",
            ),
        ),
    ),
    Pinout(
        "v2017_wifi_devkit",
        (
            (
                "U4",
                "4 5 6 7 8 9 10 11 12 15 16 17 18 19 20 21 22 23 24 25 26 27 28 29 30 31 32 33 34 "
                "35 36 37 38 39",
            ),
        ),
    ),
    Pinout(
        "v20200119_fpga_carrier",
        (
            (
                "U2",
                "A2 A3 A4 A5 B1 B2 B3 B4 B5 C1 C2 C3 C4 C5 D1 D2 D3 D5 E1 E2 E3 E4 E5 F1 F2 F3 F4 "
                "F5 G1 G2 G3 G5 H1 H2 H3 H4 H5 J1 J3 J4 J5 K1 K2 K3 K4 K5 L1 L2 L3 L4 L5 M1 M3 M4 "
                "M5 N1 N2 N3 N4 N5 P1 P2 P3 P5",
            ),
        ),
    ),
    Pinout(
        "v2021_fpga_sdram",
        (("U1", "A2 A3 A4 A5 A6 A9 A10 A11 A12 B3 B4 B5 B6 B8 B9 B10 B11 B12 B13 C6 D6 E6"),),
    ),
    Pinout(
        "v2021_mcu_fpga_unrouted",
        (
            ("U3", "2 3 5 6 7 8 9 11 12 13 14 15 16 17 18 27 28 29 30 38 39 40 41"),
            (
                "U6",
                "2 3 4 6 9 10 11 12 13 18 19 20 21 23 25 26 27 28 31 32 34 35 36 37 38 42 43 44 "
                "45 46 47 48",
            ),
        ),
    ),
    Pinout(
        "v2022_mcu_fpga",
        (
            ("U3", "2-9 11 12 14-18 27-32 34 35 38-41"),
            (
                "U6",
                "2 3 4 6 9 10 11 12 13 18 19 20 21 23 25 26 27 28 31 32 34 35 36 37 38 42 43 44 "
                "45 46 47 48",
            ),
        ),
    ),
    Pinout("v20241229_mcu_board", (("U3", "5 6 12 13 18 19 20 21 22 30 31"),)),
    Pinout("v20241229_z80", (("RP2040_1", "15-18 27-32 34-41"),)),
    Pinout(
        "v2024_fpga_sdram",
        (("U1", "A11 A12 A13 A14 B11 B12 B13 B14 F1 F2 F3 K1 K2 K3"),),
    ),
    Pinout(
        "v2024_fpga_stick",
        (
            (
                "U2",
                "2 3 4 6 9 10 11 12 13 18 19 20 21 23 25 26 27 28 31 32 34 35 36 37 38 42 43 "
                "44 45 46 47 48",
            ),
        ),
    ),
    Pinout("v20260206_robot", (("U7", "2 3 19 20 27 28"),)),
    Pinout(
        "v4_fpga_module",
        (
            (
                "U1",
                "A1 A2 A6 A7 A8 A9 B1 B6 B7 B8 C1 C2 C9 D1 D2 D8 D9 E1 E2 E8 G1 G2 G9 H1 H2 H4 H9 "
                "J1 J3 J4 J8 J9",
            ),
        ),
    ),
)


class Compared(NamedTuple):
    """The designer's pinout against ours, in crossings.

    ``involving`` a net of the pools, ``among`` these nets alone, ``all`` on the
    board, each before and after.  ``least`` is proved: no pinout within the pools
    has fewer that involve one of their nets.
    """

    board: str
    pins: int
    involving: tuple[int, int]
    among: tuple[int, int]
    all: tuple[int, int]
    least: int

    @property
    def share(self) -> float:
        """What is left of the designer's crossings that involve a net of the pools."""
        return self.involving[1] / self.involving[0]

    @property
    def half_out_of_reach(self) -> bool:
        """Whether it is proved that no pinout within the pools has half of them."""
        return 2 * self.least > self.involving[0]


def inputs_of(path: Path, pinout: Pinout) -> Inputs:
    """The board with the pools as its rules."""
    return Inputs(Named(path.name, path.read_bytes()), rules=Named("pools", pinout.rules()))


def options_of(steps: int | None) -> Options:
    """All copper counts as absent; None: as many steps as by default."""
    return Options(mode=Mode.IGNORE, params=Params(iterations=steps))


def pool_nets(scene: Scene) -> IntArray:
    """The nets on the pins that may move."""
    nets = [scene.board.pins[pin].net for pin in np.flatnonzero(scene.freedom.movable).tolist()]
    return np.unique(np.array(nets, dtype=np.int64))


def counted(found: Connections, nets: IntArray) -> tuple[int, int, int]:
    """Crossings that involve one of these nets, those of two of them, and all."""
    inside = np.isin(found.net[crossing_pairs(found.ends, found.net)], nets)
    return int(inside.any(axis=1).sum()), int(inside.all(axis=1).sum()), len(inside)


def worth_comparing(scene: Scene) -> bool:
    """Whether the nets of the pools cross one another at least ten times."""
    return counted(scene.tangle.connections, pool_nets(scene))[1] >= LEAST


def compared(scene: Scene, result: Result, board: str) -> Compared:
    """What a search within the pools has made of the designer's pinout."""
    nets = pool_nets(scene)
    found = connections(problem_of(scene, options_of(None)), result.pin_net)
    before, after = counted(scene.tangle.connections, nets), counted(found, nets)
    involving, among, every = zip(before, after, strict=True)
    others = every[0] - involving[0]
    least = max(result.bound.crossings - others, 0)
    return Compared(board, scene.free_pins, involving, among, every, least)


def searched(scene: Scene, steps: int) -> Result:
    """The engine's answer, no file written."""
    options = options_of(steps)
    return reorder(problem_of(scene, options), options.params)
