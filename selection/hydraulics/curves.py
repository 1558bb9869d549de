"""Tested points of a pump and the curve drawn through them.

A curve keeps the shape of its points, knows the range it was tested over and refuses to answer
outside it. Power follows from head and efficiency, so the three can never disagree.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Protocol

import numpy as np

from selection.hydraulics.door import (
    DIAMETER_CEILING_MM,
    FLOW_CEILING_M3S,
    GRAVITY,
    HEAD_CEILING_M,
    SPEED_CEILING_RPM,
    Floats,
    column,
    positive,
)
from selection.hydraulics.errors import (
    CurveColumnsSwapped,
    CurveTooShort,
    CurveUneven,
    CurveUnsorted,
    OutsideCurve,
)
from selection.hydraulics.hermite import Cubic

LEAST_POINTS = 4


class HeadCurve(Protocol):
    """Anything that makes head at a flow: what operating points are sought on."""

    @property
    def flow_low_m3s(self) -> float:
        """Start of the range [m3/s]."""

    @property
    def flow_high_m3s(self) -> float:
        """End of the range [m3/s]."""

    def head(self, flow_m3s: Floats | float) -> Floats:
        """Head at flows within the range [m]."""


@dataclass(frozen=True, eq=False, kw_only=True)
class CurvePoints:
    """Points of one test or one catalogue curve, checked at the door.

    flow_m3s : (n,) rising, n >= 4, from >= 0 [m3/s]
    head_m : (n,) >= 0 [m]
    efficiency : (n,) 0 to below 1 [-]
    npshr_m : (n,) > 0 where measured, NaN where not; None when not measured at all [m]
    speed_rpm : > 0 [rev/min]
    diameter_mm : of the impeller as tested, > 0 [mm]
    serial : of the unit when measured on an order's pump; empty for the catalogue's curve
    tested_on : ISO date; empty when unknown
    """

    flow_m3s: Floats
    head_m: Floats
    efficiency: Floats
    npshr_m: Floats | None = None
    speed_rpm: float
    diameter_mm: float
    serial: str = ""
    tested_on: str = ""

    def __post_init__(self) -> None:
        flow = column(self.flow_m3s, "flow", "m3/s", 0.0, FLOW_CEILING_M3S)
        if len(flow) < LEAST_POINTS:
            raise CurveTooShort(points=len(flow), least=LEAST_POINTS)
        rising = np.diff(flow) > 0.0
        if not rising.all():
            at = int(np.argmin(rising)) + 1
            raise CurveUnsorted(index=at, flow_m3s=float(flow[at]), before_m3s=float(flow[at - 1]))
        self._refuse_swapped_columns(len(flow))
        head = column(self.head_m, "head", "m", 0.0, HEAD_CEILING_M)
        efficiency = column(self.efficiency, "efficiency", "-", 0.0, 0.999)
        npshr = None
        if self.npshr_m is not None:
            npshr = column(self.npshr_m, "NPSH required", "m", 1e-3, 200.0, gaps=True)
            self._same_length("NPSH required", len(npshr), len(flow))
            if np.isfinite(npshr).sum() < LEAST_POINTS:
                raise CurveTooShort(points=int(np.isfinite(npshr).sum()), least=LEAST_POINTS)
        if head[-1] >= head[0]:
            raise CurveColumnsSwapped(first="flow", second="head")
        if not (efficiency > 0.0).any():
            raise CurveColumnsSwapped(first="efficiency", second="flow")
        object.__setattr__(self, "flow_m3s", flow)
        object.__setattr__(self, "head_m", head)
        object.__setattr__(self, "efficiency", efficiency)
        object.__setattr__(self, "npshr_m", npshr)
        positive(self.speed_rpm, "speed", "rev/min", SPEED_CEILING_RPM)
        positive(self.diameter_mm, "impeller diameter", "mm", DIAMETER_CEILING_MM)

    def _same_length(self, name: str, length: int, expected: int) -> None:
        if length != expected:
            raise CurveUneven(column=name, length=length, expected=expected)

    def _refuse_swapped_columns(self, expected: int) -> None:
        """Head and efficiency exchanged show before either fails its own bound."""
        head = np.array(self.head_m, dtype=np.float64).ravel()
        efficiency = np.array(self.efficiency, dtype=np.float64).ravel()
        self._same_length("head", len(head), expected)
        self._same_length("efficiency", len(efficiency), expected)
        if (
            np.isfinite(efficiency).all()
            and (head >= 0.0).all()
            and (head < 1.0).all()
            and efficiency.max() > 1.0
        ):
            raise CurveColumnsSwapped(first="head", second="efficiency")


@dataclass(frozen=True, eq=False, kw_only=True)
class PumpCurve:
    """Shape-preserving curves of head, efficiency and NPSH required, within their range only.

    head_fit : head against flow [m]
    efficiency_fit : efficiency against flow, over the same range [-]
    npshr_fit : NPSH required against flow over the flows it was measured at; None when not [m]
    speed_rpm : > 0 [rev/min]
    diameter_mm : > 0 [mm]
    """

    head_fit: Cubic
    efficiency_fit: Cubic
    npshr_fit: Cubic | None
    speed_rpm: float
    diameter_mm: float

    @classmethod
    def through(cls, points: CurvePoints) -> "PumpCurve":
        """Draw the curves through a test's points.

        points : one test
        returns : the curve
        """
        npshr = None
        if points.npshr_m is not None:
            known = np.isfinite(points.npshr_m)
            npshr = Cubic.through(points.flow_m3s[known], points.npshr_m[known])
        return cls(
            head_fit=Cubic.through(points.flow_m3s, points.head_m),
            efficiency_fit=Cubic.through(points.flow_m3s, points.efficiency, peaked=True),
            npshr_fit=npshr,
            speed_rpm=points.speed_rpm,
            diameter_mm=points.diameter_mm,
        )

    @property
    def flow_low_m3s(self) -> float:
        """Start of the tested range [m3/s]."""
        return self.head_fit.low

    @property
    def flow_high_m3s(self) -> float:
        """End of the tested range, the run-out limit [m3/s]."""
        return self.head_fit.high

    def _within(self, cubic: Cubic, flow_m3s: Floats | float, quantity: str) -> Floats:
        flow = np.asarray(flow_m3s, dtype=np.float64)
        # A solver may step past an end by rounding; that is the end, not an extrapolation.
        hair = 1e-12 * (cubic.high - cubic.low)
        outside = ~((flow >= cubic.low - hair) & (flow <= cubic.high + hair))
        if outside.any():
            raise OutsideCurve(
                quantity=quantity,
                flow_m3s=float(np.atleast_1d(flow)[np.argmax(np.atleast_1d(outside))]),
                low_m3s=cubic.low,
                high_m3s=cubic.high,
            )
        return np.clip(flow, cubic.low, cubic.high)

    def head(self, flow_m3s: Floats | float) -> Floats:
        """Head at flows within the tested range.

        flow_m3s : any shape [m3/s]
        returns : same shape [m]
        raises : OutsideCurve
        """
        return self.head_fit(self._within(self.head_fit, flow_m3s, "head"))

    def head_slope(self, flow_m3s: Floats | float) -> Floats:
        """Slope of the head curve, negative where it falls.

        flow_m3s : any shape [m3/s]
        returns : same shape [m/(m3/s)]
        raises : OutsideCurve
        """
        return self.head_fit.slope(self._within(self.head_fit, flow_m3s, "head's slope"))

    def efficiency(self, flow_m3s: Floats | float) -> Floats:
        """Efficiency at flows within the tested range.

        flow_m3s : any shape [m3/s]
        returns : same shape [-]
        raises : OutsideCurve
        """
        return self.efficiency_fit(self._within(self.efficiency_fit, flow_m3s, "efficiency"))

    def npshr(self, flow_m3s: Floats | float) -> Floats:
        """NPSH required; NaN where it was not measured.

        flow_m3s : any shape [m3/s]
        returns : same shape [m]
        """
        flow = np.asarray(flow_m3s, dtype=np.float64)
        return np.full_like(flow, np.nan) if self.npshr_fit is None else self.npshr_fit(flow)

    def power(self, flow_m3s: Floats | float, density_kg_m3: float = 1000.0) -> Floats:
        """Shaft power from head and efficiency; at nought efficiency see `least_power_flow`.

        flow_m3s : any shape [m3/s]
        density_kg_m3 : > 0 [kg/m3]
        returns : same shape; NaN where efficiency is nought [W]
        raises : OutsideCurve, OutOfBounds
        source : HI Engineering Data, shaft power, with g = 9.80665 m/s2
        """
        positive(density_kg_m3, "density", "kg/m3", 5000.0)
        flow = np.asarray(flow_m3s, dtype=np.float64)
        return shaft_power(flow, self.head(flow), self.efficiency(flow), density_kg_m3)

    @cached_property
    def least_power_flow_m3s(self) -> float:
        """Lowest flow at which power is worth quoting: 15 % of best-efficiency flow [m3/s].

        Below it efficiency is small and its error large; common practice is to read power
        there from the test's own power readings, not from head and efficiency.
        """
        return max(self.flow_low_m3s, 0.15 * self.bep_flow_m3s)

    def power_max(self, density_kg_m3: float = 1000.0, samples: int = 200) -> tuple[float, float]:
        """Highest shaft power from `least_power_flow_m3s` to the end of the range.

        density_kg_m3 : > 0 [kg/m3]
        samples : how finely the range is searched [-]
        returns : flow there, power [m3/s, W]
        """
        flow = np.linspace(self.least_power_flow_m3s, self.flow_high_m3s, samples)
        power = self.power(flow, density_kg_m3)
        at = int(np.nanargmax(power))
        return float(flow[at]), float(power[at])

    @cached_property
    def _best(self) -> tuple[float, float]:
        return self.efficiency_fit.peak()

    @property
    def bep_flow_m3s(self) -> float:
        """Flow at best efficiency [m3/s]."""
        return self._best[0]

    @property
    def bep_efficiency(self) -> float:
        """Best efficiency [-]."""
        return self._best[1]

    @property
    def bep_head_m(self) -> float:
        """Head at best efficiency [m]."""
        return float(self.head_fit(self.bep_flow_m3s))

    @property
    def shutoff_tested(self) -> bool:
        """The test reached the closed valve (within 2 % of the range's end)."""
        return self.flow_low_m3s <= 0.02 * self.flow_high_m3s

    @property
    def shutoff_head_m(self) -> float:
        """Head at the closed valve; when not tested, a parabola level at nought flow [m]."""
        first = self.flow_low_m3s
        slope = float(self.head_fit.slopes[0])
        return float(self.head_fit.values[0]) + max(0.0, -slope) * first / 2.0

    @property
    def head_max_m(self) -> float:
        """Highest head on the curve, shut-off included [m]."""
        return max(self.shutoff_head_m, float(self.head_fit.values.max()))

    @property
    def stable(self) -> bool:
        """Head falls all the way from shut-off to the end of the range."""
        return bool((np.diff(self.head_fit.values) < 0.0).all())


@dataclass(frozen=True, kw_only=True)
class QuadraticHead:
    """A head curve given by coefficients: h = a + b·q + c·q².

    shutoff_m : a, > 0 [m]
    linear : b [m/(m3/s)]
    quadratic : c [m/(m3/s)2]
    flow_low_m3s, flow_high_m3s : range it holds over [m3/s]
    """

    shutoff_m: float
    linear: float = 0.0
    quadratic: float
    flow_low_m3s: float = 0.0
    flow_high_m3s: float

    def __post_init__(self) -> None:
        positive(self.shutoff_m, "shut-off head", "m", HEAD_CEILING_M)
        positive(self.flow_high_m3s, "end of the flow range", "m3/s", FLOW_CEILING_M3S)

    def head(self, flow_m3s: Floats | float) -> Floats:
        """Head at flows.

        flow_m3s : any shape [m3/s]
        returns : same shape [m]
        """
        q = np.asarray(flow_m3s, dtype=np.float64)
        return np.asarray(self.shutoff_m + q * (self.linear + self.quadratic * q))


def shaft_power(
    flow_m3s: Floats | float,
    head_m: Floats | float,
    efficiency: Floats | float,
    density_kg_m3: Floats | float = 1000.0,
) -> Floats:
    """Shaft power of a pump.

    flow_m3s : any shape, >= 0 [m3/s]
    head_m : same shape [m]
    efficiency : same shape; NaN comes back where it is nought [-]
    density_kg_m3 : > 0 [kg/m3]
    returns : same shape [W]
    source : HI Engineering Data, P = rho g Q H / eta
    """
    efficiency = np.asarray(efficiency, dtype=np.float64)
    known = efficiency > 0.0
    hydraulic = np.multiply(density_kg_m3, GRAVITY) * np.multiply(flow_m3s, head_m)
    return np.where(known, hydraulic / np.where(known, efficiency, 1.0), np.nan)
