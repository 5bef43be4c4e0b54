"""Netlist and board say the same of a pin, where both say something (real files)."""

from __future__ import annotations

from pathlib import Path

import pytest
import sexpdata
from conftest import board_paths

from renet.draft import gather
from renet.read.board import read_board
from renet.read.netlist import read_netlist

PAIRS = [path for path in board_paths() if path.with_suffix(".net").is_file()]


@pytest.fixture(params=PAIRS or [None], ids=lambda path: path.stem if path else "none")
def pair(request: pytest.FixtureRequest) -> Path:
    if request.param is None:
        pytest.skip("no real boards: ../shared/boards is not there")
    path: Path = request.param
    return path


def library(path: Path) -> dict[tuple[str, str], tuple[str, str]]:
    """(reference, pin) -> (name, type) by a general-purpose reader, libparts only."""
    tree = sexpdata.loads(path.read_text("utf-8"), nil=None, true=None, false=None)

    def key(item: object) -> str:
        return str(item[0]) if isinstance(item, list) and item else ""  # type: ignore[arg-type]

    def child(node: list[object], name: str) -> list[object]:
        return next((item for item in node if key(item) == name), [None, ""])  # type: ignore[misc]

    def text(node: list[object], name: str) -> str:
        value = child(node, name)[1]
        return format(value, "g") if isinstance(value, float) else str(value)

    pins = {}
    for part in child(tree, "libparts")[1:]:
        names = [text(part, "part")] + [str(a[1]) for a in child(part, "aliases")[1:] if key(a)]
        rows = [
            (text(p, "num"), text(p, "name"), text(p, "type"))
            for p in child(part, "pins")[1:]
            if key(p)
        ]
        for name in names:
            pins[text(part, "lib"), name] = rows
    found = {}
    for part in child(tree, "components")[1:]:
        source = child(part, "libsource")
        for number, name, kind in pins.get((text(source, "lib"), text(source, "part")), ()):
            found[text(part, "ref"), number] = (name, kind)
    return found


OLD = {"BiDi": "bidirectional", "3state": "tri_state", "openCol": "open_collector",
       "openEm": "open_emitter", "unspc": "unspecified", "NotConnected": "no_connect"}  # fmt: skip


def test_names_and_types_are_those_of_the_library(pair: Path) -> None:
    board, _ = read_board(pair.read_bytes())
    netlist, _ = read_netlist(pair.with_suffix(".net").read_bytes())
    evidence = gather(board, netlist)
    said = library(pair.with_suffix(".net"))
    compared = 0
    for index, (before, pin) in enumerate(zip(board.pins, evidence.board.pins, strict=True)):
        name, kind = said.get(board.pin_key(index), ("", ""))
        if not kind:
            continue
        compared += 1
        assert pin.name == before.name or pin.name == ("" if name == "~" else name)
        assert pin.type == before.type or pin.type == OLD.get(kind, kind).lower()
    assert compared > 100
