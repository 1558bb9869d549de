"""Lines of equal efficiency over a pump's range of diameters, for the chart."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from selection.hydraulics.affinity import ImpellerFamily
from selection.hydraulics.curves import PumpCurve
from selection.hydraulics.door import Floats, number
from selection.hydraulics.errors import NothingGiven
from selection.hydraulics.hermite import Cubic
from selection.hydraulics.many import Cubics
from selection.hydraulics.trim import kernels


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
    for level in levels:
        number(level, "efficiency level", "-", 0.0, 1.0)
    rising, falling = _flows_at(curves, levels)
    heads = Cubics.stack([curve.head_fit for curve in curves])
    lines = []
    for level, up, down in zip(levels, rising, falling, strict=True):
        flow = np.concatenate([up, down[::-1]])
        head = np.concatenate([heads.at(up), heads.at(down)[::-1]])
        reached = np.isfinite(flow)
        if reached.any():
            lines.append(
                EfficiencyLine(efficiency=level, flow_m3s=flow[reached], head_m=head[reached])
            )
    return tuple(lines)


def _flows_at(curves: Sequence[PumpCurve], levels: Sequence[float]) -> tuple[Floats, Floats]:
    """Flows at which each curve's efficiency rises to and falls from each level.

    curves : (c,) one a diameter
    levels : (e,) [-]
    returns : (e, c) rising and (e, c) falling, NaN where a level is not passed [m3/s]
    """
    fits = [curve.efficiency_fit for curve in curves]
    # Read backwards, a rising stretch falls.
    backwards = [Cubic(-fit.knots[::-1], fit.values[::-1], -fit.slopes[::-1]) for fit in fits]
    found = []
    for rows in (Cubics.stack(backwards), Cubics.stack(fits)):
        many = rows.rows(np.tile(np.arange(len(curves)), len(levels)))
        level = np.repeat(np.asarray(levels, dtype=np.float64), len(curves))
        flat = np.zeros_like(level)
        place, *_ = kernels().meet(
            many.knots, many.values, many.slopes, many.last, level, flat, flat + 2.0
        )
        found.append(place.reshape(len(levels), len(curves)))
    return -found[0], found[1]
