"""Small boards with rules that can be read on them, and nets that may or may not be legal.

A drawn :class:`Case` has a part of functions (U1), two equal resistor arrays
(RN1, RN2), a connector (J1) and rules of every kind about them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, NamedTuple

from hypothesis import strategies as st
from twins.legality import RESERVED, Given, free_pins

from renet.model import NONE, Board, Layer, Pad, Part, Pin
from renet.rules import (
    Apart,
    Beside,
    Domain,
    Keep,
    Mate,
    Needs,
    Offers,
    Order,
    Pair,
    Peripheral,
    Pool,
    Rules,
    Unit,
)
from strategies.records import MM, SQUARE, bare_board

DEFAULT_GROUND = Beside._field_defaults["ground"]
NETS = ("/A", "/B", "/C", "/D", "/E", "GND", "/RX", "/TX")
FREE_NAMES = ("IO_1", "IO_2", "PB3 (UART1_TX)", "PB4/UART1_RX", "UART3_TX/UART3_RX", "")
TYPES = ("bidirectional", "passive", "")
MAPPED = ("UART1@0_TX", "UART1@0_RX", "UART1@1_TX", "UART1@1_RX")
FUNCTIONS = ("UART1_TX", "UART3_TX", "UART1_RX", "UART3_RX", "DAC", *MAPPED)


class Spec(NamedTuple):
    """One pin to be: number, name, type, net ("" for none), place in steps of the pitch."""

    number: str
    name: str = ""
    type: str = ""
    net: str = ""
    at: tuple[int, int] = (0, 0)


def pinned_board(
    parts: dict[str, Sequence[Spec]],
    nets: Sequence[str] = NETS,
    values: dict[str, str] | None = None,
) -> Board:
    """A board of parts with square pads 1 mm apart; ``values`` by reference."""
    made, pins, pads = [], [], []
    for column, (ref, specs) in enumerate(parts.items()):
        first = len(pins)
        for spec in specs:
            net = nets.index(spec.net) if spec.net else NONE
            x, y = (20 * column + spec.at[0]) * MM, spec.at[1] * MM
            pads.append(Pad(column, len(pins), x, y, 0.0, 1, False, True, SQUARE, net))
            open_ = spec.type == "no_connect"
            pins.append(
                Pin(column, spec.number, spec.name, spec.type, open_, net, (len(pads) - 1,), "")
            )
        span = range(first, len(pins))
        value = (values or {}).get(ref, "")
        made.append(Part(ref, value, "", 20 * column * MM, 0, 0.0, False, span, span))
    layers = (Layer("F.Cu", "signal"), Layer("In1.Cu", "signal"), Layer("B.Cu", "signal"))
    return bare_board(layers, nets, made, pins, pads)


@st.composite
def boards(draw: st.DrawFn) -> Board:
    """U1 with 6 to 8 pins in two rows, RN1 and RN2 with 4 or 6, J1 with 4 or 5 in a row."""
    nets = st.sampled_from(("", "", *NETS))
    names = st.sampled_from((*FREE_NAMES, *FREE_NAMES, *sorted(RESERVED)))
    types = st.sampled_from((*TYPES * 3, "power_in", "no_connect"))
    count = draw(st.integers(6, 8))
    chip = [
        Spec(str(i + 1), draw(names), draw(types), draw(nets), (i // 2, 3 * (i % 2)))
        for i in range(count)
    ]
    width = 2 * draw(st.integers(2, 3))
    arrays = {
        ref: [Spec(str(i + 1), "", "", draw(nets), (i, 0)) for i in range(width)]
        for ref in ("RN1", "RN2")
    }
    row = draw(st.integers(4, 5))
    plug = [Spec(str(i + 1), "", "passive", draw(nets), (0, i)) for i in range(row)]
    return pinned_board({"U1": chip, **arrays, "J1": plug})


def _numbers(board: Board, ref: str) -> list[str]:
    """Pad numbers of a part that a rule may name."""
    part = next(part for part in board.parts if part.ref == ref)
    pins = [board.pins[pin] for pin in part.pins]
    return [p.number for p in pins if p.type not in ("power_in", "no_connect")]


@st.composite
def pools(draw: st.DrawFn, board: Board, ref: str) -> list[Pool]:
    """No pool, one, or two that share out the numbers of a part."""
    numbers = _numbers(board, ref)
    every = [
        pin.number
        for part in board.parts
        if part.ref == ref
        for pin in board.pins[part.pins.start : part.pins.stop]
    ]
    kind = draw(st.sampled_from(("none", "range", "glob", "numbers", "two")))
    keep = tuple(draw(st.lists(st.sampled_from(every), max_size=1)))
    if kind == "none" or len(numbers) < 2:
        return []
    if kind == "range":
        return [Pool(ref, (f"1-{len(every)}",), keep, line=1)]
    if kind == "glob":
        few = draw(st.lists(st.sampled_from(numbers), max_size=2, unique=True))
        return [Pool(ref, ("*", *few), keep, line=1)]
    if kind == "numbers":
        return [Pool(ref, tuple(numbers), keep, line=1)]
    half = draw(st.integers(1, len(numbers) - 1))
    return [Pool(ref, tuple(numbers[:half]), line=1), Pool(ref, tuple(numbers[half:]), line=2)]


@st.composite
def units(draw: st.DrawFn, board: Board) -> list[Unit]:
    """No unit, or the elements of the arrays in twos or in whole arrays."""
    width = len(_numbers(board, "RN1"))
    kind = draw(st.sampled_from(("none", "elements", "arrays")))
    if kind == "none":
        return []
    if kind == "elements":
        tuples = [
            (f"{ref}:{i}", f"{ref}:{width + 1 - i}")
            for ref in ("RN1", "RN2")
            for i in range(1, width // 2 + 1)
        ]
        inner = draw(st.sampled_from(((), ((1, 2),))))
        few = draw(st.integers(1, min(4, len(tuples))))
        return [Unit(tuple(tuples[:few]), draw(st.booleans()), inner, line=3)]
    tuples = [tuple(f"{ref}:{i}" for i in range(1, 5)) for ref in ("RN1", "RN2")]
    inner = draw(st.sampled_from(((), ((1, 2), (3, 4)), ((1, 4),), ((1, 2, 3, 4),))))
    return [Unit(tuple(tuples), draw(st.booleans()), inner, line=3)]


@st.composite
def conditions(draw: st.DrawFn, board: Board) -> dict[str, Any]:
    """Some side conditions of every kind that the board can carry."""
    present = sorted({board.nets[pin.net] for pin in board.pins if pin.net != NONE})
    if len(present) < 2:
        return {}
    one = st.sampled_from(present)
    some = st.lists(one, min_size=1, max_size=3, unique=True).map(tuple)
    two = st.lists(one, min_size=2, max_size=2, unique=True).map(tuple)
    refs = st.sampled_from(("", "", "U1", "J1"))
    apart = st.builds(
        Apart, some, st.just(()) | some, refs, st.sampled_from((0.0, 0.0, 1.5, 2.5)), st.just(6)
    )
    pair = st.builds(Pair, two, st.just(""), st.just(()), st.booleans(), st.just(5))
    plugged = _nets_on(board, "J1")
    if len(plugged) > 1:
        there = st.lists(st.sampled_from(plugged), min_size=2, max_size=2, unique=True).map(tuple)
        sites = st.just((("1", "2"), ("4", "3")))
        pair |= st.builds(Pair, there, st.just("J1"), sites, st.booleans(), st.just(5))
    beside = st.builds(Beside, some, refs, st.just(DEFAULT_GROUND) | some, st.just(7))
    need = st.builds(
        Needs,
        some,
        st.sampled_from((("UART*_TX",), ("UART1_*", "UART1@1_*"), ("IO_*", "UART3_RX"), ("DAC",))),
        st.sampled_from(("", "U1")),
        st.booleans(),
        st.just(8),
    )
    few: dict[str, Any] = {
        "orders": draw(_orders(board)),
        "pairs": draw(st.lists(pair, max_size=2)),
        "aparts": draw(st.lists(apart, max_size=2)),
        "besides": draw(st.lists(beside, max_size=1)),
        "needs": draw(st.lists(need, max_size=2)),
    }
    if {"/RX", "/TX"} <= set(present) and draw(st.booleans()):
        instances = draw(st.sampled_from((("UART1", "UART3"), ("UART1@0", "UART1@1", "UART3"))))
        few["peripherals"] = [Peripheral(("/TX", "/RX"), ("TX", "RX"), instances, "", line=9)]
    return {kind: tuple(records) for kind, records in few.items()}


def _nets_on(board: Board, ref: str) -> list[str]:
    """Nets with exactly one pin on a part, in the order of its pins."""
    part = next(part for part in board.parts if part.ref == ref)
    here = [board.pins[pin].net for pin in part.pins]
    return [board.nets[net] for net in dict.fromkeys(here) if net != NONE and here.count(net) == 1]


@st.composite
def _orders(draw: st.DrawFn, board: Board) -> list[Order]:
    """No order, or one on a part that has two nets for it; often one that the input keeps."""
    ref = draw(st.sampled_from(("U1", "J1")))
    single = _nets_on(board, ref)
    if len(single) < 2 or draw(st.booleans()):
        return []
    nets = draw(st.lists(st.sampled_from(single), min_size=2, max_size=3, unique=True))
    if draw(st.booleans()):
        nets.sort(key=single.index)
    way = draw(st.sampled_from(("either", "either", "ascending", "descending")))
    return [Order(ref, tuple(nets), way, line=4)]


@st.composite
def rules_for(draw: st.DrawFn, board: Board) -> Rules:
    """Rules of all kinds; some cannot be meant, and resolving them is an error."""
    present = sorted({board.nets[pin.net] for pin in board.pins if pin.net != NONE})
    pins = st.sampled_from([board.pin_label(pin) for pin in range(len(board.pins))])
    keeps = [Keep(pins=tuple(draw(st.lists(pins, min_size=1, max_size=2))), line=10)]
    if present:
        keeps.append(Keep(nets=(draw(st.sampled_from(present)),), line=11))
    groups = [pool for ref in ("U1", "J1") for pool in draw(pools(board, ref))]
    domain = draw(st.lists(pins, max_size=8, unique=True))
    split = draw(st.integers(0, len(domain)))
    domains = [("left", domain[:split]), ("right", domain[split:])]
    if draw(st.integers(0, 3)):
        domains = []
    offers = [
        Offers(
            "U1",
            (draw(st.sampled_from(("1", "2", "1-3", "2-6"))),),
            (function,),
            only=draw(st.sampled_from((False, False, False, True))),
            line=12,
        )
        for function in draw(st.lists(st.sampled_from(FUNCTIONS)))
    ]
    extra = draw(conditions(board)) if draw(st.booleans()) else {}
    return Rules(
        pools=tuple(groups),
        units=tuple(draw(units(board))),
        keeps=tuple(draw(st.lists(st.sampled_from(keeps), max_size=1))),
        mates=draw(st.sampled_from(((), (), (), (Mate("main:J1", "probe:J2", line=13),)))),
        domains=tuple(Domain(name, tuple(words), 14) for name, words in domains if words),
        offers=tuple(offers),
        **extra,
    )


@st.composite
def cases(draw: st.DrawFn) -> Given:
    """A board with rules, pins held from outside and nets left out of the tangle."""
    board = draw(boards())
    held = draw(st.lists(st.integers(0, len(board.pins) - 1), max_size=1))
    left_out = draw(st.sampled_from((frozenset(), frozenset(), frozenset({NETS.index("GND")}))))
    return Given(board, draw(rules_for(board)), dict.fromkeys(held, "its copper"), left_out)


@st.composite
def shuffled(draw: st.DrawFn, given: Given, steps: int = 4) -> list[int]:
    """Nets after a few exchanges, most of them of free pins of one pool or tuples of one unit."""
    nets = given.before
    free = free_pins(given)
    pools = [[p for p in given.words(r.part, r.pins) if p in free] for r in given.rules.pools]
    pools = [pool for pool in pools if len(pool) > 1]
    sites = [
        tuple(next(iter(given.far([word]))) for word in words)
        for unit in given.rules.units
        for words in unit.tuples
    ]
    for _ in range(draw(st.integers(1, steps))):
        kind = draw(st.sampled_from(("pool",) * 6 + ("tuple", "tuple", "turn", "any")))
        if kind == "pool" and pools:
            pool = st.sampled_from(draw(st.sampled_from(pools)))
            _exchange(nets, (draw(pool),), (draw(pool),))
        elif kind == "turn" and sites:
            site = draw(st.sampled_from(sites))
            for pin, net in zip(site, [nets[pin] for pin in reversed(site)], strict=True):
                nets[pin] = net
        elif kind == "tuple" and sites:
            _exchange(nets, draw(st.sampled_from(sites)), draw(st.sampled_from(sites)))
        elif kind == "any":
            every = st.integers(0, len(nets) - 1)
            _exchange(nets, (draw(every),), (draw(every),))
    return nets


def _exchange(nets: list[int], a: Sequence[int], b: Sequence[int]) -> None:
    for x, y in zip(a, b, strict=True) if a != b else ():
        nets[x], nets[y] = nets[y], nets[x]
