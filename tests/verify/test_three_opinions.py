"""What the rules permit, by three programs that share no code: verify, freedom, and a twin.

Each reads ``renet.rules`` by itself; the twin tries everything by brute force.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st
from strategies.rules import cases, shuffled
from twins import legality

from renet.errors import RulesError
from renet.freedom import Freedom, complaints, resolve
from renet.verify import Counts, Finding
from renet.verify.partition import check_partition
from renet.verify.permitted import check_rules
from renet.verify.scope import Scope, scope_of
from renet.verify.seats import Seat, Seats


def freedom_of(case: legality.Given) -> Freedom:
    """Cases whose rules cannot be meant are dropped."""
    try:
        return resolve(case.board, case.rules, case.held, case.left_out)
    except RulesError:
        assume(False)
        raise AssertionError from None


def seats_of(case: legality.Given, after: Sequence[int]) -> Seats:
    """The board's pins; what holds a pin from outside the rules is told as a dispute."""
    board = case.board
    return Seats(
        [
            Seat(
                part=pin.part,
                ref=board.parts[pin.part].ref,
                number=pin.number,
                name=pin.name,
                type=pin.type,
                at=tuple((board.pads[pad].x, board.pads[pad].y) for pad in pin.pads),
                alone=True,
                torn=False,
                was=board.net_name(pin.net),
                is_=board.net_name(after[index]),
                disputed=index in case.held,
            )
            for index, pin in enumerate(board.pins)
        ]
    )


def scope(case: legality.Given, seats: Seats) -> Scope:
    return scope_of(case.rules, seats, frozenset(case.board.nets[net] for net in case.left_out))


def opinion(case: legality.Given, after: Sequence[int]) -> list[Finding]:
    seats = seats_of(case, after)
    found = scope(case, seats)
    return [
        *check_partition(seats, found, Counts()),
        *check_rules(seats, case.rules, found, Counts()),
    ]


@given(st.data())
@settings(max_examples=400)
def test_three_programs_agree_on_what_is_legal(data: st.DataObject) -> None:
    case = data.draw(cases())
    freedom = freedom_of(case)
    after = data.draw(shuffled(case))
    legal = legality.legal(case, after)
    event("legal" if legal else "not legal")
    assert (opinion(case, after) == []) == legal
    assert (complaints(freedom, np.array(after, dtype=np.int64)) == []) == legal


@given(cases())
def test_verify_sets_free_what_the_twin_sets_free(case: legality.Given) -> None:
    freedom = freedom_of(case)
    seats = seats_of(case, case.before)
    found = scope(case, seats)
    free = {index for index in range(len(seats.all)) if found.free(index)}
    assert free == legality.free_pins(case)
    assert set(np.flatnonzero(freedom.movable).tolist()) <= free


@given(cases())
def test_rules_that_freedom_can_read_verify_can_read(case: legality.Given) -> None:
    freedom_of(case)
    assert opinion(case, case.before) == []
