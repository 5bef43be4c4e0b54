"""Drafts of the real boards, and the table of what they find."""

from __future__ import annotations

from collections import Counter
from functools import cache
from pathlib import Path
from typing import NamedTuple

from conftest import ROOT

from renet.draft import Draft, draft_rules, gather
from renet.read.board import read_board
from renet.read.netlist import read_netlist

TABLE = ROOT / "tests" / "draft" / "verdicts.txt"


class Drafted(NamedTuple):
    path: Path
    netlist: Path | None
    draft: Draft


@cache
def drafted(path: Path) -> Drafted:
    """The draft of a board with the netlist that lies beside it, if any."""
    beside = path.with_suffix(".net")
    netlist = read_netlist(beside.read_bytes())[0] if beside.is_file() else None
    board, _ = read_board(path.read_bytes())
    draft = draft_rules(gather(board, netlist))
    return Drafted(path, beside if beside.is_file() else None, draft)


def table(paths: list[Path]) -> str:
    """Per board: pins free, asked and kept, and how often each reason was given."""
    lines = []
    for path in paths:
        draft = drafted(path).draft
        count = draft.count()
        lines.append(
            f"{path.stem}: free {count['free']}, asked {count['asked']}, kept {count['kept']}"
        )
        reasons = Counter((v.state, v.kind) for v in draft.verdicts.values())
        for (state, kind), number in sorted(reasons.items(), key=lambda r: (r[0][0], -r[1], r[0])):
            lines.append(f"    {state:5} {number:4} {kind}")
    return "\n".join(lines) + "\n"
