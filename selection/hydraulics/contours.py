"""Lines of equal efficiency over a pump's range of diameters, for the chart."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from selection.hydraulics.affinity import ImpellerFamily
from selection.hydraulics.curves import PumpCurve
from selection.hydraulics.door import Floats, number
from selection.hydraulics.errors import NothingGiven
from selection.hydraulics.roots import bracketed_root


@dataclass(frozen=True, eq=False, kw_only=True)
class EfficiencyLine:
    """One line of equal efficiency, from the least diameter up and down again.

    efficiency : of the line [-]
    flow_m3s, head_m : (n,) along it [m3/s], [m]
    """

    efficiency: float
    flow_m3s: Floats
    head_m: Floats


def usual_levels(best: float, lines: int = 5) -> tuple[float, ...]:
    """Levels in whole points below a best efficiency.

    best : highest efficiency of the pump, 0 to 1 [-]
    lines : how many, >= 1 [-]
    returns : levels by falling efficiency [-]
    """
    number(best, "best efficiency", "-", 0.05, 0.999)
    top = np.floor(best * 100.0 - 0.5)
    steps = (0, 2, 5, 10, 15, 20, 25, 30)[: max(1, lines)]
    return tuple(float(top - step) / 100.0 for step in steps if top - step > 5)


def efficiency_lines(
    family: ImpellerFamily,
    speed_rpm: float,
    diameter_min_mm: float,
    diameter_max_mm: float,
    levels: Sequence[float] | None = None,
    samples: int = 15,
) -> tuple[EfficiencyLine, ...]:
    """Find lines of equal efficiency between two diameters.

    family : the impeller's curves
    speed_rpm : > 0 [rev/min]
    diameter_min_mm, diameter_max_mm : limits [mm]
    levels : efficiencies; None takes the usual ones [-]
    samples : diameters looked at, 3 to 200 [-]
    returns : a line a level that is reached
    raises : OutOfBounds, NothingGiven
    """
    number(samples, "number of diameters", "-", 3, 200)
    number(diameter_min_mm, "least diameter", "mm", 1.0, diameter_max_mm)
    curves = [
        family.curve_at(float(diameter), speed_rpm)
        for diameter in np.linspace(diameter_min_mm, diameter_max_mm, samples)
    ]
    if levels is None:
        levels = usual_levels(max(curve.bep_efficiency for curve in curves))
    if not levels:
        raise NothingGiven(what="efficiency level")
    lines = []
    for level in levels:
        number(level, "efficiency level", "-", 0.0, 1.0)
        rising: list[tuple[float, float]] = []
        falling: list[tuple[float, float]] = []
        for curve in curves:
            best = curve.bep_flow_m3s
            for side, low, high in (
                (rising, curve.flow_low_m3s, best),
                (falling, best, curve.flow_high_m3s),
            ):
                spare = curve.efficiency(np.array([low, high])) - level
                if spare[0] * spare[1] < 0.0:
                    flow = _flow_at(curve, level, low, high)
                    side.append((flow, float(curve.head(flow))))
        along = rising + falling[::-1]
        if along:
            points = np.array(along)
            lines.append(
                EfficiencyLine(efficiency=level, flow_m3s=points[:, 0], head_m=points[:, 1])
            )
    return tuple(lines)


def _flow_at(curve: PumpCurve, level: float, low: float, high: float) -> float:
    """Flow between two at which efficiency passes a level."""
    ends = np.array([low]), np.array([high])
    return float(bracketed_root(lambda q: curve.efficiency_fit(q) - level, *ends).x[0])
