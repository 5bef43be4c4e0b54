"""The classic channel: nets come in from above and below, tracks between.

A net occupies the closed interval of its columns; intervals that touch overlap.
Where one net leaves upwards and another downwards in one column, the first must run
above the second (vertical constraint).  Density bounds the tracks from below; left-edge
(Hashimoto and Stevens, DAC 1971) meets it where no vertical constraint binds.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import networkx as nx

Interval = tuple[int, int]


def density(spans: Mapping[int, Interval]) -> int:
    """The most intervals over one column."""
    events = sorted(
        (at, kind) for low, high in spans.values() for at, kind in ((low, 0), (high, 1))
    )
    now = most = 0
    for _, kind in events:
        now += 1 if kind == 0 else -1
        most = max(most, now)
    return most


def left_edge(spans: Mapping[int, Interval]) -> list[list[int]]:
    """Tracks of nets, filled from the left; as many tracks as the density."""
    rest = sorted(spans, key=lambda net: (spans[net], net))
    tracks = []
    while rest:
        track, last = [], None
        for net in rest:
            if last is None or spans[net][0] > last:
                track.append(net)
                last = spans[net][1]
        rest = [net for net in rest if net not in track]
        tracks.append(track)
    return tracks


def constraints(nets: Iterable[int], pairs: Iterable[tuple[int, int]]) -> nx.DiGraph:
    """The vertical constraint graph of these nets: an edge from the net above to the net below."""
    graph = nx.DiGraph()
    graph.add_nodes_from(sorted(nets))
    graph.add_edges_from(sorted((a, b) for a, b in pairs if a != b))
    return graph


def is_cyclic(graph: nx.DiGraph) -> bool:
    """Whether no assignment without doglegs exists."""
    return not nx.is_directed_acyclic_graph(graph)


def dogleg_free_bound(spans: Mapping[int, Interval], graph: nx.DiGraph) -> int:
    """Tracks that no assignment without doglegs can do without, chains and density combined.

    Net n has ``above[n]`` tracks above its own at least, and ``below[n]`` below it.  Nets
    over one column need a track each, so of those with at least h above and t below,
    all k fit only on h + k + t tracks (the bound for jobs with heads and tails; Carlier
    1982, from memory).
    """
    above = _tracks_above(spans, graph)
    below = _tracks_above(spans, graph.reverse())
    best = max((above[net] + below[net] + 1 for net in spans), default=0)
    for column in sorted({low for low, _ in spans.values()}):
        over = [net for net, (low, high) in spans.items() if low <= column <= high]
        for head in sorted({above[net] for net in over}):
            later = [net for net in over if above[net] >= head]
            for tail in sorted({below[net] for net in later}):
                best = max(best, head + sum(below[net] >= tail for net in later) + tail)
    return best


def _tracks_above(spans: Mapping[int, Interval], graph: nx.DiGraph) -> dict[int, int]:
    """How many tracks lie above each net at least.

    One more than above any net that must be over it; and, as all its ancestors are
    above, as many as those of them over one column need: k with h tracks above them h + k.
    """
    columns = sorted({low for low, _ in spans.values()})
    ancestors: dict[int, set[int]] = {}
    found: dict[int, int] = {}
    for net in nx.topological_sort(graph):
        before = list(graph.predecessors(net))
        ancestors[net] = set(before).union(*(ancestors[b] for b in before))
        found[net] = max((found[b] + 1 for b in before), default=0)
        real = [(a, spans[a]) for a in ancestors[net] if a in spans]
        for column in columns:
            heads = sorted((found[a] for a, (low, high) in real if low <= column <= high))
            for count, head in enumerate(reversed(heads), start=1):
                found[net] = max(found[net], head + count)
    return found
