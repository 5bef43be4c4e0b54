"""The channel plan as JSON (``renet/channels/1``) and as text; pure, nothing is printed here."""

from __future__ import annotations

import math
from collections import Counter
from typing import Any

from renet.channels import coupling
from renet.channels.crossovers import Crossover, Victim
from renet.channels.figures import against, channels_of, tracks_used, vias_in_line
from renet.channels.impedances import lines_of
from renet.channels.job import Outlook
from renet.channels.routes import Route
from renet.channels.stackup import PLANE, facing
from renet.report.cautions import cautions
from renet.report.tables import shown, table

MOST = 10
_CHANNEL = ("layer", "mm", "demand", "capacity", "tracks", "by left-edge", "without doglegs")


def channels_record(one: Outlook, suggested: list[Outlook] | None = None) -> dict[str, Any]:
    """The record of a plan."""
    plan, board = one.plan, one.scene.board
    record: dict[str, Any] = {
        "schema": "renet/channels/1",
        "board": one.name,
        "directions": {
            layer.name: way
            for layer, way in zip(board.layers, plan.directions.ways, strict=True)
            if way != PLANE
        },
        "planes": {board.layers[i].name: why for i, why in plan.directions.planes.items()},
        "facing": [[board.layers[i].name for i in pair] for pair in facing(plan.directions.ways)],
        "track_mm": _mm(plan.sizes.track),
        "clearance_mm": _mm(plan.sizes.clearance),
        "via_mm": _mm(plan.sizes.via),
        "sizes_from": plan.sizes.source,
        "routes": [_route(one, route) for route in plan.routes],
        "routed": len(plan.routes) - plan.blocked,
        "vias": plan.vias,
        "blocked": plan.blocked,
        "against": against(plan),
        "length_mm": _mm(plan.length),
        "facing_crossovers": len(one.coupling.crossovers),
        "tracks_used": tracks_used(plan),
        "vias_in_line": vias_in_line(plan),
        "channels": _channels(one),
        "lines": _lines(one),
        "coupling": _coupling(one),
        "cautions": list(cautions(moved=one.moved, planned=True)),
    }
    if suggested is not None:
        record["suggested"] = [_suggestion(other) for other in suggested]
    return record


def _channels(one: Outlook) -> list[dict[str, Any]]:
    return [
        {
            "layer": one.scene.board.layers[c.layer].name,
            "from_mm": _mm(c.low),
            "to_mm": _mm(c.high),
            "at_mm": _mm(c.at),
            "demand": c.demand,
            "capacity": c.capacity,
            "tracks": c.tracks,
            "left_edge_tracks": c.least,
            "cyclic": c.straight is None,
            "dogleg_free_tracks": c.straight,
        }
        for c in channels_of(one.plan)
    ]


def _mm(nm: float) -> float:
    return round(nm / 1e6, 6)


def _end(one: Outlook, pad: int) -> dict[str, Any]:
    board = one.scene.board
    ref, pin = board.pin_key(board.pads[pad].pin)
    entry = board.pads[pad]
    return {"part": ref, "pin": pin, "x_mm": _mm(entry.x), "y_mm": _mm(entry.y)}


def _route(one: Outlook, route: Route) -> dict[str, Any]:
    board = one.scene.board
    return {
        "net": board.nets[route.net],
        "a": _end(one, route.a),
        "b": _end(one, route.b),
        "state": "routed" if route.routed else "blocked",
        "pieces": [
            {
                "layer": board.layers[p.layer].name,
                "x1_mm": _mm(p.x1),
                "y1_mm": _mm(p.y1),
                "x2_mm": _mm(p.x2),
                "y2_mm": _mm(p.y2),
                "access": p.access,
            }
            for p in route.pieces
        ],
        "vias": [{"x_mm": _mm(x), "y_mm": _mm(y)} for x, y in route.vias],
        "corners": route.corners,
        "length_mm": _mm(route.length),
        "bound_mm": _mm(route.bound),
    }


def _coupling(one: Outlook) -> dict[str, Any]:
    found = one.coupling
    return {
        "holds": found.sure,
        "stackup": found.source,
        "formula": "C = e0 er (w1 + f)(w2 + f) / d, f = 1.08 sqrt(d h); at least e0 er w1 w2 / d",
        "error": coupling.FIT_ERROR,
        "noise": "crossing: C dV/dt Z0/2 while driven; undriven: dV C/(C + 5 pF); parallel: "
        "1/(1 + (D/H)^2), unit constant, an upper-type estimate; crossing_db: 2 pi f C Z0/2 at "
        "the knee 0.5/rise; first-order, all crossings as if at once",
        "crossovers": [_crossover(one, crossover) for crossover in found.crossovers],
        "victims": [_victim(one, victim) for victim in found.victims],
    }


def _lines(one: Outlook) -> dict[str, Any]:
    return {
        "formula": "impedance: Hammerstad and Jensen 1980 over a plane, Cohn 1954 between planes "
        "(as if midway), zero thickness; handbook: 87/sqrt(er+1.41) ln(5.98h/(0.8w+t)), "
        "60/sqrt(er) ln(1.9b/(0.8w+t))",
        "error": 0.08,
        "layers": [
            {
                "layer": one.scene.board.layers[line.layer].name,
                "to_plane_mm": _mm(line.height),
                "er": round(line.er, 3),
                "impedance_ohm": round(line.exact, 2),
                "handbook_ohm": round(line.handbook, 2),
                "delay_ps_per_mm": round(line.delay, 3),
            }
            for line in lines_of(one.scene.board, one.plan)
        ],
    }


def _crossover(one: Outlook, found: Crossover) -> dict[str, Any]:
    board = one.scene.board
    return {
        "nets": [board.nets[net] for net in found.nets],
        "layers": [board.layers[layer].name for layer in found.layers],
        "x_mm": _mm(found.x),
        "y_mm": _mm(found.y),
        "area_mm2": round(found.area_mm2, 6),
        "plate_ff": None if found.plate_ff is None else round(found.plate_ff, 3),
        "fitted_ff": None if found.fitted_ff is None else round(found.fitted_ff, 3),
    }


def _victim(one: Outlook, found: Victim) -> dict[str, Any]:
    return {
        "net": one.scene.board.nets[found.net],
        "crossovers": found.crossovers,
        "crossing_mv": round(1e3 * found.crossing_v, 4),
        "parallel_mv": round(1e3 * found.parallel_v, 4),
        "budget_mv": round(1e3 * found.budget_v, 4),
        "undriven_mv": round(1e3 * found.undriven_v, 4),
        "total_ff": round(found.total_ff, 3),
        "impedance_ohm": round(found.z0, 2),
        "knee_mhz": round(found.knee_mhz, 3),
        "crossing_db": _crossing_db(found),
        "parallel_db": _db(found.parallel),
    }


def _crossing_db(found: Victim) -> float | None:
    """Transfer of all crossings together at the knee frequency; None where there are none."""
    if not found.total_ff or not found.z0:
        return None
    return round(coupling.coupled_db(found.total_ff, 1e6 * found.knee_mhz, found.z0), 1)


def _db(share: float) -> float | None:
    return round(20 * math.log10(share), 1) if share > 0 else None


def _suggestion(one: Outlook) -> dict[str, Any]:
    return {
        "directions": one.plan.directions.ways,
        "blocked": one.plan.blocked,
        "vias": one.plan.vias,
        "facing_crossovers": len(one.coupling.crossovers),
        "length_mm": _mm(one.plan.length),
    }


def channels_text(one: Outlook, suggested: list[Outlook] | None = None) -> str:
    """What a person reads: layers, figures, what is blocked, what is full, what couples."""
    plan, board = one.plan, one.scene.board
    sizes = plan.sizes
    ways = ", ".join(
        f"{layer.name} {way}"
        for layer, way in zip(board.layers, plan.directions.ways, strict=True)
        if way != PLANE
    )
    least = sum(route.bound for route in plan.routes if route.routed)
    lines = [
        f"{shown(one.name)}: {len(plan.routes)} open connections",
        f"  layers: {shown(ways)} ({plan.directions.source})",
        f"  track {_mm(sizes.track):g}, clearance {_mm(sizes.clearance):g}, via "
        f"{_mm(sizes.via):g} mm ({shown(sizes.source)})",
        f"  routed {len(plan.routes) - plan.blocked}, blocked {plan.blocked}, vias {plan.vias} "
        f"({vias_in_line(plan)} in line), length {plan.length / 1e6:.1f} mm "
        f"(at least {least / 1e6:.1f}), {tracks_used(plan)} tracks used",
    ]
    if against(plan):
        lines.append(
            f"  {against(plan)} connections run against the direction of a layer or at 45 degrees"
        )
    lines += [
        f"  plane: {board.layers[i].name}, {why}" for i, why in plan.directions.planes.items()
    ]
    lines += _blocked_lines(one) + _full_lines(one) + _line_lines(one) + _coupling_lines(one)
    if suggested is not None:
        lines += _suggested_lines(suggested)
    said = cautions(moved=one.moved, planned=True)
    return "\n".join(lines + [f"  caution: {caution}" for caution in said])


def _blocked_lines(one: Outlook) -> list[str]:
    board = one.scene.board
    blocked = [route for route in one.plan.routes if not route.routed]
    if not blocked:
        return []
    lines = [
        f"    {shown(board.nets[r.net])}: {board.pin_label(board.pads[r.a].pin)} to "
        f"{board.pin_label(board.pads[r.b].pin)}"
        for r in blocked[:MOST]
    ]
    if len(blocked) > MOST:
        lines.append(f"    and {len(blocked) - MOST} more")
    if not one.thorough:
        lines.append("    --thorough tries finer grids, for minutes")
    return ["  blocked:", *lines]


def _full_lines(one: Outlook) -> list[str]:
    board = one.scene.board
    full = sorted(channels_of(one.plan), key=lambda c: (-c.demand / max(c.capacity, 1), c))[:5]
    rows = [
        (board.layers[c.layer].name, f"{_mm(c.low):g} .. {_mm(c.high):g}", f"{c.demand}",
         f"{c.capacity}", f"{c.tracks}", f"{c.least}",
         "cyclic" if c.straight is None else f"{c.straight} or more") for c in full
    ]  # fmt: skip
    if not rows:
        return []
    return ["  fullest channels:", table([_CHANNEL, *rows])]


def _line_lines(one: Outlook) -> list[str]:
    board = one.scene.board
    return [
        f"  a track on {shown(board.layers[line.layer].name)}: about {line.exact:.0f} ohm "
        f"({line.handbook:.0f} by the handbook form), {line.delay:.2f} ps/mm, "
        f"{_mm(line.height):g} mm from its plane, er {line.er:g}"
        for line in lines_of(board, one.plan)
    ]


def _coupling_lines(one: Outlook) -> list[str]:
    found, board = one.coupling, one.scene.board
    lines = [f"  {len(found.crossovers)} crossovers on facing layers"]
    if found.crossovers and not found.sure:
        lines.append("    no plane: no figure per crossover holds; coupling grows with length")
        pairs = Counter(tuple(sorted(c.nets)) for c in found.crossovers)
        worst = sorted(pairs.items(), key=lambda item: (-item[1], item[0]))[:3]
        lines += [
            f"    {count} x {shown(board.nets[a])} with {shown(board.nets[b])}"
            for (a, b), count in worst
        ]
    elif found.crossovers:
        top = found.crossovers[0]
        lines.append(
            f"    at most {top.fitted_ff:.1f} fF each (within {coupling.FIT_ERROR:.1%} for gaps up "
            f"to {coupling.FIT_REACH_MM} mm; at least {top.plate_ff:.1f}), {found.source}"
        )
    for victim in found.victims[:MOST]:
        total = victim.crossing_v + victim.parallel_v
        lines.append(
            f"    {shown(board.nets[victim.net])}: {1e3 * total:.2f} mV of a budget of "
            f"{1e3 * victim.budget_v:.0f} mV ({victim.crossovers} crossovers; "
            f"{1e3 * victim.undriven_v:.2f} mV from them if nobody drives it)"
        )
    return lines


def _suggested_lines(found: list[Outlook]) -> list[str]:
    rows = [("directions", "blocked", "vias", "facing", "mm")]
    rows += [
        (
            other.plan.directions.ways,
            f"{other.plan.blocked}",
            f"{other.plan.vias}",
            f"{len(other.coupling.crossovers)}",
            f"{other.plan.length / 1e6:.1f}",
        )
        for other in found
    ]
    return ["  direction tables, front to back, best first:", table(rows)]
