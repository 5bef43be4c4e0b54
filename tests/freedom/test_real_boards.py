"""The widest rules on every real board: what may never be free is not, and nobody is surprised."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from conftest import board_paths

from renet.freedom import Freedom, complaints, independent, resolve
from renet.model import NONE, Board
from renet.read.board import read_board
from renet.rules import Pool, Rules, Unit

# Pins that carry no signal: types of the files themselves, net names as the boards write them.
NEVER = frozenset({"power_in", "power_out", "no_connect"})
RAILS = frozenset({"GND", "/GND", "+3V3", "/3V3", "+5V", "VCC", "VBUS", "VBAT", "+1V8", "+BATT"})


@pytest.fixture(params=board_paths() or [None], ids=lambda path: path.stem if path else "none")
def board(request: pytest.FixtureRequest) -> Board:
    if request.param is None:
        pytest.skip("no real boards: ../shared/boards is not there")
    found, _ = read_board(request.param.read_bytes())
    return found


def _everything(board: Board) -> Rules:
    """Every part with a reference of its own and with pins is a pool by glob."""
    count = Counter(part.ref for part in board.parts)
    refs = [p.ref for p in board.parts if p.ref and p.pins and count[p.ref] == 1]
    return Rules(pools=tuple(Pool(ref, ("*",)) for ref in refs))


def _free(freedom: Freedom) -> list[int]:
    return np.flatnonzero(freedom.movable).tolist()


def test_a_glob_over_everything_frees_no_supply_pin(board: Board) -> None:
    freedom = resolve(board, _everything(board), {})
    for pin in _free(freedom):
        assert board.pins[pin].type not in NEVER
        assert board.net_name(board.pins[pin].net) not in RAILS
    assert all(why for _, why in freedom.kept)


def test_exchanging_two_free_pins_is_legal_and_one_swap(board: Board) -> None:
    freedom = resolve(board, _everything(board), {})
    before = freedom.names.input_nets
    for group in freedom.groups:
        nets = before[list(group.pins)]
        other = np.flatnonzero(nets != nets[0])
        if nets[0] == NONE or not len(other):
            continue
        after = before.copy()
        pins = [group.pins[0], group.pins[int(other[0])]]
        after[pins] = before[pins[::-1]]
        assert complaints(freedom, after) == []
        assert independent(freedom, before, after) == [freedom.names.in_order(pins)]


def test_naming_every_signal_pin_by_number_frees_them_all(board: Board) -> None:
    part = max(board.parts, key=lambda part: len(part.pins))
    pins = [pin for pin in part.pins if board.pins[pin].type not in NEVER]
    assert len(pins) > 1
    rules = Rules(pools=(Pool(part.ref, tuple(board.pins[pin].number for pin in pins)),))
    assert _free(resolve(board, rules, {})) == pins


def test_the_two_largest_equal_parts_trade_whole(board: Board) -> None:
    """As units of all their pins: legal to exchange, and one swap."""
    kinds: dict[tuple[str, str, tuple[str, ...]], list[str]] = {}
    count = Counter(part.ref for part in board.parts)
    for part in board.parts:
        pins = [board.pins[pin] for pin in part.pins]
        numbers = tuple(pin.number for pin in pins)
        if len(pins) > 1 and count[part.ref] == 1 and not any(p.type in NEVER for p in pins):
            kinds.setdefault((part.value, part.footprint, numbers), []).append(part.ref)
    twins = [(len(kind[2]), refs[:2], kind[2]) for kind, refs in kinds.items() if len(refs) > 1]
    if not twins:
        assert all(len(refs) < 2 for refs in kinds.values())
        return
    _, (a, b), numbers = max(twins)
    rows = tuple(tuple(f"{ref}:{number}" for number in numbers) for ref in (a, b))
    freedom = resolve(board, Rules(units=(Unit(rows),)), {})
    (group,) = freedom.groups
    first, second = (list(site) for site in group.sites)
    before = freedom.names.input_nets
    after = before.copy()
    after[first], after[second] = before[second], before[first]
    assert complaints(freedom, after) == []
    moved = [pin for pin in freedom.names.in_order(group.pins) if before[pin] != after[pin]]
    assert independent(freedom, before, after) == ([moved] if moved else [])
