"""One run of the channel plan: from the files and options to everything a report needs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from renet.channels.crossovers import Coupling, coupling_of
from renet.channels.plan import Plan, Site, plan
from renet.channels.sizes import NOTHING_ASKED, Wanted, sizes_of
from renet.channels.stackup import Directions, directions_of, tables_for
from renet.pipeline import Inputs, Named, Observer, Options, Scene, apply_changes, silent, survey

if TYPE_CHECKING:
    from renet.changes import ChangeList


@dataclass(frozen=True, slots=True)
class Outlook:
    """A board with its plan; ``name`` is the file's; ``data`` what was planned on."""

    name: str
    data: bytes
    scene: Scene
    site: Site
    plan: Plan
    coupling: Coupling


def outlook(
    inputs: Inputs,
    options: Options,
    wanted: Wanted = NOTHING_ASKED,
    changes: ChangeList | None = None,
    observer: Observer = silent,
) -> Outlook:
    """The plan of a board, with the moves of a change list made first if there is one."""
    if changes is not None:
        data = apply_changes(changes, Named(inputs.board.name, inputs.board.data))
        inputs = replace(inputs, board=replace(inputs.board, data=data))
    scene = survey(inputs, options, observer)
    observer("planning")
    return of_scene(inputs.board.name, scene, wanted)


def of_scene(
    name: str, scene: Scene, wanted: Wanted = NOTHING_ASKED, directions: Directions | None = None
) -> Outlook:
    """The plan of a board already read."""
    site = Site(scene.board, scene.cols, scene.counted, scene.tangle.connections)
    ways = directions or directions_of(scene.board, scene.rules, scene.left_out)
    sizes = sizes_of(scene.board, site.connections.net, scene.left_out, wanted)
    found = plan(site, ways, sizes)
    coupled = coupling_of(site, found, scene.rules)
    return Outlook(name, scene.file.data, scene, site, found, coupled)


def compared(name: str, scene: Scene, wanted: Wanted = NOTHING_ASKED) -> list[Outlook]:
    """Plans by every sensible direction table, the best first: blocked, vias, facing crossovers."""
    found = [
        of_scene(name, scene, wanted, table) for table in tables_for(scene.board, scene.left_out)
    ]
    return sorted(found, key=rank)


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
