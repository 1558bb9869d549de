"""Plausible curves of a split-case impeller from published relations, for an invented catalogue.

The relations are those of Gülich as remembered; they serve to make curves that look and behave
like a works' own, never to stand for a tested pump.
"""

from dataclasses import dataclass

import numpy as np

from selection.hydraulics.curves import CurvePoints
from selection.hydraulics.door import GRAVITY, Floats, number, positive
from selection.hydraulics.specific_speed import specific_speed


@dataclass(frozen=True, kw_only=True)
class Pattern:
    """What an impeller pattern is laid out for.

    bep_flow_m3s : total, at full diameter, > 0 [m3/s]
    bep_head_m : at full diameter, > 0 [m]
    speed_rpm : > 0 [rev/min]
    diameter_mm : full, > 0 [mm]
    vanes : number of vanes, 3 to 9; more vanes make the curve flatter [-]
    suction_specific_speed : S per eye at best efficiency, 100 to 300 [rev/min, m3/s, m]
    efficiency_offset : added to the attainable efficiency, -0.1 to 0.05 [-]
    eyes : 1 or 2 [-]
    """

    bep_flow_m3s: float
    bep_head_m: float
    speed_rpm: float
    diameter_mm: float
    vanes: int = 6
    suction_specific_speed: float = 190.0
    efficiency_offset: float = 0.0
    eyes: int = 2

    def __post_init__(self) -> None:
        positive(self.bep_flow_m3s, "best-efficiency flow", "m3/s", 50.0)
        positive(self.bep_head_m, "best-efficiency head", "m", 3000.0)
        positive(self.speed_rpm, "speed", "rev/min", 10_000.0)
        positive(self.diameter_mm, "impeller diameter", "mm", 5000.0)
        number(self.vanes, "number of vanes", "-", 3, 9)
        number(self.suction_specific_speed, "suction specific speed", "-", 100.0, 300.0)
        number(self.efficiency_offset, "efficiency offset", "-", -0.1, 0.05)
        number(self.eyes, "number of eyes", "-", 1, 2)

    @property
    def n_q(self) -> float:
        """Specific speed of one eye [rev/min, m3/s, m]."""
        return float(specific_speed(self.bep_flow_m3s, self.bep_head_m, self.speed_rpm, self.eyes))


def attainable_efficiency(
    flow_m3s: Floats | float, n_q: Floats | float, reference_flow_m3s: float = 1.0
) -> Floats:
    """Efficiency that a good single-stage radial pump reaches at best efficiency.

    flow_m3s : of one eye, > 0 [m3/s]
    n_q : of one eye, > 0 [rev/min, m3/s, m]
    reference_flow_m3s : Q_ref of the relation [m3/s]
    returns : efficiency, good to 3 to 5 points [-]
    source : Gülich, Centrifugal Pumps, table 3.9, from memory
    """
    q = np.asarray(flow_m3s, dtype=np.float64)
    ratio = reference_flow_m3s / q
    a = np.where(q <= reference_flow_m3s, 1.0, 0.5)
    m = 0.1 * a * ratio**0.15 * (45.0 / np.asarray(n_q)) ** 0.06
    shape = 0.35 - np.log10(np.asarray(n_q) / 23.0)
    return np.asarray(1.0 - 0.095 * ratio**m - 0.3 * shape**2 * ratio**0.05)


def shutoff_ratio(n_q: float, vanes: int) -> float:
    """Shut-off head over best-efficiency head.

    n_q : of one eye, > 0 [rev/min, m3/s, m]
    vanes : number of vanes, 3 to 9 [-]
    returns : ratio, 1.08 to 1.6 [-]
    source : rises with specific speed and falls with the number of vanes; assumption made here
        after the charts in Gülich, from memory
    """
    return float(np.clip(1.16 + 0.0035 * (n_q - 20.0) - 0.025 * (vanes - 6), 1.08, 1.6))


def outlet_width_mm(pattern: Pattern) -> float:
    """Width of the outlet that suits a pattern, both halves together.

    pattern : the layout
    returns : width [mm]
    source : outlet meridional velocity 0.12 of tip speed, vanes taking 10 %; assumption made here
    """
    tip = np.pi * pattern.diameter_mm / 1000.0 * pattern.speed_rpm / 60.0
    area = pattern.bep_flow_m3s / (0.12 * tip * 0.9)
    return float(area / (np.pi * pattern.diameter_mm / 1000.0) * 1000.0)


def full_diameter_mm(bep_head_m: float, speed_rpm: float, head_coefficient: float = 0.5) -> float:
    """Diameter that makes a head at best efficiency.

    bep_head_m : > 0 [m]
    speed_rpm : > 0 [rev/min]
    head_coefficient : g H / u², 0.35 to 0.6 [-]
    returns : diameter [mm]
    source : definition of the head coefficient
    """
    positive(bep_head_m, "best-efficiency head", "m", 3000.0)
    positive(speed_rpm, "speed", "rev/min", 10_000.0)
    number(head_coefficient, "head coefficient", "-", 0.35, 0.6)
    tip = float(np.sqrt(GRAVITY * bep_head_m / head_coefficient))
    return tip * 60.0 / (np.pi * speed_rpm) * 1000.0


def points_of(pattern: Pattern, diameter_mm: float | None = None, points: int = 9) -> CurvePoints:
    """Make the curve of a pattern at a diameter.

    pattern : the layout at full diameter
    diameter_mm : trimmed; None is the full diameter [mm]
    points : how many, 5 to 40 [-]
    returns : head, efficiency and NPSH required from shut-off to run-out
    raises : OutOfBounds
    source : parabola from shut-off through best efficiency with its steepness set by
        `shutoff_ratio`; efficiency by `attainable_efficiency`, falling as a cubic through nought
        at no flow; trim exponents 1.1 and 2.3, 0.2 of efficiency lost for each share turned
        off; NPSH required a bowl about best-efficiency flow: assumptions made here
    """
    number(points, "number of points", "-", 5, 40)
    full = pattern.diameter_mm
    diameter = (
        full if diameter_mm is None else number(diameter_mm, "diameter", "mm", full / 2, full)
    )
    ratio = diameter / full
    best = pattern.bep_flow_m3s * ratio**1.1
    head_best = pattern.bep_head_m * ratio**2.3
    share = np.concatenate([[0.0], np.linspace(0.2, 1.35, points - 1)])
    head = head_best * _head_shape(share, shutoff_ratio(pattern.n_q, pattern.vanes))
    top = float(attainable_efficiency(pattern.bep_flow_m3s / pattern.eyes, pattern.n_q))
    top = (top + pattern.efficiency_offset) * (1.0 - 0.2 * (1.0 - ratio))
    return CurvePoints(
        flow_m3s=share * best,
        head_m=head,
        efficiency=top * _efficiency_shape(share),
        npshr_m=_npshr(pattern, share * best),
        speed_rpm=pattern.speed_rpm,
        diameter_mm=diameter,
    )


def _head_shape(share: Floats, shutoff: float) -> Floats:
    """Head over best-efficiency head: level at shut-off, then falling ever faster."""
    return np.asarray(shutoff - (shutoff - 1.0) * (0.85 * share**2 + 0.15 * share**4))


def _efficiency_shape(share: Floats) -> Floats:
    """Efficiency over its best: nought at no flow, level at best, steeper beyond it."""
    below = 1.0 - (1.0 - share) ** 2
    beyond = 1.0 - 1.35 * (share - 1.0) ** 2
    return np.asarray(np.where(share <= 1.0, below, beyond))


def _npshr(pattern: Pattern, flow: Floats) -> Floats:
    """NPSH required: a bowl whose value at best efficiency follows from S."""
    eye_flow = pattern.bep_flow_m3s / pattern.eyes
    best = (pattern.speed_rpm * np.sqrt(eye_flow) / pattern.suction_specific_speed) ** (4.0 / 3.0)
    share = flow / pattern.bep_flow_m3s
    beyond = np.maximum(share - 1.0, 0.0)
    bowl = np.where(share < 0.35, np.nan, 0.62 + 0.38 * share**2)
    rising = 1.0 + 0.76 * beyond + 1.6 * beyond**1.5
    return np.asarray(best * np.where(share > 1.0, rising, bowl))
