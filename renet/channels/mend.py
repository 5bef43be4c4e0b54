"""What is left of the conflicts is dissolved, and who is blocked gets in where others can move.

First the worst leave, and come back where everything is free (:func:`dissolve`).  Then
blocked ones are laid through others, one by one, and those have to move (:func:`mend`).
By a push everyone in the way looks for a free way at once (rip-up and reroute, common
practice).  In a bargain they are laid through others in turn, while what is fought over
gets dearer (negotiated congestion: McMurchie and Ebeling 1995, from memory) and all the
rest stays: it takes some twenty times as long, and finds room further away.  What leaves
no more blocked than before is kept, even if somebody else is blocked then: from there
other ways are open.  Last, each is laid once more where all is free, as many a detour is
no longer needed (:func:`tidy`).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from itertools import count
from typing import NamedTuple

import numpy as np

from renet.channels.draft import Draft

PRICE, MOST_PRICE = 8.0, 200.0
FADING, FADED = 25, 0.9
SELDOM = 10
"""One turn in so many is a bargain."""
ROUNDS, DEARER = 14, 1.4
CROWD = 30
"""A bargain ends when more than so many are in conflict."""


Hear = Callable[[int], None]


def unheard(blocked: int) -> None:
    """Nobody wants to know how many are blocked by now."""


class Budget(NamedTuple):
    """How many ways are looked for at most, and how many grid points times ways.

    ``patience`` is how many are looked for in vain, per blocked connection.
    """

    most: int
    work: int
    patience: int


def dissolve(draft: Draft) -> None:
    """Take out the worst until no conflict is left; then lay what is out where it is free.

    Those taken out come first: they are more likely to find a way than who had none.
    """
    fighting = draft.fighting(draft.order)
    taken: set[int] = set()
    while fighting:
        worst = max(fighting, key=lambda i: (draft.fights[i], i))
        draft.put(worst, None)
        taken.add(worst)
        draft.fights[worst] = 0
        fighting = draft.fighting(fighting)
    for index in sorted(draft.blocked(), key=lambda i: i not in taken):
        draft.lay(index, np.inf)


def mend(draft: Draft, budget: Budget, hear: Hear = unheard) -> None:
    """Get blocked ones in; there are no conflicts before and after, and never more blocked.

    Who was tried least often comes first; who is out instead of another is tried next, so
    that room is handed on until somebody needs none.  Prices of old fights fade meanwhile.
    ``hear`` is told how many are blocked, at first and whenever they are fewer.
    """
    tries: Counter[int] = Counter()
    hopeless: set[int] = set()
    start = since = draft.looked
    most = min(budget.most, budget.work // draft.points)
    least = len(draft.order) + 1
    for turn in count(1):
        out = draft.blocked()
        if len(out) < least:
            least, since = len(out), draft.looked
            hear(least)
        left = [index for index in out if index not in hopeless]
        in_vain = draft.looked - since
        if not left or draft.looked - start >= most or in_vain > budget.patience * len(left):
            return
        index = min(left, key=lambda i: tries[i])
        tries[index] += 1
        before = list(draft.ways)
        draft.loosen([index])
        draft.lay(index, PRICE)
        if draft.ways[index] is None:
            hopeless.add(index)
        elif turn % SELDOM:
            _push(draft, index)
        else:
            _bargain(draft)
        if len(draft.blocked()) > len(out):
            draft.take_up(before)
        if turn % FADING == 0:
            draft.fade(FADED)


def tidy(draft: Draft) -> None:
    """Lay each anew where everything is free, for fewer vias, then for fewer steps."""
    draft.fade(0.0)
    for index in reversed(draft.order):
        before = draft.ways[index]
        if before is not None:
            draft.lay(index, np.inf)
            after = draft.ways[index]
            if after is None or draft.size(after) > draft.size(before):
                draft.put(index, before)


def _push(draft: Draft, index: int) -> None:
    """Who is in the way of one is laid anew where everything is free, until two find no way."""
    net = draft.tasks[index].net
    victims = [i for i in draft.fighting(draft.order) if draft.tasks[i].net != net]
    draft.loosen(victims)
    for victim in victims:
        draft.put(victim, None)
    lost = 0
    for victim in victims:
        draft.lay(victim, np.inf)
        lost += draft.ways[victim] is None
        if lost > 1:
            return


def _bargain(draft: Draft) -> None:
    """Who is in conflict is laid anew, dearer every round; what is left of it is dissolved."""
    price = PRICE
    for _ in range(ROUNDS):
        fighting = draft.fighting(draft.order)
        if not fighting or len(fighting) > CROWD:
            break
        price = min(price * DEARER, MOST_PRICE)
        draft.loosen(fighting)
        draft.lay_anew(fighting, price)
    dissolve(draft)
