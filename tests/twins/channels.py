"""Channels given as two rows of pins, and the plain way to fill one: the other side of leftedge."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import networkx as nx

from renet.channels.leftedge import Interval, constraints, is_cyclic


def intervals(top: Sequence[int], bottom: Sequence[int]) -> dict[int, Interval]:
    """First and last column of every net that has two pins or more; pin 0 is no pin."""
    found: dict[int, list[int]] = {}
    for column, pins in enumerate(zip(top, bottom, strict=True)):
        for net in pins:
            if net:
                found.setdefault(net, []).append(column)
    return {net: (at[0], at[-1]) for net, at in sorted(found.items()) if len(at) > 1}


def constraints_of(top: Sequence[int], bottom: Sequence[int]) -> nx.DiGraph:
    """The net of the upper pin of a column runs above that of the lower one.

    A net of a single pin needs no track, so it stands above none and below none.
    """
    nets = intervals(top, bottom).keys()
    pairs = zip(top, bottom, strict=True)
    return constraints(nets, [(a, b) for a, b in pairs if a in nets and b in nets])


def constrained_left_edge(
    spans: Mapping[int, Interval], graph: nx.DiGraph
) -> list[list[int]] | None:
    """Tracks from the top without doglegs; None where the constraints have a cycle.

    A track takes, from the left, nets with nothing unplaced above them: no bound can be more.
    """
    if is_cyclic(graph):
        return None
    above = {net: set(graph.predecessors(net)) & set(spans) for net in spans}
    rest = sorted(spans, key=lambda net: (spans[net], net))
    tracks: list[list[int]] = []
    placed: set[int] = set()
    while rest:
        track, last = [], None
        for net in rest:
            if above[net] <= placed and (last is None or spans[net][0] > last):
                track.append(net)
                last = spans[net][1]
        placed.update(track)
        rest = [net for net in rest if net not in placed]
        tracks.append(track)
    return tracks
