"""Where runs of two nets cross on facing layers, and what fast nets do to quiet ones.

Planned pieces and standing tracks count alike.  Every figure is a first-order
estimate (:mod:`renet.channels.coupling`); without a plane in the stack-up no
capacitance per crossover holds, and none is given.
"""

from __future__ import annotations

from fnmatch import fnmatchcase
from typing import NamedTuple

import numpy as np

from renet.channels import coupling, lines
from renet.channels.plan import Plan, Site
from renet.channels.stackup import PLANE, facing, gaps
from renet.model import NONE, Board, IntArray
from renet.rules import Rules, Signal
from renet.tangle import crossing_pairs

SWING_V = 3.3
RISE_NS = 1.0
BUDGET = 0.05
INPUT_FF = 5_000.0
"""One input and its pad, 5 pF, all that holds an undriven net (common practice, no source)."""
NEAR_PITCHES = 5


class Runs(NamedTuple):
    """Straight runs: ends (n, 4), width, layer, net; the first ``planned`` of them are planned."""

    ends: IntArray
    width: IntArray
    layer: IntArray
    net: IntArray
    planned: int


class Crossover(NamedTuple):
    """Runs of two nets crossing on facing layers; capacitances in fF, None without a plane."""

    nets: tuple[int, int]
    layers: tuple[int, int]
    x: int
    y: int
    area_mm2: float
    plate_ff: float | None
    fitted_ff: float | None


class Victim(NamedTuple):
    """All that fast nets do to one quiet net, in V; ``budget_v`` is what it may bear.

    ``crossing_v`` holds while something drives it; ``undriven_v`` where only the
    capacitance of an input holds it.  ``knee_mhz`` is of the fastest edge, ``z0`` the highest
    impedance where it is crossed, ``parallel`` the share of a swing from beside.
    """

    net: int
    crossovers: int
    crossing_v: float
    parallel_v: float
    budget_v: float
    total_ff: float
    undriven_v: float
    knee_mhz: float
    z0: float
    parallel: float


class _Sum:
    """What crossings add up to on one victim."""

    def __init__(self) -> None:
        self.count = 0
        self.volts = self.total_ff = self.undriven = self.knee = self.z0 = 0.0
        self.beside_v = self.beside = 0.0

    def cross(self, c_ff: float, source: Signal, z0: float) -> None:
        """One more crossing of a fast net."""
        rise, swing = source.rise_ns or RISE_NS, source.swing_v or SWING_V
        self.count += 1
        self.total_ff += c_ff
        self.volts += coupling.driven_noise(c_ff, swing, rise, z0)
        self.undriven += coupling.divided_noise(c_ff, swing, INPUT_FF)
        self.knee, self.z0 = max(self.knee, lines.knee_mhz(rise)), max(self.z0, z0)


class Coupling(NamedTuple):
    """Crossovers and victims, the worst first; ``sure`` is False where no plane makes them hold."""

    crossovers: tuple[Crossover, ...]
    victims: tuple[Victim, ...]
    sure: bool
    source: str


def coupling_of(site: Site, plan: Plan, rules: Rules) -> Coupling:
    """The coupling of a plan together with the copper that counts."""
    runs = _runs(site, plan)
    stack, source = gaps(site.board)
    found = [_crossover(runs, plan, stack, pair) for pair in _crossing(runs, plan)]
    found.sort(key=lambda c: (-(c.fitted_ff or 0.0), -c.area_mm2, c.nets, c.x, c.y))
    sure = PLANE in plan.directions.ways
    victims = _victims(site.board, runs, plan, rules, found) if sure else []
    return Coupling(tuple(found), tuple(victims), sure, source)


def _runs(site: Site, plan: Plan) -> Runs:
    planned = [(p, route.net) for route in plan.routes for p in route.pieces]
    tracks = site.board.tracks
    there = np.flatnonzero(
        np.append(site.counted, False)[tracks.net] & (tracks.layer != NONE) & ~tracks.curved
    )
    ends = np.array([p[1:5] for p, _ in planned], dtype=np.int64).reshape(-1, 4)
    width = np.full(len(planned), plan.sizes.track, dtype=np.int64)
    layer = np.array([p.layer for p, _ in planned], dtype=np.int64)
    net = np.array([n for _, n in planned], dtype=np.int64)
    return Runs(
        np.concatenate([ends, tracks.ends[there]]),
        np.concatenate([width, tracks.width[there]]),
        np.concatenate([layer, tracks.layer[there]]),
        np.concatenate([net, tracks.net[there]]),
        len(planned),
    )


def _crossing(runs: Runs, plan: Plan) -> list[tuple[int, int]]:
    """Pairs of runs that cross on facing layers, at least one of them planned."""
    pairs = crossing_pairs(runs.ends, runs.net)
    faces = set(facing(plan.directions.ways))
    found = []
    for i, j in pairs.tolist():
        layers = sorted((int(runs.layer[i]), int(runs.layer[j])))
        if min(i, j) < runs.planned and (layers[0], layers[1]) in faces:
            found.append((i, j))
    return found


def _crossover(
    runs: Runs, plan: Plan, stack: list[tuple[int, float]], pair: tuple[int, int]
) -> Crossover:
    i, j = sorted(pair, key=lambda k: (int(runs.layer[k]), k))
    upper, lower = int(runs.layer[i]), int(runs.layer[j])
    wide, across = int(runs.width[i]) / 1e6, int(runs.width[j]) / 1e6
    x, y = _meeting(runs.ends[i], runs.ends[j])
    between, er = stack[upper]
    height = min(
        height_over_plane(plan.directions.ways, stack, upper),
        height_over_plane(plan.directions.ways, stack, lower),
    )
    low = high = None
    if np.isfinite(height):
        crossing = coupling.Crossing(wide, across, between / 1e6, height / 1e6, er)
        low, high = coupling.plate(crossing), coupling.fitted(crossing)
    nets = int(runs.net[i]), int(runs.net[j])
    return Crossover(nets, (upper, lower), x, y, wide * across, low, high)


def _meeting(a: IntArray, b: IntArray) -> tuple[int, int]:
    """Where two crossing segments meet, to the nanometre."""
    x1, y1, x2, y2 = (int(v) for v in a)
    x3, y3, x4, y4 = (int(v) for v in b)
    ux, uy, vx, vy = x2 - x1, y2 - y1, x4 - x3, y4 - y3
    share = ((x3 - x1) * vy - (y3 - y1) * vx) / (ux * vy - uy * vx)
    return x1 + round(share * ux), y1 + round(share * uy)


def height_over_plane(ways: str, stack: list[tuple[int, float]], layer: int) -> float:
    """Distance from a layer to the nearest plane, in nm; infinite without one."""
    best = np.inf
    for plane in (i for i, way in enumerate(ways) if way == PLANE):
        low, high = sorted((plane, layer))
        best = min(best, float(sum(distance for distance, _ in stack[low:high])))
    return best


def impedance(plan: Plan, stack: list[tuple[int, float]], layer: int) -> float:
    """Impedance of a planned track on a layer: over its plane, or midway between two as guessed."""
    ways, width = plan.directions.ways, float(plan.sizes.track)
    height = height_over_plane(ways, stack, layer)
    er = stack[min(layer, len(stack) - 1)][1]
    if layer in (0, len(ways) - 1):
        return lines.microstrip(width, height, er)[0]
    return lines.stripline(width, 2 * height, er)


def signal_of(board: Board, rules: Rules, net: int) -> Signal | None:
    """What the rules say of a net: a full name goes before a glob, then the first record."""
    name = board.nets[net]
    for fits in (lambda word: word == name, lambda word: fnmatchcase(name, word)):
        for signal in rules.signals:
            if any(fits(word) for word in signal.nets):
                return signal
    return None


def _victims(
    board: Board, runs: Runs, plan: Plan, rules: Rules, found: list[Crossover]
) -> list[Victim]:
    """Quiet nets under fast ones; crossings of one victim add up, as if all at once."""
    if not rules.signals:
        return []
    stack, _ = gaps(board)
    signals = {net: signal_of(board, rules, net) for net in sorted(set(runs.net.tolist()))}
    kinds = {net: signal for net, signal in signals.items() if signal is not None}
    sums: dict[int, _Sum] = {}
    for one in found:
        for (fast, _), (quiet, layer) in (
            ((one.nets[0], one.layers[0]), (one.nets[1], one.layers[1])),
            ((one.nets[1], one.layers[1]), (one.nets[0], one.layers[0])),
        ):
            source, sink = kinds.get(fast), kinds.get(quiet)
            if source and sink and source.kind == "fast" and sink.kind == "quiet":
                z0 = impedance(plan, stack, layer)
                sums.setdefault(quiet, _Sum()).cross(one.fitted_ff or 0.0, source, z0)
    _add_parallel(sums, (runs, plan, kinds, stack))
    victims = [
        Victim(
            net,
            one.count,
            one.volts,
            one.beside_v,
            BUDGET * (kinds[net].swing_v or SWING_V),
            one.total_ff,
            one.undriven,
            one.knee,
            one.z0,
            one.beside,
        )
        for net, one in sorted(sums.items())
    ]
    return sorted(victims, key=lambda v: (-(v.crossing_v + v.parallel_v) / v.budget_v, v.net))


def _add_parallel(
    sums: dict[int, _Sum],
    where: tuple[Runs, Plan, dict[int, Signal], list[tuple[int, float]]],
) -> None:
    """Add what fast runs beside quiet ones on their own layer do, per quiet net."""
    runs, plan, kinds, stack = where
    fast = [i for i, n in enumerate(runs.net.tolist()) if n in kinds and kinds[n].kind == "fast"]
    quiet = [i for i, n in enumerate(runs.net.tolist()) if n in kinds and kinds[n].kind == "quiet"]
    for i in quiet:
        layer = int(runs.layer[i])
        height = height_over_plane(plan.directions.ways, stack, layer)
        for j in fast:
            if int(runs.layer[j]) != layer or not np.isfinite(height):
                continue
            distance, run = _beside(runs.ends[i], runs.ends[j])
            if run > 0 and distance < NEAR_PITCHES * plan.sizes.pitch:
                signal = kinds[int(runs.net[j])]
                edge = lines.edge_mm(
                    signal.rise_ns or RISE_NS, stack[min(layer, len(stack) - 1)][1]
                )
                share = coupling.parallel_run(distance, height, run / 1e6, edge)
                victim = sums.setdefault(int(runs.net[i]), _Sum())
                victim.beside += share
                victim.beside_v += share * (signal.swing_v or SWING_V)


def _beside(a: IntArray, b: IntArray) -> tuple[float, float]:
    """(distance, common length) of two runs along the same axis; (0, 0) of others."""
    for axis in (0, 1):
        if a[1 - axis] == a[3 - axis] and b[1 - axis] == b[3 - axis]:
            low = max(min(a[axis], a[2 + axis]), min(b[axis], b[2 + axis]))
            high = min(max(a[axis], a[2 + axis]), max(b[axis], b[2 + axis]))
            return float(abs(int(a[1 - axis]) - int(b[1 - axis]))), float(max(high - low, 0))
    return 0.0, 0.0
