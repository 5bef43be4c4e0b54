"""The orthogonal plan of a board: every open connection over and up, or blocked.

    sizes, directions -> grid -> what stands where -> accesses -> negotiation -> routes

Poured areas give way.  All connections have one width, clearance and via.  What
the plan says of a connection holds together with all the others: it is free of
conflicts as a whole.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import lcm
from typing import NamedTuple

import numpy as np

from renet.channels.access import Stubs, covered, stubs_of
from renet.channels.draft import Task
from renet.channels.lattice import Lattice, lay, nearest
from renet.channels.mend import Hear, unheard
from renet.channels.negotiate import Laid, go_on, negotiate
from renet.channels.obstacles import Ground, Obstacles, ground_of, obstacles_of
from renet.channels.occupancy import Occupancy
from renet.channels.refine import STEPS, carried, finer, stubs_used
from renet.channels.routes import Route, route_of
from renet.channels.search import STEP, Search
from renet.channels.sizes import Sizes
from renet.channels.stackup import Directions
from renet.channels.ways import Ends, Window
from renet.columns import PadColumns
from renet.copper import join
from renet.model import NONE, Board, BoolArray, IntArray
from renet.tangle import Connections

STUB_COST = 2.0
RESTARTS = 2
ARRAY = 8
PARTS = (2, 4, 6, 8)
WHOLE = lcm(*STEPS)
"""Steps of a grid that is to be made finer are multiples of this, in nanometres."""


class Effort(NamedTuple):
    """Which parts of a pitch are tried as further grids, up to which work, and what restarts may.

    Work is connections times grid points: of one grid (``most``), and of all restarts on
    one together; of these there are no more than ``RESTARTS``.
    """

    finer: tuple[int, ...]
    most: int
    restarts: int


QUICK = Effort((2,), 3_000_000, 0)
THOROUGH = Effort((2, 3), 30_000_000, 40_000_000)
MOST_CARRIED = 100_000_000
"""Work of the grid that the best plan is carried over to at the end."""


@dataclass(frozen=True, slots=True)
class Plan:
    """Routes in the order of the connections, and what they were planned on.

    ``fine`` is how many steps of the grid make a pitch.
    """

    directions: Directions
    sizes: Sizes
    ground: Ground
    routes: tuple[Route, ...]
    rounds: int
    fine: int

    @property
    def vias(self) -> int:
        """How many vias the routes need."""
        return sum(len(route.vias) for route in self.routes)

    @property
    def blocked(self) -> int:
        """How many connections found no way."""
        return sum(not route.routed for route in self.routes)

    @property
    def length(self) -> float:
        """Total length in nanometres."""
        return sum(route.length for route in self.routes)


class Site(NamedTuple):
    """The board as the planner takes it: ``counted`` says per net whether its copper is there."""

    board: Board
    cols: PadColumns
    counted: BoolArray
    connections: Connections


def plan(
    site: Site,
    directions: Directions,
    sizes: Sizes,
    thorough: bool = False,
    hear: Hear = unheard,
) -> Plan:
    """The plan of all connections of ``site``.

    Where some are blocked, it is tried again on a grid that meets the middles between the
    pads of the planned array (:func:`_aligned`), and with tracks at half pitches, as long
    as that is a matter of seconds.  ``thorough``: then, at thirds too, on each grid with
    restarts (:func:`negotiate`), as long as that is one of minutes; the best plan is mended
    (:func:`go_on`) as long as that helps, there and on a grid two or three times as fine.
    The fewest blocked win, then the fewest vias, then the first.  ``hear`` is told now and
    then how many are blocked.
    """
    pads = _pads_at(site)
    job = _Job(site, directions, sizes, obstacles_of(site.board, site.counted))
    best = _fresh(job, lay(_box(site), sizes.pitch, pads), 0)
    for effort in (QUICK, THOROUGH) if thorough else (QUICK,):
        for lattice in _grids(site, sizes, pads, effort):
            if best.plan.blocked:
                hear(best.plan.blocked)
                restarts = min(effort.restarts // _work(site, lattice), RESTARTS)
                best = min(best, _fresh(job, lattice, restarts), key=_merit)
    if thorough and best.plan.blocked:
        best = min(best, _mended(job, best, hear), key=_merit)
        step, small = finer(best.field.ground.lattice, sizes.pitch)
        if best.plan.blocked and step > 1 and _work(site, small) <= MOST_CARRIED:
            best = min(best, _refined(job, best, step, small, hear), key=_merit)
    return best.plan


class _Job(NamedTuple):
    """What is planned."""

    site: Site
    directions: Directions
    sizes: Sizes
    obstacles: Obstacles


class _Field(NamedTuple):
    """A grid with all that is negotiated on it."""

    ground: Ground
    stubs: Stubs
    ways: str
    search: Search
    tasks: list[Task]


class _Attempt(NamedTuple):
    """A plan and how it was come by."""

    field: _Field
    laid: Laid
    plan: Plan


def _merit(one: _Attempt) -> tuple[int, int]:
    return one.plan.blocked, one.plan.vias


def _grids(site: Site, sizes: Sizes, pads: IntArray, effort: Effort) -> list[Lattice]:
    """Grids to try where the plain one leaves something blocked."""
    found = [lay(_box(site), -(-sizes.pitch // fine), pads) for fine in effort.finer]
    aligned = _aligned(site, sizes, pads, effort)
    if aligned is not None:
        found.insert(0, aligned)
    return [one for one in found if _work(site, one) <= effort.most]


def _work(site: Site, lattice: Lattice) -> int:
    return len(lattice) * len(site.connections)


def _aligned(site: Site, sizes: Sizes, pads: IntArray, effort: Effort) -> Lattice | None:
    """A grid with lines through the pads of an array and midway between them, or None.

    Between two pads of an array there is often room for one track or via, right in the
    middle.  The array: ends of connections with another pad at the distance that is most
    frequent among them, no more than ``ARRAY`` pitches.  Of the steps that divide this
    distance by an even number and are no finer than the other grids, the one on which
    neighbouring tracks waste least; None where there is none, or it is the pitch itself.
    """
    at = np.array([(pad.x, pad.y) for pad in site.board.pads], dtype=np.int64)
    away = nearest(at, pads)
    away = np.where((away > 0) & (away <= ARRAY * sizes.pitch), away, 0)
    values, votes = np.unique(away[away > 0], return_counts=True)
    if not len(values):
        return None
    distance = int(values[votes.argmax()])
    array = pads[away == distance]
    finest = -(-sizes.pitch // max(effort.finer))
    steps = [distance // parts // WHOLE * WHOLE for parts in PARTS]
    steps = [step for step in steps if step >= finest]
    grids = [lay(_box(site), step, array) for step in steps]
    wasted = [
        (-(-sizes.pitch // one.pitch) * one.pitch, -one.pitch, one)
        for one in grids
        if _work(site, one) <= effort.most
    ]
    best = min(wasted, default=None)
    return None if best is None or best[2].pitch == sizes.pitch else best[2]


def _fresh(job: _Job, lattice: Lattice, restarts: int) -> _Attempt:
    """A plan with so many restarts on a grid."""
    field = _field(job, lattice)
    return _attempt(job, field, negotiate(field.search, field.tasks, restarts))


def _mended(job: _Job, one: _Attempt, hear: Hear) -> _Attempt:
    """A plan mended where it is."""
    field = one.field
    return _attempt(job, field, go_on(field.search, field.tasks, one.laid, hear))


def _refined(job: _Job, one: _Attempt, step: int, lattice: Lattice, hear: Hear) -> _Attempt:
    """A plan carried over to a grid so many times as fine, and mended there."""
    before, used = one.field.stubs, stubs_used(one.laid.ways, one.field.stubs)
    field = _field(job, lattice, (before.pad[used], before.layer[used], before.bends[used]))
    first = len(field.stubs) - len(used)
    names = dict(zip(used.tolist(), range(first, first + len(used)), strict=True))
    ways = carried(one.laid.ways, one.field.ground.lattice, step, names)
    laid = Laid(ways, one.laid.rounds)
    return _attempt(job, field, go_on(field.search, field.tasks, laid, hear))


def _field(
    job: _Job, lattice: Lattice, used: tuple[IntArray, IntArray, IntArray] | None = None
) -> _Field:
    """All about a grid; ``used`` as in :func:`renet.channels.access.stubs_of`."""
    site, sizes, layers = job.site, job.sizes, job.directions.layers
    ground = ground_of(lattice, layers, sizes, job.obstacles)
    wanted = np.unique(np.concatenate([site.connections.a, site.connections.b]))
    stubs = stubs_of(site.board, ground, sizes, job.obstacles, wanted, used)
    tasks = _tasks(site, ground, job.obstacles, stubs)
    ways = "".join(job.directions.ways[layer] for layer in layers)
    occupancy = Occupancy(lattice, len(layers), sizes, stubs)
    return _Field(ground, stubs, ways, Search(ground, ways, occupancy, _fine(job, lattice)), tasks)


def _fine(job: _Job, lattice: Lattice) -> int:
    """How many steps of a grid make a pitch."""
    return -(-job.sizes.pitch // lattice.pitch)


def _attempt(job: _Job, field: _Field, laid: Laid) -> _Attempt:
    """What was laid, as a plan."""
    routes = [
        route_of(job.site.connections, index, way, field.ground, field.stubs, field.ways)
        for index, way in enumerate(laid.ways)
    ]
    fine = _fine(job, field.ground.lattice)
    found = Plan(job.directions, job.sizes, field.ground, tuple(routes), laid.rounds, fine)
    return _Attempt(field, laid, found)


def _pads_at(site: Site) -> IntArray:
    ends = site.connections.ends
    return np.concatenate([ends[:, :2], ends[:, 2:]])


def _box(site: Site) -> tuple[int, int, int, int]:
    """The board's edge; where it has none, all its pads with some room."""
    corners = [point for line in site.board.edge for point in line]
    if len(corners) > 1:
        at = np.array(corners, dtype=np.int64)
    else:
        at = site.cols.corners.reshape(-1, 2)
        room = np.array([5_000_000, 5_000_000])
        at = np.concatenate([at - room, at + room, np.zeros((0, 2), dtype=np.int64)])
    if not len(at):
        return 0, 0, 0, 0
    low, high = at.min(axis=0).tolist(), at.max(axis=0).tolist()
    return low[0], low[1], high[0], high[1]


def _tasks(site: Site, ground: Ground, all_: Obstacles, stubs: Stubs) -> list[Task]:
    """Every connection with its accesses; copper at an end is as good as the pad."""
    label = join(site.board, site.cols, site.counted).label
    found = site.connections
    labels = np.unique(np.concatenate([label[found.a], label[found.b]]))
    cluster, node = covered(site.board, ground, all_, label, labels)
    of_stub = label[stubs.pad]
    ends: dict[int, Ends] = {}
    for name in labels.tolist():
        own = node[np.searchsorted(cluster, name) : np.searchsorted(cluster, name, "right")]
        mine = np.flatnonzero(of_stub == name)
        ends[name] = Ends(
            np.concatenate([own, stubs.node[mine]]),
            np.concatenate(
                [np.zeros(len(own)), STUB_COST + stubs.length[mine] / ground.lattice.pitch * STEP]
            ),
            np.concatenate([np.full(len(own), NONE), mine]),
        )
    return [
        Task(
            int(found.net[i]),
            (ends[int(label[found.a[i]])], ends[int(label[found.b[i]])]),
            _window(ground.lattice, found.ends[i]),
        )
        for i in range(len(found))
    ]


def _window(lattice: Lattice, ends: IntArray) -> Window:
    """The rows and columns between two points."""
    x1, y1, x2, y2 = ends.tolist()
    columns = sorted((x - lattice.x) // lattice.pitch for x in (x1, x2))
    rows = sorted((y - lattice.y) // lattice.pitch for y in (y1, y2))
    return Window(
        max(rows[0], 0),
        max(columns[0], 0),
        min(rows[1] + 2, lattice.rows),
        min(columns[1] + 2, lattice.columns),
    )
