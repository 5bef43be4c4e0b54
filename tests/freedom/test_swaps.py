"""Independent swaps: every union of them is legal, and none can be made smaller."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator, Sequence

import numpy as np
import pytest
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st
from strategies.rules import Spec, cases, pinned_board
from twins import legality

from renet.errors import InputError, RulesError
from renet.freedom import Freedom, complaints, independent, resolve
from renet.freedom.groups import Group
from renet.model import IntArray
from renet.rules import Apart, Beside, Needs, Offers, Order, Pair, Peripheral, Pool, Rules, Unit


def _mixed(before: Sequence[int], after: Sequence[int], pins: Sequence[int]) -> list[int]:
    taken = frozenset(pins)
    return [after[pin] if pin in taken else net for pin, net in enumerate(before)]


def _unions(swaps: Sequence[Sequence[int]]) -> Iterator[list[int]]:
    for count in range(len(swaps) + 1):
        for some in itertools.combinations(swaps, count):
            yield [pin for swap in some for pin in swap]


@st.composite
def legal_moves(draw: st.DrawFn) -> tuple[legality.Given, Freedom, list[int]]:
    """A case and a legal result in which something moved: a walk that keeps to legal boards."""
    case = draw(cases())
    try:
        freedom = resolve(case.board, case.rules, case.held, case.left_out)
    except RulesError:
        assume(False)
        raise
    assume(freedom.groups)
    chance = random.Random(draw(st.integers(0, 1 << 30)))
    after = freedom.names.input_nets
    for _ in range(30):
        moved = after.copy()
        for _ in range(chance.choice((1, 1, 2, 3, 4))):
            _exchange(chance.choice(freedom.groups), moved, chance)
        if not complaints(freedom, moved):
            after = moved
    assume((after != freedom.names.input_nets).any())
    return case, freedom, after.tolist()


def _exchange(group: Group, nets: IntArray, chance: random.Random) -> None:
    """Two sites trade, or one is turned or traded inside."""
    a, b = (list(chance.choice(group.sites)) for _ in range(2))
    if a != b:
        nets[a], nets[b] = nets[b], nets[a]
    if group.exchange.reversible and chance.random() < 0.5:
        nets[a] = nets[a[::-1]]
    for positions in group.exchange.inner:
        here = [a[position] for position in positions]
        nets[here] = nets[chance.sample(here, len(here))]


@given(legal_moves())
@settings(max_examples=150)
def test_every_union_of_swaps_is_legal(found: tuple[legality.Given, Freedom, list[int]]) -> None:
    case, freedom, after = found
    before = case.before
    swaps = independent(freedom, np.array(before), np.array(after))
    moved = [pin for pin in range(len(before)) if before[pin] != after[pin]]
    assert sorted(pin for swap in swaps for pin in swap) == moved
    assert all(swaps)
    event(f"{len(swaps)} swaps")
    for pins in _unions(swaps[:6]):
        assert legality.legal(case, _mixed(before, after, pins)), pins


@given(legal_moves())
@settings(max_examples=150)
def test_no_swap_of_pools_and_units_can_be_split(
    found: tuple[legality.Given, Freedom, list[int]],
) -> None:
    case, freedom, after = found
    plain = Rules(pools=case.rules.pools, units=case.rules.units, domains=case.rules.domains)
    bare = case._replace(rules=plain)
    freedom = resolve(bare.board, plain, bare.held, bare.left_out)
    before = bare.before
    sites = {pin: site for group in freedom.groups for site in group.sites for pin in site}
    for swap in independent(freedom, np.array(before), np.array(after)):
        tuples = sorted({sites[pin] for pin in swap})
        event(f"a swap of {len(tuples)}")
        for count in range(1, len(tuples) if len(tuples) < 7 else 1):
            for some in itertools.combinations(tuples, count):
                pins = [pin for site in some for pin in site]
                assert not legality.legal(bare, _mixed(before, after, pins))


def _freedom(specs: str, rules: Rules, pitch: int = 1) -> tuple[Freedom, IntArray]:
    """One part U1 in a row; a letter is the net /LETTER, G is GND, a dot no net."""
    nets = ["GND", *(f"/{c}" for c in sorted(set(specs) - {".", "G"}))]
    names = {"G": "GND", ".": ""}
    row = [
        Spec(str(i + 1), f"F{i + 1}", "", names.get(c, f"/{c}"), (0, i * pitch))
        for i, c in enumerate(specs)
    ]
    freedom = resolve(pinned_board({"U1": row}, nets), rules, {})
    return freedom, freedom.names.input_nets


def _nets(freedom: Freedom, specs: str) -> IntArray:
    names = {"G": "GND"}
    nets = freedom.names.board.nets
    ids = [-1 if c == "." else nets.index(names.get(c, f"/{c}")) for c in specs]
    return np.array(ids, dtype=np.int64)


# input, result, rules besides the pool, swaps by pin number
CASES = {
    "two exchanges": ("ABCD", "BADC", Rules(), ["12", "34"]),
    "a ring of three": ("ABCD", "BCAD", Rules(), ["123"]),
    "a path into a spare pin": ("AB.C", ".ABC", Rules(), ["123"]),
    "two paths into two spare pins": ("A.B.", ".A.B", Rules(), ["12", "34"]),
    "nets with several pins fall into the smallest rings": ("AABC", "CBAA", Rules(), ["14", "23"]),
    "an order ties what it names": (
        "ABCD",
        "BADC",
        Rules(orders=(Order("U1", ("/A", "/C")), Order("U1", ("/B", "/D")))),
        ["1234"],
    ),
    "a pair ties P and N": (
        "PXNY",
        "XPYN",
        Rules(pairs=(Pair(("/P", "/N"), "U1", (("1", "3"), ("2", "4"))),)),
        ["1234"],
    ),
    "apart ties who would meet": ("AXBY", "XAYB", Rules(aparts=(Apart(("/A", "/B")),)), ["1234"]),
    "apart leaves alone who cannot meet": (
        "AX...YB",
        "XA...BY",
        Rules(aparts=(Apart(("/A", "/B")),)),
        ["12", "67"],
    ),
    "beside ties a net and the ground it goes to": (
        "AGXYZ",
        "XZAGY",
        Rules(besides=(Beside(("/A",)),)),
        ["12345"],
    ),
    "beside leaves alone who has ground in any case": (
        "AGXYZW",
        "XGAYWZ",
        Rules(besides=(Beside(("/A",)),)),
        ["13", "56"],
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_swaps_of_a_small_row(name: str) -> None:
    before, after, besides, expected = CASES[name]
    pool = Pool("U1", tuple(str(i + 1) for i in range(len(before))))
    freedom, nets = _freedom(before, besides._replace(pools=(pool,)))
    found = independent(freedom, nets, _nets(freedom, after))
    numbers = ["".join(freedom.names.board.pins[pin].number for pin in swap) for swap in found]
    assert complaints(freedom, _nets(freedom, after)) == []
    assert numbers == expected


def test_a_peripheral_moves_as_a_whole_and_pushes_out_who_uses_its_function() -> None:
    offers = tuple(
        Offers("U1", (pin,), (function,))
        for pin, function in (
            ("1", "UART1_TX"),
            ("2", "UART1_RX"),
            ("3", "UART3_TX"),
            ("4", "UART3_RX"),
            ("5", "UART5_TX"),
        )
    )
    rules = Rules(
        pools=(Pool("U1", ("1-7",)),),
        offers=offers,
        peripherals=(Peripheral(("/T", "/R"), ("TX", "RX"), ("UART1", "UART3")),),
        needs=(Needs(("/D",), ("UART*_TX",)),),
    )
    freedom, before = _freedom("TRD.X..", rules)
    assert complaints(freedom, _nets(freedom, "DRT.X..")) != []  # /T cannot leave /R behind
    assert complaints(freedom, _nets(freedom, "..TRX.D")) != []  # pin 7 is no UART at all
    after = _nets(freedom, "..TRD.X")
    assert complaints(freedom, after) == []
    # /D gives UART3_TX to /T and takes UART5_TX from /X, who needs none
    assert independent(freedom, before, after) == [[0, 1, 2, 3, 4, 6]]


def test_a_remap_group_moves_whole_and_its_instance_is_used_once() -> None:
    rows = ("UART1@0_TX", "UART1@0_RX", "UART1@1_TX", "UART1@1_RX", "UART1@1_CK")
    rules = Rules(
        pools=(Pool("U1", ("1-6",)),),
        offers=tuple(Offers("U1", (str(i + 1),), (row,)) for i, row in enumerate(rows)),
        peripherals=(Peripheral(("/T", "/R"), ("TX", "RX"), ("UART1@0", "UART1@1")),),
    )
    freedom, before = _freedom("TRDX..", rules)
    assert complaints(freedom, _nets(freedom, "DRTX..")) != []  # one foot in each mapping
    assert independent(freedom, before, _nets(freedom, "DXTR..")) == [[0, 1, 2, 3]]
    clock = rules._replace(needs=(Needs(("/D",), ("UART*_CK",)),))
    freedom, _ = _freedom("TR..D.", clock)  # the input uses two mappings of UART1 at once
    assert complaints(freedom, _nets(freedom, "TR..D.")) == []  # so it may stay
    assert complaints(freedom, _nets(freedom, "..TRD.")) != []  # but change it may not


def test_who_wants_the_same_function_one_after_the_other_moves_together() -> None:
    offers = tuple(Offers("U1", (pin,), ("ADC1",)) for pin in ("1", "5"))
    offers += tuple(Offers("U1", (pin,), ("ADC2",)) for pin in ("2", "6"))
    need = Needs(("/A", "/B"), ("ADC*",))
    rules = Rules(pools=(Pool("U1", ("1", "2", "3", "4", "5", "6")),), offers=offers)
    before, after = "ABXY..", "YX.BA."  # not legal: no pin 4 for /B
    freedom, nets = _freedom(before, rules._replace(needs=(need,)))
    assert complaints(freedom, _nets(freedom, after)) != []
    after = "BAXY.."
    assert independent(freedom, nets, _nets(freedom, after)) == [[0, 1]]
    after = "..XYAB"  # each keeps its function, so each can go alone
    assert independent(freedom, nets, _nets(freedom, after)) == [[0, 4], [1, 5]]
    after = "..XYBA"  # each takes the other's function
    assert independent(freedom, nets, _nets(freedom, after)) == [[0, 1, 4, 5]]
    free = rules._replace(needs=(need._replace(shared=True),))
    freedom, nets = _freedom(before, free)
    assert independent(freedom, nets, _nets(freedom, after)) == [[0, 5], [1, 4]]


def test_tuples_move_whole_and_a_turn_is_a_swap_of_its_own() -> None:
    tuples = (("U1:1", "U1:2"), ("U1:3", "U1:4"), ("U1:5", "U1:6"))
    rules = Rules(units=(Unit(tuples, reversible=True),))
    freedom, before = _freedom("ABCDEF", rules)
    after = _nets(freedom, "DCABFE")
    assert complaints(freedom, after) == []
    assert independent(freedom, before, after) == [[0, 1, 2, 3], [4, 5]]


def test_what_is_no_exchange_is_refused() -> None:
    freedom, before = _freedom("ABCD", Rules(pools=(Pool("U1", ("1-4",)),)))
    with pytest.raises(InputError, match="no exchange"):
        independent(freedom, before, _nets(freedom, "AABD"))
