"""The terms of the channel objective, each a whole number, and what they are worth.

The starting weights are common practice, no source: 10 per track of overflow,
2 per via, 1/2 per bend, the weighed crossings, 1 per 10 mm of length and of the
price of moved pins.  ``scripts/calibrate_channels`` says how well each term and
the sum rank full plans.
"""

from __future__ import annotations

from typing import NamedTuple

CHEAP, DEAR = 1, 4
"""A mainly horizontal link across a mainly vertical one; any other pair that meets."""


class Terms(NamedTuple):
    """A board by the objective, or a difference of two boards.

    ``overflow`` is in thousandths of a track, ``crossings`` in thousandths
    (``CHEAP`` or ``DEAR`` times the greater weight of the two nets), lengths in
    nanometres.  ``vias`` are those of links that cross something on their layer,
    ``changes`` the layer changes that directions ask of all.  ``apart`` are
    links that cross on two escape layers: they cost nothing here but couple.
    """

    overflow: int
    vias: int
    bends: int
    crossings: int
    apart: int
    length_nm: int
    price_nm: int
    changes: int

    def plus(self, other: Terms) -> Terms:
        """The sum, term by term."""
        return Terms(*(one + two for one, two in zip(self, other, strict=True)))


NO_TERMS = Terms(0, 0, 0, 0, 0, 0, 0, 0)


class Weights(NamedTuple):
    """What a track of overflow, a via, a bend, a cheap crossing and 10 mm are worth."""

    overflow: float = 10.0
    vias: float = 2.0
    bends: float = 0.5
    crossings: float = 1.0
    length: float = 1.0
    changes: float = 0.0


STARTING = Weights()

BY_RANK = Weights(overflow=1.0, vias=0.0, bends=0.0, crossings=0.5, length=10.0, changes=2.0)
BY_FIT = Weights(overflow=1.0, vias=0.2, bends=1.5, crossings=0.05, length=1.0, changes=2.5)
"""Two other views of a pinout, to find candidates that differ: weights that ranked random pinouts
best, and about those that a least-squares fit gave (planned vias plus ten per blocked net, the demo
and four boards of ../shared).  Neither is so much better that it should replace the objective: mean
rank correlation with that sum over 150 random pinouts of ten boards is 0.60 for straight-line
crossings, 0.57 for the starting weights, 0.61 and 0.59 for these two.  So no sum decides: the full
plan of what all of them find does.
"""
UNIT = 10**10
"""The objective counts in this part of a unit, so that every term is a whole number of it."""


def total(terms: Terms, weights: Weights = STARTING) -> int:
    """The objective; smaller is better.  Linear: differences of terms give differences of it."""
    return (
        round(weights.overflow * UNIT / 1000) * terms.overflow
        + round(weights.vias * UNIT) * terms.vias
        + round(weights.bends * UNIT) * terms.bends
        + round(weights.crossings * UNIT / 1000) * terms.crossings
        + round(weights.changes * UNIT) * terms.changes
        + round(weights.length * UNIT / 10_000_000) * (terms.length_nm + terms.price_nm)
    )
