"""The buoy's copper: everything but the sonde connector was routed when that came."""

from __future__ import annotations

import math
from functools import partial

from corpus_maker.buoy import FANNED_OUT, FANNED_OUT_SPARE, buoy
from corpus_maker.design import Arc, Design, Part, Points, Track, Zone, mm
from corpus_maker.fills import pour
from corpus_maker.grid import WIDTHS
from corpus_maker.router import Router

THIN, WIDE = WIDTHS

SHORT_FIRST = (
    "=Y1.1", "=Y1.3", "/RADIO_CS", "/RADIO_SCK", "/RADIO_SDO", "/RADIO_SDI", "/RADIO_BUSY",
    "/RADIO_IRQ", "/RADIO_RST", "/CARD_D2", "/CARD_D3", "/CARD_CMD", "/CARD_CLK", "/CARD_D0",
    "/CARD_D1", "/CARD_DETECT", "=U3.2", "=U3.6", "=U3.9", "=U3.13", "=U3.3", "=U3.5", "=U3.10",
    "=U3.12", "=R1.1", "=R2.1", "=D1.2", "=D2.2", "=D3.2", "=D4.2", "/PH_IN", "/OXY_IN",
    "/TURB_IN", "/COND_IN", "/LAMP1", "/LAMP2", "/LAMP3", "/LAMP4", "=R5.1", "=R6.1", "=R7.1",
    "=R8.1", "/ARM", "/SENSE_TURB", "/SENSE_COND", "/SENSE_OXY", "/SENSE_PH", "/USB_DM", "/USB_DP",
    "/SWDIO", "/SWCLK", "/NRST", "/BOOT",
)  # fmt: skip
"""Signals routed by hand order: short and crowded ones before long ones."""

LATE = tuple(f"U1.{name}" for name in (*FANNED_OUT, *FANNED_OUT_SPARE))


def routed_buoy(layers: int = 4) -> Design:
    """The main board, routed but for the sonde's nets; 4 layers, or 2 with one pour."""
    design = buoy(layers)
    _aerial(design)
    router = Router(design, late=frozenset({"J7"}))
    planes = ("GND", "+3V3") if layers == 4 else ("GND",)
    for part_ref in ("U1", ""):
        _drop_all(router, planes, part_ref)
        if part_ref:
            _fan_out(router)
    lost = [pin for net in ("/VSYS", "/VBATT") for pin in router.join(net, WIDE)]
    lost += [pin for net in (*SHORT_FIRST, "+3V3A", "/VUSB") for pin in router.join(net, THIN)]
    if layers == 2:
        router.join("+3V3", THIN)
    elif lost:
        raise ValueError(f"not routed: {lost}")
    router.finish()
    _areas(design)
    return design


def _aerial(design: Design) -> None:
    """The antenna's track, with a curve in it."""
    turn, end = mm(6), mm(4.75)
    radius = turn - end
    start = design.part("U2").place(design.part("U2").kind.outline.pads[1])
    slant = round(radius * math.sqrt(0.5))
    low = start[1] + radius
    foot = design.part("J2").place(design.part("J2").kind.outline.pads[0])
    design.tracks.append(Track("/ANT", 0, *start, turn, start[1], WIDE))
    mid = (turn - slant, low - slant)
    design.arcs.append(Arc("/ANT", 0, (turn, start[1]), mid, (end, low), WIDE))
    design.tracks.append(Track("/ANT", 0, end, low, *foot, WIDE))


def _drop_all(router: Router, planes: tuple[str, ...], ref: str) -> None:
    """Every surface pad of a plane net gets a via, ``ref`` alone or all that are left."""
    for net in planes:
        for part, pad in router.design.pads_of(net):
            if pad.kind != "smd" or (part.ref == ref) != bool(ref):
                continue
            width = THIN if min(pad.w, pad.h) < mm(0.4) else WIDE
            where = partial(_under, part) if ref else _anywhere
            if not router.drop(net, part, pad, width, where):
                raise ValueError(f"no room for a via beside {part.ref}.{pad.number}")


def _fan_out(router: Router) -> None:
    """Port pins that already have a track and a via, leading nowhere yet."""
    part = router.design.part("U1")
    for i, name in enumerate((*FANNED_OUT, *FANNED_OUT_SPARE)):
        (number,) = part.kind.numbers(name)
        pad = next(p for p in part.kind.outline.pads if p.number == number)
        net = router.design.net_of(part, number) or f"?U1.{number}"
        where = partial(_outside, part, mm(9.25 + 0.75 * (i % 2)))
        if not router.drop(net, part, pad, THIN, where):
            raise ValueError(f"no room to fan out {name}")


def _anywhere(x: int, y: int) -> bool:
    return True


def _under(part: Part, x: int, y: int) -> bool:
    """Below the part's body, where no other track wants to go."""
    half_x, half_y = part.kind.outline.half
    return abs(x - part.x) < half_x and abs(y - part.y) < half_y


def _outside(part: Part, reach: int, x: int, y: int) -> bool:
    """Beyond the part's pads, at least ``reach`` from its middle."""
    return max(abs(x - part.x), abs(y - part.y)) >= reach


def _areas(design: Design) -> None:
    """Keep-outs beside the antenna, the poured planes, some teardrops."""
    box = ((mm(1), mm(7)), (mm(3), mm(7)), (mm(3), mm(11)), (mm(1), mm(11)))
    for layer in (*range(design.layers - 1), -1):
        design.zones.append(Zone(f"antenna {layer}", "", layer, box, kind="keepout"))
    if design.layers == 4:
        design.zones.append(pour(design, "GND", 1, "ground"))
        design.zones.append(pour(design, "+3V3", 2, "supply"))
        design.zones.extend(_teardrops(design))
    else:
        design.zones.append(pour(design, "GND", -1, "ground"))


def _teardrops(design: Design) -> list[Zone]:
    """Teardrops where a track meets its via, on nets that have room for them."""
    ends: dict[tuple[str, int, int], list[Track]] = {}
    for track in design.tracks:
        ends.setdefault((track.net, track.x1, track.y1), []).append(track)
        turned = track._replace(x1=track.x2, y1=track.y2, x2=track.x1, y2=track.y1)
        ends.setdefault((track.net, track.x2, track.y2), []).append(turned)
    zones: list[Zone] = []
    for via in design.vias:
        if via.net.startswith(("/RADIO", "/SENSE", "/SONDE", "/BOOT", "?")):
            for track in ends[via.net, via.x, via.y]:
                shape = _drop_shape(track, via.size)
                if shape:
                    name = f"drop {len(zones) + 1}"
                    zones.append(Zone(name, via.net, track.layer, shape, (shape,), "teardrop"))
    return zones


def _drop_shape(track: Track, size: int) -> Points:
    """From a via's rim to a point 0.75 mm down the track; () if the track is shorter."""
    dx, dy = track.x2 - track.x1, track.y2 - track.y1
    length, reach = math.hypot(dx, dy), mm(0.75)
    if length < reach:
        return ()
    ux, uy = dx / length, dy / length

    def spot(along: float, aside: float) -> tuple[int, int]:
        return (
            round(track.x1 + along * ux - aside * uy),
            round(track.y1 + along * uy + aside * ux),
        )

    half, rim = track.width / 2, size * 0.4
    return (spot(reach, half), spot(reach, -half), spot(0, -rim), spot(-size / 3, 0), spot(0, rim))
