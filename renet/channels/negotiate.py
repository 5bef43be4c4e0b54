"""Every connection its way, without conflicts: rip-up and re-price until all agree.

First each connection, short ones before long, takes the cheapest way that is
free, or, where there is none, one through others.  Then, round by round, those in
conflict are laid anew while what they fight over gets dearer, now and for good
(negotiated congestion: McMurchie and Ebeling 1995, from memory).  The rest is left to
:mod:`renet.channels.mend`.  What finds no way is blocked.

Who still fights after ``ROUNDS`` or has no way at all may from then on run
against the direction of a layer, at a price, anywhere, and so may whoever then
gets into a fight with them.  With restarts they all may from the start, and all are
laid anew in every round, the more freely as prices start low: slower, and less over
and up, but it finds ways where all is dense.  Most is gained there by mending, as long as
it takes; :mod:`renet.channels.refine` says how that goes on with room between the tracks.
"""

from __future__ import annotations

from typing import NamedTuple

from renet.channels.draft import Draft, Task
from renet.channels.mend import MOST_PRICE, Budget, Hear, dissolve, mend, tidy, unheard
from renet.channels.search import DENSE, Fares, Search
from renet.channels.ways import Way

ROUNDS = 7
LOOSE_ROUNDS = 20
FIRST_PRICE, LOOSE_PRICE = 4.0, 10.0
DEARER, LOOSE_DEARER = 1.4, 1.15
RESTART_ROUNDS, RESTART_PRICE, RESTART_DEARER = 30, 0.5, 1.15
PATIENCE, LOOSE_PATIENCE = 3, 8
FEW = 50

SHORT = Budget(2_000, 80_000_000, 150)
MIDDLE = Budget(2_000, 80_000_000, 150)
LONG = Budget(100_000, 6_000_000_000, 300)
"""After the plan over and up; after a restart; to go on with the best plan of all."""


class Laid(NamedTuple):
    """The ways of all tasks (None: blocked), and how many rounds it took."""

    ways: list[Way | None]
    rounds: int


def negotiate(search: Search, tasks: list[Task], restarts: int = 0) -> Laid:
    """Lay all tasks; the result is free of conflicts.

    Over and up first, others only where that leaves conflicts; with ``restarts``
    everybody as it comes (:func:`_restart`), the best of so many times.
    """
    draft = Draft(search, tasks)
    rounds = _best_restart(draft, restarts) if restarts else _over_and_up(draft)
    tidy(draft)
    return Laid(draft.ways, rounds)


def go_on(search: Search, tasks: list[Task], laid: Laid, hear: Hear = unheard) -> Laid:
    """Take up ways that are free of conflicts, and get in who is blocked; never more is.

    ``hear``: as of :func:`renet.channels.mend.mend`.
    """
    draft = Draft(search, tasks)
    draft.take_up(laid.ways)
    draft.loosen(draft.order)
    draft.fares = DENSE[0]
    mend(draft, LONG, hear)
    tidy(draft)
    return Laid(draft.ways, laid.rounds)


def _over_and_up(draft: Draft) -> int:
    for index in draft.order:
        draft.lay_first(index, FIRST_PRICE)
    done = _settle(draft, ROUNDS)
    stuck = [i for i in draft.order if draft.fights[i] or draft.ways[i] is None]
    if stuck:
        draft.loosen(stuck)
        for index in stuck:
            if draft.ways[index] is None:
                draft.lay(index, FIRST_PRICE)
        done += _settle(draft, LOOSE_ROUNDS, loosen=True)
        dissolve(draft)
        mend(draft, SHORT)
    return done


def _best_restart(draft: Draft, times: int) -> int:
    """Start so many times, who was blocked before the others; the fewest blocked win."""
    first = draft.order
    done, best, least = 0, draft.ways, len(first) + 1
    for turn in range(times):
        done += _restart(draft, DENSE[turn % len(DENSE)])
        out = draft.blocked()
        if len(out) < least:
            best, least = list(draft.ways), len(out)
        if not out:
            break
        draft.order = out + [i for i in draft.order if draft.ways[i] is not None]
    draft.order = first
    draft.take_up(best)
    return done


def _restart(draft: Draft, fares: Fares) -> int:
    """Lay all anew in every round, at prices that start low; how many rounds it took.

    All may run against directions.  Those who are in nobody's way move too, which is what
    :func:`_settle` lacks where all is dense.
    """
    draft.loosen(draft.order)
    draft.fares = fares
    draft.fade(0.0)
    draft.take_up([None] * len(draft.order))
    price, done = RESTART_PRICE, 0
    while done < RESTART_ROUNDS and (done == 0 or draft.fighting(draft.order)):
        for index in draft.order:
            draft.lay(index, price)
        price = min(price * RESTART_DEARER, MOST_PRICE)
        done += 1
    dissolve(draft)
    mend(draft, MIDDLE)
    return done


def _settle(draft: Draft, rounds: int, loosen: bool = False) -> int:
    """Lay anew what is in conflict, dearer every round; how many rounds it took.

    One in ``FEW`` may be left over: to get them in by mending is quicker.
    ``loosen``: whoever is in conflict may run against directions from then on; prices
    then rise more slowly, as what is left over needs many small steps aside.
    """
    price = LOOSE_PRICE if loosen else FIRST_PRICE
    patience, dearer = (LOOSE_PATIENCE, LOOSE_DEARER) if loosen else (PATIENCE, DEARER)
    fighting = draft.fighting(draft.order)
    least, since = len(fighting), 0
    for done in range(rounds):
        least, since = min(least, len(fighting)), since + 1 if len(fighting) >= least else 0
        if len(fighting) <= len(draft.order) // FEW or since > patience:
            return done
        if loosen:
            draft.loosen(fighting)
        draft.lay_anew(fighting, price)
        price = min(price * dearer, MOST_PRICE)
        fighting = draft.fighting(draft.order)
    return rounds
