"""Published curves and small helpers that several tests share."""

from dataclasses import dataclass

import numpy as np

from selection.hydraulics import CurvePoints, OperatingPoint, OperatingPoints, PumpCurve
from selection.hydraulics.door import Floats
from selection.hydraulics.generate import Pattern, full_diameter_mm, points_of

FT = 0.3048
FT3 = FT**3
GPM = 0.2271247 / 3600.0  # US gallon a minute in m3/s
PSI = 6894.757
HP = 745.6999


def close(value: object, expected: float, relative: float) -> bool:
    """Whether a value agrees with a published one within a relative tolerance."""
    return bool(np.isclose(np.asarray(value, dtype=float), expected, rtol=relative, atol=0.0))


# HI Engineering Data, published pump curve (worked example 6): m3/h, m, %, m.
HI_FLOW = np.array(
    [0, 22.7, 45.4, 68.1, 90.8, 113.6, 136.3, 159.0, 181.7, 204.4, 227.1, 249.8, 272.5]
)
HI_HEAD = np.array([61, 60.7, 59.7, 58.5, 57.9, 56.7, 54.9, 53.3, 50.3, 47.2, 42.7, 38.1, 30.5])
HI_EFFICIENCY = np.array([0, 25, 40, 50, 58, 65, 71, 75, 77, 78, 76, 72, 65])
HI_NPSHR = np.array([np.nan] * 5 + [1.8, 2.1, 2.4, 2.9, 3.4, 4.0, 4.6, 5.5])


def hi_points() -> CurvePoints:
    """The published curve; its speed and diameter are not printed and are chosen here."""
    return CurvePoints(
        flow_m3s=HI_FLOW / 3600.0,
        head_m=HI_HEAD,
        efficiency=HI_EFFICIENCY / 100.0,
        npshr_m=HI_NPSHR,
        speed_rpm=1480.0,
        diameter_mm=400.0,
    )


def hi_curve() -> PumpCurve:
    """The fit through it."""
    return PumpCurve.through(hi_points())


@dataclass(frozen=True)
class StraightLines:
    """A head curve read by straight lines between its points, as the worked example does."""

    flow: Floats
    made: Floats

    @property
    def flow_low_m3s(self) -> float:
        return float(self.flow[0])

    @property
    def flow_high_m3s(self) -> float:
        return float(self.flow[-1])

    def head(self, flow_m3s: Floats | float) -> Floats:
        return np.asarray(np.interp(flow_m3s, self.flow, self.made))


def met(answer: OperatingPoints) -> OperatingPoint:
    """The point that holds by itself, where there must be one."""
    assert answer.point is not None, answer.sentence
    return answer.point


def pattern(
    flow_m3s: float = 0.15, head_m: float = 66.0, speed_rpm: float = 1480.0, vanes: int = 6
) -> Pattern:
    """A made-up pattern."""
    return Pattern(
        bep_flow_m3s=flow_m3s,
        bep_head_m=head_m,
        speed_rpm=speed_rpm,
        diameter_mm=full_diameter_mm(head_m, speed_rpm),
        vanes=vanes,
    )


def made_points(share_of_diameter: float = 1.0) -> CurvePoints:
    """A made-up test of that pattern."""
    layout = pattern()
    return points_of(layout, layout.diameter_mm * share_of_diameter)
