"""Water curves made to hold for a viscous liquid by the method of ANSI/HI 9.6.7.

The method is for Newtonian liquids, radial impellers and one stage; outside its range it is
refused, never stretched. NPSH required is left as it was on water and said to be so.
"""

from dataclasses import dataclass, replace

import numpy as np

from selection.hydraulics.curves import CurvePoints, PumpCurve
from selection.hydraulics.door import Floats, number, positive
from selection.hydraulics.errors import OutsideMethod
from selection.hydraulics.specific_speed import specific_speed

SOURCE = "ANSI/HI 9.6.7, two retrieved texts agree on B, one on the factors"
N_Q_MOST = 60.0
B_MOST = 40.0
VISCOSITY_M2S = (1e-6, 4e-3)


@dataclass(frozen=True, kw_only=True)
class ViscousFactors:
    """Factors by which a water curve changes.

    parameter : B of the method [-]
    flow : C_Q [-]
    head_at_best : C_H at the water's best-efficiency flow [-]
    efficiency : C_eta [-]
    source : of the method
    """

    parameter: float
    flow: float
    head_at_best: float
    efficiency: float
    source: str = SOURCE

    def head(self, share_of_best: Floats | float) -> Floats:
        """Head factor at other flows.

        share_of_best : water flow over water's best-efficiency flow, any shape, >= 0 [-]
        returns : C_H, same shape [-]
        source : ANSI/HI 9.6.7
        """
        share = np.asarray(share_of_best, dtype=np.float64)
        return np.asarray(1.0 - (1.0 - self.head_at_best) * share**0.75)


def viscous_factors(
    bep_flow_m3s: float, bep_head_m: float, speed_rpm: float, viscosity_m2s: float, eyes: int = 1
) -> ViscousFactors:
    """Find the factors for a pump and a viscosity.

    bep_flow_m3s : on water, total, > 0 [m3/s]
    bep_head_m : on water, of one stage, > 0 [m]
    speed_rpm : > 0 [rev/min]
    viscosity_m2s : kinematic, 1e-6 to 4e-3 [m2/s]
    eyes : of the wheel, for the specific speed's limit, 1 or 2 [-]
    returns : the factors; all 1 where B <= 1
    raises : OutsideMethod, OutOfBounds
    source : ANSI/HI 9.6.7
    """
    positive(bep_flow_m3s, "best-efficiency flow", "m3/s", 50.0)
    positive(bep_head_m, "best-efficiency head", "m", 3000.0)
    positive(speed_rpm, "speed", "rev/min", 10_000.0)
    positive(viscosity_m2s, "kinematic viscosity", "m2/s", 1.0)
    n_q = float(specific_speed(bep_flow_m3s, bep_head_m, speed_rpm, eyes))
    _within("specific speed", n_q, "-", 0.0, N_Q_MOST)
    _within("viscosity", viscosity_m2s * 1e6, "mm²/s", 0.0, VISCOSITY_M2S[1] * 1e6)
    b = (
        16.5
        * (viscosity_m2s * 1e6) ** 0.5
        * bep_head_m**0.0625
        / ((bep_flow_m3s * 3600.0) ** 0.375 * speed_rpm**0.25)
    )
    if b <= 1.0:
        return ViscousFactors(parameter=b, flow=1.0, head_at_best=1.0, efficiency=1.0)
    _within("B", b, "-", 0.0, B_MOST)
    flow = 2.71 ** (-0.165 * np.log10(b) ** 3.15)
    return ViscousFactors(
        parameter=b,
        flow=float(flow),
        head_at_best=float(flow),
        efficiency=float(b ** (-0.0547 * b**0.69)),
    )


def _within(quantity: str, value: float, unit: str, low: float, high: float) -> None:
    if not low <= value <= high:
        raise OutsideMethod(
            method="The viscosity correction",
            quantity=quantity,
            value=value,
            unit=unit,
            low=low,
            high=high,
            source=SOURCE,
        )


def viscous_points(
    points: CurvePoints, factors: ViscousFactors, bep_flow_m3s: float
) -> CurvePoints:
    """Correct a water curve point by point.

    points : on water, at the speed the factors were found for
    factors : from `viscous_factors`
    bep_flow_m3s : of the water curve, > 0 [m3/s]
    returns : the curve on the viscous liquid
    raises : OutOfBounds
    source : ANSI/HI 9.6.7; NPSH required unchanged at the corrected flow
    """
    number(bep_flow_m3s, "best-efficiency flow", "m3/s", 1e-9, 50.0)
    share = points.flow_m3s / bep_flow_m3s
    return replace(
        points,
        flow_m3s=points.flow_m3s * factors.flow,
        head_m=points.head_m * factors.head(share),
        efficiency=points.efficiency * factors.efficiency,
    )


def viscous_curve(curve: CurvePoints, viscosity_m2s: float, eyes: int = 1) -> PumpCurve:
    """Draw the curve of a water test on a viscous liquid.

    curve : tested on water
    viscosity_m2s : kinematic [m2/s]
    eyes : of the wheel, 1 or 2 [-]
    returns : the curve on the liquid
    raises : OutsideMethod, OutOfBounds
    source : ANSI/HI 9.6.7
    """
    on_water = PumpCurve.through(curve)
    factors = viscous_factors(
        on_water.bep_flow_m3s, on_water.bep_head_m, curve.speed_rpm, viscosity_m2s, eyes
    )
    return PumpCurve.through(viscous_points(curve, factors, on_water.bep_flow_m3s))
