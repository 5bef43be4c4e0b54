"""Moves -> independent swaps: the smallest sets that can be taken or left alone.

In every group the moves are edges from the net (or tuple of nets) that a site
had to the one that it gets; no net is the spare pins' node.  As many edges
enter a node as leave it, so the edges fall into closed walks that visit no node
twice, and such a walk is the least that keeps the group's nets together.
Conditions then tie walks that must not be taken one without the other.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from renet.errors import InputError
from renet.freedom.groups import Key
from renet.freedom.resolve import Freedom
from renet.model import IntArray


def independent(freedom: Freedom, before: IntArray, after: IntArray) -> list[list[int]]:
    """Pin ids of each swap, in the order of part reference and pin; so are the swaps.

    ``before`` is the input of ``freedom``, ``after`` a legal result.  Every union
    of swaps is legal as well.  Walks are cut out from the first site on, along
    the first site that leads on; InputError when ``after`` is no exchange.
    """
    moved = [pin for pin in range(len(before)) if before[pin] != after[pin]]
    leader = {pin: pin for pin in moved}
    for group in freedom.groups:
        sites = [i for i, site in enumerate(group.sites) if any(pin in leader for pin in site)]
        for walk in _walks(sites, group.keys(before), group.keys(after)):
            _join(leader, (pin for site in walk for pin in group.sites[site] if pin in leader))
    for condition in freedom.conditions:
        for tie in condition.ties(before, after):
            _join(leader, tie)
    swaps: dict[int, list[int]] = {}
    for pin in freedom.names.in_order(moved):
        swaps.setdefault(_find(leader, pin), []).append(pin)
    return list(swaps.values())


def _walks(sites: Sequence[int], had: Sequence[Key], gets: Sequence[Key]) -> list[list[int]]:
    """``sites`` (in order) in closed walks from what each had to what it gets."""
    leaving: dict[Key, list[int]] = {}
    for site in reversed(sites):
        leaving.setdefault(had[site], []).append(site)
    walks: list[list[int]] = []
    for start in sites:
        if not leaving[had[start]] or leaving[had[start]][-1] != start:
            continue  # taken along by an earlier walk
        path: list[int] = []
        seen = {had[start]: 0}
        node = had[start]
        while leaving.get(node):
            site = leaving[node].pop()
            path.append(site)
            node = gets[site]
            if node in seen:
                walks.append(path[seen[node] :])
                for cut in path[seen[node] + 1 :]:
                    del seen[had[cut]]
                del path[seen[node] :]
            else:
                seen[node] = len(path)
        if path:
            raise InputError("the moves are no exchange: a net left its pool or unit")
    return walks


def _find(leader: dict[int, int], pin: int) -> int:
    while leader[pin] != pin:
        leader[pin] = leader[leader[pin]]
        pin = leader[pin]
    return pin


def _join(leader: dict[int, int], pins: Iterable[int]) -> None:
    found = [_find(leader, pin) for pin in pins]
    for root in found:
        leader[_find(leader, root)] = _find(leader, found[0])
