"""The library's face for scripts: one line to load, one to check."""

from __future__ import annotations

from pathlib import Path

from renet.changes import ChangeList
from renet.inputs import inputs_of
from renet.pipeline import Inputs
from renet.rules import Rules
from renet.verify import Expect, Verdict, verify_board


def load(board: str | Path, netlist: str | Path = "", rules: str | Path = "") -> Inputs:
    """Read the files of one job; rules beside the board are found by name."""
    return inputs_of(
        Path(board), Path(netlist) if netlist else None, Path(rules) if rules else None
    )


def prove(
    before: bytes,
    after: bytes,
    rules: Rules | None = None,
    changes: ChangeList | None = None,
    copper: str = "keep",
) -> Verdict:
    """The second opinion on two boards: by rules, by exactly these moves, or both."""
    return verify_board(before, after, Expect(rules, changes, copper))
