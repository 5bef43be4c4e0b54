"""One run of the channel plan: from the files and options to everything a report needs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from renet.channels.crossovers import Coupling, coupling_of
from renet.channels.mend import Hear, unheard
from renet.channels.plan import Plan, Site, plan
from renet.channels.sizes import NOTHING_ASKED, Wanted, sizes_of
from renet.channels.stackup import Directions, directions_of, tables_for
from renet.model import BoolArray
from renet.pipeline import (
    Inputs,
    Job,
    Named,
    Observer,
    Options,
    Scene,
    apply_changes,
    silent,
    survey,
)
from renet.recopper import present

if TYPE_CHECKING:
    from renet.changes import ChangeList


@dataclass(frozen=True, slots=True)
class Outlook:
    """A board with its plan; ``name`` is the file's, ``moved`` whether pins were moved first.

    ``thorough``: as :func:`renet.channels.plan.plan` says.
    """

    name: str
    scene: Scene
    site: Site
    plan: Plan
    coupling: Coupling
    moved: bool = False
    thorough: bool = False


def outlook(
    inputs: Inputs,
    options: Options,
    wanted: Wanted = NOTHING_ASKED,
    changes: ChangeList | None = None,
    observer: Observer = silent,
    thorough: bool = False,
) -> Outlook:
    """The plan of a board, with the moves of a change list made first if there is one.

    ``thorough``: as :func:`renet.channels.plan.plan` says.
    """
    if changes is not None:
        data = apply_changes(changes, Named(inputs.board.name, inputs.board.data))
        inputs = replace(inputs, board=replace(inputs.board, data=data))
    scene = survey(inputs, options, observer)
    observer("planning")
    counted = present(scene.board, options.mode, scene.freedom.movable)
    many = len(scene.tangle.connections)
    found = of_scene(
        inputs.board.name,
        scene,
        counted,
        wanted,
        thorough=thorough,
        hear=lambda blocked: observer(f"planning, {blocked} of {many} blocked so far"),
    )
    return replace(found, moved=bool(changes and changes.swaps))


def blocked_after(inputs: Inputs, job: Job, options: Options, observer: Observer = silent) -> int:
    """How many connections find no way in the plan of the board that ``job`` has written."""
    netlist = inputs.netlist
    if netlist and job.netlist is not None:
        netlist = replace(netlist, data=job.netlist)
    written = replace(inputs, board=replace(inputs.board, data=job.board.data), netlist=netlist)
    return outlook(written, options, observer=observer).plan.blocked


def of_scene(
    name: str,
    scene: Scene,
    counted: BoolArray,
    wanted: Wanted = NOTHING_ASKED,
    directions: Directions | None = None,
    thorough: bool = False,
    hear: Hear = unheard,
) -> Outlook:
    """The plan of a board already read; ``counted`` says per net whether its copper is there.

    ``thorough``, ``hear``: as of :func:`renet.channels.plan.plan`.
    """
    site = Site(scene.board, scene.cols, counted, scene.tangle.connections)
    ways = directions or directions_of(scene.board, scene.rules, scene.left_out)
    sizes = sizes_of(scene.board, site.connections.net, scene.left_out, wanted)
    found = plan(site, ways, sizes, thorough, hear)
    coupled = coupling_of(site, found, scene.rules)
    return Outlook(name, scene, site, found, coupled, thorough=thorough)


def compared(one: Outlook, wanted: Wanted = NOTHING_ASKED) -> list[Outlook]:
    """Plans by every sensible direction table, best first: blocked, vias, facing crossovers."""
    scene = one.scene
    tables = tables_for(scene.board, scene.left_out)
    how = one.site.counted, wanted
    found = [of_scene(one.name, scene, *how, table, one.thorough) for table in tables]
    return sorted(found, key=rank)


def ranked(
    inputs: Inputs,
    options: Options,
    candidates: Sequence[ChangeList | None],
    wanted: Wanted = NOTHING_ASKED,
) -> list[tuple[int, Outlook]]:
    """Candidate pinouts (None: the input) by their full plan: (place in ``candidates``, plan).

    The best first by :func:`rank`; the earlier candidate wins a tie.
    """
    found = [
        (place, outlook(inputs, options, wanted, changes))
        for place, changes in enumerate(candidates)
    ]
    return sorted(found, key=lambda pair: (rank(pair[1]), pair[0]))


def rank(one: Outlook) -> tuple[int, int, int, int, str]:
    """Smaller is better: blocked, vias, facing crossovers, length; then by the directions."""
    figures = one.plan
    return (
        figures.blocked,
        figures.vias,
        len(one.coupling.crossovers),
        round(figures.length),
        figures.directions.ways,
    )
