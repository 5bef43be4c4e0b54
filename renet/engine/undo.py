"""Take back moves that are not worth their price.

The smallest sets of moved pins that can be taken back by themselves are the
swaps of the change list; who draws them up may be passed in.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from renet.engine.problem import Group, Problem, Split
from renet.engine.state import NOTHING, State
from renet.model import NONE, IntArray


def undo(state: State, split: Split) -> list[int]:
    """Take back every set of moves without which the board is better; gives items concerned."""
    concerned: set[int] = set()
    again = True
    while again:
        again = False
        for pins in split(state.ground.problem.pin_net, state.pin_net.copy()):
            places = back(state, pins)
            if not places:
                continue
            change = state.trial(places)
            if change.cost.below(NOTHING):
                concerned.update(state.apply(change))
                again = True
    return sorted(concerned)


def back(state: State, pins: Iterable[int]) -> dict[int, int]:
    """The places that give these pins their nets of the input; empty if no items fit."""
    wanted = set(pins)
    problem, stock = state.ground.problem, state.ground.stock
    places: dict[int, int] = {}
    for number, group in enumerate(problem.groups):
        sites = [s for s, own in enumerate(group.sites.tolist()) if wanted.intersection(own)]
        if not sites:
            continue
        found = _match(state, number, sites)
        if found is None:
            return {}
        places.update(found)
    stands = {item: place for item, place in places.items() if place != int(state.place[item])}
    return stands if len(stock) else {}


def _match(state: State, group: int, sites: list[int]) -> dict[int, int] | None:
    """Items that stand on some sites, each put where its nets were; None if they do not fit."""
    stock, ways = state.ground.stock, state.ground.stock.ways[group]
    goal = state.ground.problem.pin_net[state.ground.problem.groups[group].sites]
    free = [i for i in stock.of_group(group) if int(state.place[i]) // len(ways) in set(sites)]
    by_nets: dict[tuple[int, ...], list[int]] = {}
    for item in free:
        by_nets.setdefault(tuple(sorted(stock.items[item].nets)), []).append(item)
    places = {}
    for site in sites:
        key = tuple(sorted(goal[site].tolist()))
        for item in by_nets.get(key, []):
            way = _way(stock.items[item].nets, goal[site], ways)
            if way is not None:
                places[item] = site * len(ways) + way
                by_nets[key].remove(item)
                break
        else:
            return None
    return places


def _way(nets: tuple[int, ...], goal: IntArray, ways: IntArray) -> int | None:
    """The first way in which these nets lie as wanted."""
    lies = np.empty(len(nets), dtype=np.int64)
    for number, way in enumerate(ways):
        lies[way] = nets
        if np.array_equal(lies, goal):
            return number
    return None


def paths(problem: Problem) -> Split:
    """A split that goes by the groups alone: paths of nets inside a group, and whole tuples."""

    def split(before: IntArray, after: IntArray) -> Sequence[Sequence[int]]:
        found: list[list[int]] = []
        for group in problem.groups:
            found += _components(group, before, after)
        return found

    return split


def _components(group: Group, before: IntArray, after: IntArray) -> list[list[int]]:
    """Moved pins of one group, joined where a net went from one to the other."""
    site_of = {pin: site for site, own in enumerate(group.sites.tolist()) for pin in own}
    moved = [pin for pin in sorted(site_of) if before[pin] != after[pin]]
    left: dict[int, list[int]] = {}
    taken: dict[int, list[int]] = {}
    for pin in moved:
        left.setdefault(int(before[pin]), []).append(pin)
        taken.setdefault(int(after[pin]), []).append(pin)
    root = list(range(len(group)))
    for net in left.keys() - {NONE}:
        for one, two in zip(left[net], taken.get(net, []), strict=False):
            _join(root, site_of[one], site_of[two])
    parts: dict[int, list[int]] = {}
    for pin in moved:
        parts.setdefault(_root(root, site_of[pin]), []).append(pin)
    return list(parts.values())


def _root(root: list[int], site: int) -> int:
    while root[site] != site:
        root[site] = site = root[root[site]]
    return site


def _join(root: list[int], one: int, two: int) -> None:
    one, two = _root(root, one), _root(root, two)
    root[max(one, two)] = min(one, two)
