"""Impedance and delay of a track over or between planes, in closed form.

Lengths are in one unit of the caller's choice where only their ratio counts,
else in mm; impedances in ohm, delays in ps/mm.
"""

from __future__ import annotations

import math

from scipy.constants import epsilon_0, mu_0, speed_of_light
from scipy.special import ellipk, ellipkm1

ETA_0 = math.sqrt(mu_0 / epsilon_0)
PS_PER_MM = 1e9 / speed_of_light
"""Delay of free space, ps/mm."""


def microstrip(width: float, height: float, er: float) -> tuple[float, float]:
    """(impedance, effective permittivity) of a flat track over a plane.

    Hammerstad and Jensen, IEEE MTT-S 1980, 407-409 (zero thickness), from memory;
    better than 0.2 % for 0.01 < w/h < 100 and er < 128.
    """
    u = width / height
    shape = 6 + (2 * math.pi - 6) * math.exp(-((30.666 / u) ** 0.7528))
    in_air = ETA_0 / (2 * math.pi) * math.log(shape / u + math.sqrt(1 + 4 / u**2))
    a = (
        1
        + math.log((u**4 + (u / 52) ** 2) / (u**4 + 0.432)) / 49
        + math.log(1 + (u / 18.1) ** 3) / 18.7
    )
    b = 0.564 * ((er - 0.9) / (er + 3)) ** 0.053
    effective = (er + 1) / 2 + (er - 1) / 2 * (1 + 10 / u) ** (-a * b)
    return in_air / math.sqrt(effective), effective


def stripline(width: float, between: float, er: float) -> float:
    """Impedance of a flat track midway between planes that are ``between`` apart.

    Cohn 1954, exact for zero thickness, from memory: 30 pi / sqrt(er) K(k)/K(k'),
    k = sech(pi w / 2b).
    """
    k = 1 / math.cosh(math.pi * width / (2 * between))
    return float(30 * math.pi / math.sqrt(er) * ellipk(k * k) / ellipkm1(k * k))


def thick_microstrip(width: float, height: float, thickness: float, er: float) -> float:
    """The handbook estimate 87 / sqrt(er + 1.41) ln(5.98 h / (0.8 w + t)), from memory.

    About 5-8 % off :func:`microstrip`; for 0.1 < w/h < 2.
    """
    return 87 / math.sqrt(er + 1.41) * math.log(5.98 * height / (0.8 * width + thickness))


def thick_stripline(width: float, between: float, thickness: float, er: float) -> float:
    """The handbook estimate 60 / sqrt(er) ln(1.9 b / (0.8 w + t)), from memory.

    For w/(b - t) < 0.35 and t/b < 0.25.
    """
    return 60 / math.sqrt(er) * math.log(1.9 * between / (0.8 * width + thickness))


def delay(effective: float) -> float:
    """ps/mm at an effective permittivity."""
    return float(PS_PER_MM * math.sqrt(effective))


def knee_mhz(rise_ns: float) -> float:
    """Frequency up to which an edge matters, 0.5 / rise time (Johnson and Graham 1993, ch. 1)."""
    return 500.0 / rise_ns


def edge_mm(rise_ns: float, effective: float) -> float:
    """How long an edge is on the line."""
    return 1000.0 * rise_ns / delay(effective)
