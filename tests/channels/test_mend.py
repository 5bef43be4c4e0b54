"""Blocked connections get in: by pushes, by bargains, never at the cost of more."""

from __future__ import annotations

import random
from functools import cache

import numpy as np
import pytest
from channels.boards import planning, strait

from renet.channels import mend as mending
from renet.channels import negotiate, plan
from renet.channels.draft import Draft
from renet.channels.job import outlook
from renet.channels.lattice import lay
from renet.channels.mend import Budget, dissolve, mend, tidy
from renet.channels.search import DENSE
from renet.channels.ways import Ends, Prices, Window
from renet.model import NONE
from renet.pipeline import Inputs, Named, Options

PITCH = 600_000
ENOUGH = Budget(400, 10**9, 100)
CHANCES = pytest.mark.parametrize("seldom", [10**9, 3, 1], ids=["pushes", "both", "bargains"])


@cache
def fresh_field(seed: int) -> plan._Field:
    """Twelve nets in disorder over a strait that lets five through on each of two layers."""
    pins = list(range(12))
    random.Random(seed).shuffle(pins)
    _, job = planning(strait(pins, 14.5, 17.5))
    return plan._field(job, lay(plan._box(job.site), PITCH, plan._pads_at(job.site)))


def blocked_draft(seed: int) -> Draft:
    """Everything laid through everything, and what then fights taken out."""
    field = fresh_field(seed)
    draft = Draft(field.search, field.tasks)
    draft.loosen(draft.order)
    draft.fares = DENSE[1]
    for index in draft.order:
        draft.lay(index, 4.0)
    dissolve(draft)
    return draft


@CHANCES
@pytest.mark.parametrize("seed", range(3))
def test_as_many_get_through_a_strait_as_it_holds(
    seed: int, seldom: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(mending, "SELDOM", seldom)
    draft = blocked_draft(seed)
    assert draft.fighting(draft.order) == []
    before = len(draft.blocked())
    heard: list[int] = []
    mend(draft, ENOUGH, heard.append)
    assert draft.fighting(draft.order) == []
    assert len(draft.blocked()) == 2 <= before
    assert heard == sorted(set(heard), reverse=True)
    assert (heard[0], heard[-1]) == (before, 2)


@pytest.mark.parametrize("seldom", [10**9, 1], ids=["pushes", "bargains"])
def test_what_leaves_more_blocked_is_undone(seldom: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """After every turn no more are blocked, nothing is in conflict, and some turns changed it."""
    monkeypatch.setattr(mending, "SELDOM", seldom)
    draft = blocked_draft(7)
    counts, plans = [len(draft.blocked())], {tuple(map(id, draft.ways))}
    for _ in range(12):
        mend(draft, Budget(1, 10**9, 100))
        counts.append(len(draft.blocked()))
        plans.add(tuple(map(id, draft.ways)))
        assert draft.fighting(draft.order) == []
    assert counts == sorted(counts, reverse=True)
    assert counts[-1] < counts[0]
    assert len(plans) > 1


def test_whoever_waits_hears_how_many_are_blocked(monkeypatch: pytest.MonkeyPatch) -> None:
    """A wall right across, but for a strip at the edge, is too much for nine nets."""
    for effort in ("QUICK", "THOROUGH"):
        monkeypatch.setattr(plan, effort, plan.Effort((2,), 0, 0))
    monkeypatch.setattr(plan, "MOST_CARRIED", 0)
    for budget in ("SHORT", "LONG"):
        monkeypatch.setattr(negotiate, budget, Budget(50, 10**8, 50))
    said: list[str] = []
    data = Named("wall", strait(list(range(9))[::-1], 34, 34))
    found = outlook(Inputs(data), Options(), observer=said.append, thorough=True).plan
    assert found.blocked
    assert f"planning, {found.blocked} of 9 blocked so far" in said


def test_tidying_takes_nobody_out_and_makes_nobody_longer() -> None:
    draft = blocked_draft(3)
    mend(draft, ENOUGH)
    before = list(draft.ways)
    tidy(draft)
    assert draft.fighting(draft.order) == []
    for one, two in zip(before, draft.ways, strict=True):
        assert (one is None) == (two is None)
        if one is not None and two is not None:
            assert draft.size(two) <= draft.size(one)


def test_a_budget_of_nothing_changes_nothing() -> None:
    draft = blocked_draft(2)
    before = list(draft.ways)
    mend(draft, Budget(0, 10**9, 100))
    mend(draft, Budget(100, 0, 100))
    assert all(one is two for one, two in zip(before, draft.ways, strict=True))


@pytest.mark.parametrize("present", [8.0, np.inf])
@pytest.mark.parametrize("turned", [False, True])
def test_a_way_leads_from_the_first_end_whichever_end_the_search_begins_at(
    present: float, turned: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With the board empty, and no access but by stubs, which have other names at either end."""
    field = fresh_field(5)
    search, lattice, load = field.search, field.ground.lattice, field.search.occupancy
    for task in field.tasks:
        load.take(task.net)
    begins = []

    def ahead_after_few(net: int, ends: tuple[Ends, Ends], where: object, prices: Prices) -> float:
        begins.append(ends[0])
        first = len(begins) % 2 == 1
        return 2.0 if first == turned else 1.0

    monkeypatch.setattr(search, "_ahead_after_few", ahead_after_few)
    search.fares = DENSE[0]
    bare = [np.zeros(len(one)) for one in (load.node_load, load.cell_load, load.via_load)]
    window = Window(0, 0, lattice.rows, lattice.columns)
    for task in field.tasks:
        one, two = (Ends(*(part[end.stubs != NONE] for part in end)) for end in task.ends)
        way = search.find(task.net, (one, two), window, Prices(present, *bare))
        assert way is not None
        assert way.first in one.stubs[one.nodes == way.nodes[0]]
        assert way.last in two.stubs[two.nodes == way.nodes[-1]]
    assert len(begins) == 2 * len(field.tasks)
