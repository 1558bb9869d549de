"""Sampled curves for a chart: numbers only, drawn elsewhere."""

from dataclasses import dataclass

import numpy as np

from selection.hydraulics.affinity import ImpellerFamily
from selection.hydraulics.curves import PumpCurve, shaft_power
from selection.hydraulics.door import Floats, number
from selection.hydraulics.duty import Duty
from selection.hydraulics.operating import OperatingPoints, operating_points


@dataclass(frozen=True, eq=False, kw_only=True)
class PumpsLine:
    """Head of a number of pumps running together.

    running : pumps [-]
    flow_m3s : (n,) total [m3/s]
    head_m : (n,) [m]
    meeting : where they meet the system at mean static head
    """

    running: int
    flow_m3s: Floats
    head_m: Floats
    meeting: OperatingPoints


@dataclass(frozen=True, eq=False, kw_only=True)
class TrimLine:
    """Head of one pump at another diameter.

    diameter_mm : [mm]
    flow_m3s : (n,) [m3/s]
    head_m : (n,) [m]
    """

    diameter_mm: float
    flow_m3s: Floats
    head_m: Floats


@dataclass(frozen=True, eq=False, kw_only=True)
class ChartData:
    """Everything a chart of one candidate shows, as arrays; NaN where a curve is not known.

    pumps : 1 to n running, and the standby pump beyond them where there is one
    system_flow_m3s : (s,) total, from nought to the end of the widest curve [m3/s]
    system_head_m, system_low_m, system_high_m : (s,) at mean, least, greatest static head [m]
    flow_m3s : (n,) of one pump [m3/s]
    head_m, efficiency, npshr_m, npsha_m, power_w : (n,) of one pump [m], [-], [m], [m], [W]
    trims : one pump at least, trimmed and largest diameter, and between
    duty_flow_m3s, duty_head_m : total of all running [m3/s], [m]
    bep_flow_m3s : of one pump [m3/s]
    run_out : the last pump alone at the least static head
    """

    pumps: tuple[PumpsLine, ...]
    system_flow_m3s: Floats
    system_head_m: Floats
    system_low_m: Floats
    system_high_m: Floats
    flow_m3s: Floats
    head_m: Floats
    efficiency: Floats
    npshr_m: Floats
    npsha_m: Floats
    power_w: Floats
    trims: tuple[TrimLine, ...]
    duty_flow_m3s: float
    duty_head_m: float
    bep_flow_m3s: float
    run_out: OperatingPoints


def chart_data(
    family: ImpellerFamily,
    diameter_mm: float,
    speed_rpm: float,
    duty: Duty,
    diameters_mm: tuple[float, ...] = (),
    samples: int = 81,
) -> ChartData:
    """Sample the curves of a pump and its system.

    family : the impeller's curves
    diameter_mm : trimmed [mm]
    speed_rpm : [rev/min]
    duty : system, liquid, suction, number running
    diameters_mm : others to be shown beside it [mm]
    samples : points a line, >= 11 [-]
    returns : the arrays
    raises : OutOfBounds
    """
    number(samples, "number of samples", "-", 11, 2000)
    curve = family.curve_at(diameter_mm, speed_rpm)
    flow = np.linspace(curve.flow_low_m3s, curve.flow_high_m3s, samples)
    head, efficiency = curve.head(flow), curve.efficiency(flow)
    most = duty.pumps + (1 if duty.standby else 0)
    across = np.linspace(0.0, most * curve.flow_high_m3s, samples)
    return ChartData(
        pumps=tuple(_pumps(curve, duty, count, flow) for count in range(1, most + 1)),
        system_flow_m3s=across,
        system_head_m=duty.system.head(across),
        system_low_m=duty.system.low.head(across),
        system_high_m=duty.system.high.head(across),
        flow_m3s=flow,
        head_m=head,
        efficiency=efficiency,
        npshr_m=curve.npshr(flow),
        npsha_m=duty.suction.worst.npsha(flow, duty.liquid),
        power_w=np.where(
            flow >= curve.least_power_flow_m3s,
            shaft_power(flow, head, efficiency, duty.liquid.density_kg_m3),
            np.nan,
        ),
        trims=tuple(_trim(family, size, speed_rpm, samples) for size in sorted(diameters_mm)),
        duty_flow_m3s=duty.total_flow_m3s,
        duty_head_m=duty.head_m,
        bep_flow_m3s=curve.bep_flow_m3s,
        run_out=operating_points(curve, duty.system.low, 1),
    )


def _pumps(curve: PumpCurve, duty: Duty, running: int, each: Floats) -> PumpsLine:
    return PumpsLine(
        running=running,
        flow_m3s=running * each,
        head_m=curve.head(each),
        meeting=operating_points(curve, duty.system, running),
    )


def _trim(family: ImpellerFamily, diameter_mm: float, speed_rpm: float, samples: int) -> TrimLine:
    curve = family.curve_at(diameter_mm, speed_rpm)
    flow = np.linspace(curve.flow_low_m3s, curve.flow_high_m3s, samples)
    return TrimLine(diameter_mm=diameter_mm, flow_m3s=flow, head_m=curve.head(flow))
