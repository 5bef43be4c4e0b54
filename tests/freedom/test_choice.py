"""Sharing out functions against every combination, and against a general matching library."""

from __future__ import annotations

import itertools

import networkx as nx
from hypothesis import event, given
from hypothesis import strategies as st

from renet.freedom.choice import can_choose, tied

FUNCTIONS = st.frozensets(st.sampled_from("abcdef"), min_size=1, max_size=2)
SINGLE = st.frozensets(st.sampled_from("abcdef"), min_size=1, max_size=1)


def by_trying(options: list[list[frozenset[str]]]) -> bool:
    return any(
        sum(map(len, choice)) == len(frozenset().union(*choice))
        for choice in itertools.product(*options)
    )


@given(st.lists(st.lists(FUNCTIONS, min_size=1, max_size=3), max_size=5))
def test_a_choice_is_found_where_there_is_one(options: list[list[frozenset[str]]]) -> None:
    found = can_choose(options)
    event(str(found))
    assert found == by_trying(options)


@given(st.lists(st.lists(SINGLE, min_size=1, max_size=3), max_size=7))
def test_single_functions_are_a_bipartite_matching(options: list[list[frozenset[str]]]) -> None:
    """networkx.bipartite.hopcroft_karp_matching as the second opinion."""
    graph = nx.Graph()
    graph.add_nodes_from(range(len(options)), bipartite=0)
    graph.add_edges_from((i, f) for i, some in enumerate(options) for s in some for f in s)
    matching = nx.bipartite.hopcroft_karp_matching(graph, range(len(options)))
    assert can_choose(options) == (len(matching) == 2 * len(options))


@given(st.lists(st.frozensets(st.sampled_from("abcdefgh"), max_size=3), max_size=8))
def test_tied_is_connected(wants: list[frozenset[str]]) -> None:
    graph = nx.Graph()
    graph.add_nodes_from(range(len(wants)))
    graph.add_edges_from(
        (a, b) for a, b in itertools.combinations(range(len(wants)), 2) if wants[a] & wants[b]
    )
    expected = sorted(sorted(part) for part in nx.connected_components(graph))
    assert sorted(tied(wants)) == expected


def test_many_askers_for_few_functions_are_refused_at_once() -> None:
    everything = [frozenset({f"f{i}"}) for i in range(40)]
    assert can_choose([everything] * 40)
    assert not can_choose([everything] * 41)
