"""Freedom against the twin that tries everything: who may move, and what is legal."""

from __future__ import annotations

import random

import numpy as np
from hypothesis import assume, event, given, settings
from hypothesis import strategies as st
from strategies.rules import cases, shuffled
from twins import legality

from renet.errors import RulesError
from renet.freedom import Freedom, complaints, resolve
from renet.rules import Rules


def resolved(case: legality.Given) -> Freedom:
    """The freedom of a drawn case; cases whose rules cannot be meant are dropped."""
    try:
        return resolve(case.board, case.rules, case.held, case.left_out)
    except RulesError as error:
        assert error.line
        assume(False)
        raise AssertionError from None


@given(cases())
def test_only_pins_that_the_rules_free_are_movable(case: legality.Given) -> None:
    freedom = resolved(case)
    free = legality.free_pins(case)
    movable = set(np.flatnonzero(freedom.movable).tolist())
    assert movable <= free
    for pin, why in freedom.kept:
        assert why
        assert pin not in movable
    named = {pin for pool in case.rules.pools for pin in case.words(pool.part, pool.pins)}
    named |= {p for unit in case.rules.units for row in unit.tuples for p in case.far(row)}
    assert named == movable | {pin for pin, _ in freedom.kept}


@given(st.data())
@settings(max_examples=400)
def test_legal_is_what_the_twin_calls_legal(data: st.DataObject) -> None:
    case = data.draw(cases())
    freedom = resolved(case)
    after = data.draw(shuffled(case))
    wrong = complaints(freedom, np.array(after, dtype=np.int64))
    event("legal" if not wrong else "not legal")
    assert (wrong == []) == legality.legal(case, after), wrong


@given(cases())
def test_the_input_is_always_legal(case: legality.Given) -> None:
    freedom = resolved(case)
    assert complaints(freedom, freedom.names.input_nets) == []
    assert all(one.violations(freedom.names.input_nets) == 0 for one in freedom.conditions)


@given(cases())
def test_what_the_input_breaks_is_told(case: legality.Given) -> None:
    freedom = resolved(case)
    broken = {violation for one in freedom.conditions for violation in one.held}
    told = {facts for _, facts in legality.violations(case, case.before)}
    assert broken <= told
    free_parts = {case.ref(pin) for pin in np.flatnonzero(freedom.movable).tolist()}
    missed = {facts for facts in told - broken if any(case.ref(p) in free_parts for p, _ in facts)}
    assert not missed
    assert len(freedom.findings) >= len(broken)


@given(cases(), st.integers(0, 99))
def test_the_order_of_the_rules_means_nothing(case: legality.Given, seed: int) -> None:
    freedom = resolved(case)
    turned = Rules(
        *(
            tuple(random.Random(seed).sample(field, len(field))) if isinstance(field, tuple) else 0
            for field in case.rules
        )
    )
    other = resolve(case.board, turned, case.held, case.left_out)
    assert _plain(freedom) == _plain(other)


def _plain(freedom: Freedom) -> tuple[object, ...]:
    groups = [(group.sites, group.exchange, group.price_nm) for group in freedom.groups]
    kept = [pin for pin, _ in freedom.kept]
    held = sorted(sorted(map(sorted, one.held)) for one in freedom.conditions)
    return groups, kept, held, freedom.weight.tolist()
