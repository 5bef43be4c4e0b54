"""Every figure of the channel objective is the twin's, and every step changes what it promised."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies.orthogonal import posed
from strategies.problems import problems
from twins.orthogonal import recount

from renet.engine.problem import Problem
from renet.engine.score import connections, score
from renet.orthogonal.field import Field
from renet.orthogonal.places import Places
from renet.orthogonal.seating import Seating
from renet.orthogonal.terms import NO_TERMS, STARTING, Terms, total


def from_nothing(problem: Problem, field: Field, seating: Seating) -> Terms:
    """What the twin says of the nets that a seating has on its pins."""
    found = connections(problem, seating.pin_net)
    rows = zip(found.a.tolist(), found.b.tolist(), found.net.tolist(), strict=True)
    return recount(field, list(rows), score(problem, seating.pin_net).price_nm)


@given(posed(problems(most_sites=6)), st.randoms(use_true_random=False))
@settings(max_examples=100)
def test_steps_and_recount_agree(posed: tuple[Problem, Field], random) -> None:  # type: ignore[no-untyped-def]
    problem, field = posed
    seating = Seating(problem, field, problem.pin_net)
    places = Places(problem, seating.stock, problem.pin_net)
    assert seating.terms == from_nothing(problem, field, seating)
    rng = np.random.default_rng(random.randrange(1 << 30))
    for _ in range(8):
        one = places.draw(rng)
        if one is None:
            continue
        before = seating.terms
        step = seating.trial(places.nets(one))
        assert seating.terms == before
        seating.apply(step)
        places.make(one)
        assert seating.terms == before.plus(step.terms) == from_nothing(problem, field, seating)
        assert seating.moved == score(problem, seating.pin_net).moved_pins


@given(posed(problems()))
@settings(max_examples=40)
def test_undoing_everything_brings_the_input_back(posed: tuple[Problem, Field]) -> None:
    problem, field = posed
    seating = Seating(problem, field, problem.pin_net)
    first = seating.terms
    places = Places(problem, seating.stock, problem.pin_net)
    rng = np.random.default_rng(1)
    for one in filter(None, (places.draw(rng) for _ in range(5))):
        seating.apply(seating.trial(places.nets(one)))
        places.make(one)
    seating.apply(seating.back(np.flatnonzero(seating.pin_net != problem.pin_net).tolist()))
    assert seating.terms == first
    assert np.array_equal(seating.pin_net, problem.pin_net)


def test_the_sum_has_the_weights_that_are_written_down() -> None:
    """10 a track of overflow, 2 a via, 1/2 a bend, crossings, 1 per 10 mm: issue 5, no source."""
    unit = total(NO_TERMS._replace(crossings=1000))
    assert total(NO_TERMS._replace(overflow=1000)) == 10 * unit
    assert total(NO_TERMS._replace(vias=1)) == 2 * unit
    assert 2 * total(NO_TERMS._replace(bends=1)) == unit
    assert total(NO_TERMS._replace(length_nm=4_000_000, price_nm=6_000_000)) == unit
    assert total(NO_TERMS._replace(apart=9)) == 0
    assert STARTING.overflow == 10


@given(posed(problems()))
@settings(max_examples=40)
def test_pairs_apart_are_counted_as_often_as_they_are_listed(
    posed: tuple[Problem, Field],
) -> None:
    seating = Seating(*posed, posed[0].pin_net)
    pairs = seating.ledger.pairs_apart()
    assert bool(pairs) == bool(seating.terms.apart)
    assert sum(times for _, _, times in pairs) == seating.terms.apart
    assert all(a < b for a, b, _ in pairs)
    assert pairs == sorted(pairs, key=lambda pair: (-pair[2], pair[:2]))
