"""Which exchanges part two nets, and what each saves, against counting every board anew."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import combinations, product

from hypothesis import event, given, settings
from hypothesis import strategies as st
from strategies.problems import MM, Sketch, group, problems
from twins.engine import at, cross, edges

from renet.engine.partings import Partings
from renet.engine.problem import Problem

Nets = tuple[int, ...]


@st.composite
def units(draw: st.DrawFn) -> Problem:
    """Two to four tuples that trade places, some end for end, with nets of one tuple and of more,
    pins that cannot move, and pads that copper joins."""
    sketch = Sketch()
    nets, width = draw(st.integers(2, 6)), draw(st.integers(1, 3))
    places = iter(draw(st.permutations([(x * MM, y * MM) for x in range(6) for y in range(6)])))
    some_net = st.integers(-1, nets - 1)
    sites = [
        tuple(sketch.pin(*next(places), draw(some_net)) for _ in range(width))
        for _ in range(draw(st.integers(2, 4)))
    ]
    sketch.groups.append(group(sites, reversible=width > 1 and draw(st.booleans())))
    for net in range(nets):
        pins = [sketch.pin(*next(places), net) for _ in range(draw(st.integers(1, 2)))]
        if draw(st.booleans()):
            sketch.pad(pins[0], *next(places))
        if len(pins) == 2 and draw(st.booleans()):
            joined = [i for i, pad in enumerate(sketch.pads) if pad[2] in pins]
            sketch.labels |= dict.fromkeys(joined, joined[0])
    return sketch.problem(draw(st.sampled_from([None, {0: 4000}, {1: 500}])))


def exchanged(problem: Problem) -> Iterator[Nets]:
    """All boards that one exchange makes of this one."""
    nets = tuple(problem.pin_net.tolist())
    for one in problem.groups:
        ways = (1, -1) if one.reversible else (1,)
        sites = [tuple(site) for site in one.sites.tolist()]
        pairs = [(a, b) for a, b in combinations(sites, 2) if of(nets, a) != of(nets, b)]
        for (a, b), (way_a, way_b) in product(pairs, product(ways, ways)):
            yield laid(laid(nets, a, of(nets, b)[::way_b]), b, of(nets, a)[::way_a])
        for site, way in product(sites, ways):
            yield laid(nets, site, of(nets, site)[::way])


def of(nets: Nets, site: Nets) -> Nets:
    return tuple(nets[pin] for pin in site)


def laid(nets: Nets, site: Nets, goods: Nets) -> Nets:
    made = dict(enumerate(nets)) | dict(zip(site, goods, strict=True))
    return tuple(made[pin] for pin in range(len(nets)))


def crossed(problem: Problem, nets: Nets) -> Counter[tuple[int, int]]:
    """How often each two nets cross."""
    found: Counter[tuple[int, int]] = Counter()
    for (one, a, b), (two, c, d) in combinations(edges(problem, list(nets)), 2):
        if one != two and cross(*(at(problem, pad) for pad in (a, b, c, d))):
            found[min(one, two), max(one, two)] += 1
    return found


@settings(max_examples=60)
@given(st.one_of(problems(), units()))
def test_every_exchange_that_parts_two_nets_and_no_other(problem: Problem) -> None:
    now = crossed(problem, tuple(problem.pin_net.tolist()))
    after = {nets: crossed(problem, nets) for nets in set(exchanged(problem))}
    weight = problem.weight.tolist()

    def weighed(found: Counter[tuple[int, int]]) -> int:
        return sum(count * max(weight[a], weight[b]) for (a, b), count in found.items())

    partings = Partings(problem, list(now))
    for pair in now:
        wanted = {nets for nets, found in after.items() if found[pair] < now[pair]}
        event(f"{min(len(wanted), 3)} part them")
        found = list(partings.of(*pair))
        made = [laid_by(problem, one.pins.tolist(), one.nets.tolist()) for one in found]
        assert set(made) == wanted
        assert [one.saves for one in found] == [weighed(now) - weighed(after[m]) for m in made]
        assert [one.saves for one in found] == sorted((o.saves for o in found), reverse=True)
        assert len({one.number for one in found}) == len(found)


def laid_by(problem: Problem, pins: list[int], nets: list[int]) -> Nets:
    return laid(tuple(problem.pin_net.tolist()), tuple(pins), tuple(nets))
