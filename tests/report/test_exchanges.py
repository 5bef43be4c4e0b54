"""Was/is lists, their inverse, and exchange sequences: every permutation up to seven pins."""

from __future__ import annotations

from itertools import permutations

import pytest

from renet.changes import ChangeList, Move, Swap
from renet.report.exchanges import exchanges

Nets = dict[tuple[str, str], str | None]


def swap_of(before: Nets, after: Nets) -> Swap:
    moves = (Move(*key, "", before[key], after[key]) for key in before if before[key] != after[key])
    return Swap(1, tuple(moves))


def listed(nets: Nets, swap: Swap) -> Nets:
    """All that was is read before anything is written."""
    assert all(nets[m.part, m.pin] == m.was for m in swap.moves)
    return nets | {(m.part, m.pin): m.is_ for m in swap.moves}


def stepped(nets: Nets, swap: Swap) -> Nets:
    found = dict(nets)
    steps = exchanges(swap)
    assert steps is not None
    for one, two in steps:
        found[one], found[two] = found[two], found[one]
    return found


def cycles(order: tuple[int, ...]) -> int:
    seen: set[int] = set()
    count = 0
    for start in range(len(order)):
        count += start not in seen
        while start not in seen:
            seen.add(start)
            start = order[start]
    return count


@pytest.mark.parametrize("count", range(1, 8))
@pytest.mark.parametrize("spare", [0, 1, 2])
def test_every_permutation(count: int, spare: int) -> None:
    """``spare`` pins are open before; for distinct nets the steps are as few as can be:
    pins less cycles (a permutation of n with c cycles is a product of no fewer than n - c
    transpositions)."""
    nets: list[str | None] = [f"/N{i}" if i >= spare else None for i in range(count)]
    before: Nets = {("U1", str(i)): net for i, net in enumerate(nets)}
    for order in permutations(range(count)):
        after: Nets = {("U1", str(i)): nets[order[i]] for i in range(count)}
        swap = swap_of(before, after)
        assert listed(before, swap) == after
        undone = ChangeList((), (swap,)).inverse().swaps[0]
        assert listed(after, undone) == before
        assert stepped(before, swap) == after
        steps = exchanges(swap)
        assert steps is not None
        if spare <= 1:
            assert len(steps) == count - cycles(order)


def test_what_no_exchange_can_do_is_said() -> None:
    assert exchanges(Swap(1, (Move("U1", "1", "", "/A", "/B"),))) is None
