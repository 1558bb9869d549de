"""Speed law and trim law, and what tests at several diameters teach about the second.

Speed: flow with speed, head with its square. Trim: flow with a power of the diameter, head with
another; where tests at two or more diameters exist the powers are learned from them, otherwise
the practice values hold and the law says so.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from selection.hydraulics.curves import CurvePoints, PumpCurve
from selection.hydraulics.door import (
    DIAMETER_CEILING_MM,
    SPEED_CEILING_RPM,
    Certainty,
    Floats,
    number,
    positive,
)
from selection.hydraulics.errors import NothingGiven, DisagreeingTests

LEAST_SPREAD = 0.02  # two diameters nearer than this teach nothing about the exponent
FLOW_EXPONENTS = (0.3, 3.0)
HEAD_EXPONENTS = (1.5, 4.0)


@dataclass(frozen=True, kw_only=True)
class TrimLaw:
    """How a curve moves when the impeller is turned down.

    flow_exponent : flow varies with this power of diameter [-]
    head_exponent : head varies with this power of diameter [-]
    efficiency_loss : share of efficiency lost for the whole diameter, i.e. times 1 - d/D [-]
    learned : from tests at two or more diameters
    tests : how many tests taught it [-]
    source : in words, for the screen
    certainty : how sure
    """

    flow_exponent: float = 1.0
    head_exponent: float = 2.0
    efficiency_loss: float = 0.0
    learned: bool = False
    tests: int = 1
    source: str = "practice value: flow with diameter, head with its square (HI, limited trims)"
    certainty: Certainty = Certainty.CONFIRMED

    def __post_init__(self) -> None:
        number(self.flow_exponent, "trim law's flow exponent", "-", *FLOW_EXPONENTS)
        number(self.head_exponent, "trim law's head exponent", "-", *HEAD_EXPONENTS)
        number(self.efficiency_loss, "trim law's efficiency loss", "-", -1.0, 1.0)

    @property
    def sentence(self) -> str:
        """What the screen says about where the law comes from."""
        return f"Trim law learned from {self.source}." if self.learned else f"{self.source}."


PRACTICE = TrimLaw()


def points_at_speed(points: CurvePoints, speed_rpm: float) -> CurvePoints:
    """Bring tested points to another speed.

    points : as tested
    speed_rpm : wanted, > 0 [rev/min]
    returns : flow with speed, head and NPSH required with its square, efficiency unchanged
    raises : OutOfBounds
    source : HI Engineering Data, 1.B.6
    """
    positive(speed_rpm, "speed", "rev/min", SPEED_CEILING_RPM)
    ratio = speed_rpm / points.speed_rpm
    return replace(
        points,
        flow_m3s=points.flow_m3s * ratio,
        head_m=points.head_m * ratio**2,
        npshr_m=None if points.npshr_m is None else points.npshr_m * ratio**2,
        speed_rpm=float(speed_rpm),
    )


def at_speed(curve: PumpCurve, speed_rpm: float) -> PumpCurve:
    """Bring a curve to another speed; see `viscosity.efficiency_at_speed` for the correction.

    curve : at its own speed
    speed_rpm : wanted, > 0 [rev/min]
    returns : flow with speed, head and NPSH required with its square, efficiency unchanged
    raises : OutOfBounds
    source : HI Engineering Data, 1.B.6
    """
    positive(speed_rpm, "speed", "rev/min", SPEED_CEILING_RPM)
    ratio = speed_rpm / curve.speed_rpm
    npshr = curve.npshr_fit
    return replace(
        curve,
        head_fit=curve.head_fit.scaled(ratio, ratio**2),
        efficiency_fit=curve.efficiency_fit.scaled(ratio, 1.0),
        npshr_fit=None if npshr is None else npshr.scaled(ratio, ratio**2),
        speed_rpm=float(speed_rpm),
    )


def trimmed(curve: PumpCurve, diameter_mm: float, law: TrimLaw = PRACTICE) -> PumpCurve:
    """Bring a curve to another diameter at the same speed.

    NPSH required stays as it was at the same flow, for the eye is not touched.

    curve : at its own diameter
    diameter_mm : wanted, > 0 [mm]
    law : exponents and efficiency loss
    returns : the curve at that diameter
    raises : OutOfBounds
    source : HI Engineering Data, 1.B.7, exponents by the law
    """
    positive(diameter_mm, "impeller diameter", "mm", DIAMETER_CEILING_MM)
    ratio = diameter_mm / curve.diameter_mm
    flow_ratio = ratio**law.flow_exponent
    return replace(
        curve,
        head_fit=curve.head_fit.scaled(flow_ratio, ratio**law.head_exponent),
        efficiency_fit=curve.efficiency_fit.scaled(
            flow_ratio, 1.0 - law.efficiency_loss * (1.0 - ratio)
        ),
        diameter_mm=float(diameter_mm),
    )


def diameter_for(
    full_mm: float, head_full_m: float, head_wanted_m: float, law: TrimLaw = PRACTICE
) -> float:
    """Diameter that brings a head down by the trim law, at matched flows.

    full_mm : > 0 [mm]
    head_full_m : at the full diameter, > 0 [m]
    head_wanted_m : > 0, not above head_full_m [m]
    law : exponents
    returns : diameter [mm]
    raises : OutOfBounds
    source : HI Engineering Data, 1.B.7
    """
    positive(full_mm, "full diameter", "mm", DIAMETER_CEILING_MM)
    positive(head_full_m, "head at full diameter", "m")
    positive(head_wanted_m, "head wanted", "m", head_full_m)
    return float(full_mm * (head_wanted_m / head_full_m) ** (1.0 / law.head_exponent))


def practice_law(n_q_per_eye: float) -> TrimLaw:
    """Practice exponents with the efficiency a trim usually costs.

    n_q_per_eye : at best efficiency, full diameter, > 0 [rev/min, m3/s, m]
    returns : HI's exponents; 0.15 points lost a per cent of trim at n_q 20, 0.25 at 40
    source : Gülich, Centrifugal Pumps, from memory
    """
    positive(n_q_per_eye, "specific speed", "-", 500.0)
    loss = float(np.interp(n_q_per_eye, [20.0, 40.0], [0.15, 0.25]))
    return TrimLaw(
        efficiency_loss=loss,
        source=(
            "practice value: flow with diameter, head with its square (HI); "
            f"{loss:.2f} of efficiency lost for each share of diameter turned off (from memory)"
        ),
        certainty=Certainty.MEMORY,
    )


def learn_law(tests: Sequence[CurvePoints], otherwise: TrimLaw = PRACTICE) -> TrimLaw:
    """Learn the trim exponents from tests at two or more diameters.

    Tests are brought to one speed; best-efficiency flow, and head at like shares of it, are
    fitted as powers of the diameter by least squares of logarithms.

    tests : of one impeller, at least one
    otherwise : law used when the tests teach nothing
    returns : the learned law, or `otherwise` with the reason in its source
    raises : NothingGiven
    source : assumption made here: power law between tested diameters
    """
    if not tests:
        raise NothingGiven(what="test of the impeller")
    speed = tests[0].speed_rpm
    curves = [at_speed(PumpCurve.through(test), speed) for test in tests]
    diameter = np.array([curve.diameter_mm for curve in curves])
    spread = float(diameter.max() / diameter.min() - 1.0)
    if spread < LEAST_SPREAD:
        return otherwise
    shares = _shared_range(curves)
    log_d = np.log(diameter)
    log_q = np.log([curve.bep_flow_m3s for curve in curves])
    log_h = np.array([np.mean(np.log(curve.head(shares * curve.bep_flow_m3s))) for curve in curves])
    eta = np.array([curve.bep_efficiency for curve in curves])
    flow_exponent = float(np.polyfit(log_d, log_q, 1)[0])
    head_exponent = float(np.polyfit(log_d, log_h, 1)[0])
    slope, level = np.polyfit(diameter / diameter.max(), eta, 1)
    if not (
        FLOW_EXPONENTS[0] <= flow_exponent <= FLOW_EXPONENTS[1]
        and HEAD_EXPONENTS[0] <= head_exponent <= HEAD_EXPONENTS[1]
    ):
        return replace(
            otherwise,
            source=(
                f"{otherwise.source}; the tests would give flow with D^{flow_exponent:.2f} and "
                f"head with D^{head_exponent:.2f}, which is not plausible"
            ),
        )
    return TrimLaw(
        flow_exponent=flow_exponent,
        head_exponent=head_exponent,
        efficiency_loss=float(np.clip(slope / (slope + level), -0.5, 0.8)),
        learned=True,
        tests=len(tests),
        source=(
            f"{len(tests)} tests between {diameter.min():.0f} and {diameter.max():.0f} mm: "
            f"flow with D^{flow_exponent:.2f}, head with D^{head_exponent:.2f}"
        ),
        certainty=Certainty.CONFIRMED,
    )


def _shared_range(curves: Sequence[PumpCurve]) -> Floats:
    """Shares of best-efficiency flow that every curve covers, the useful middle of them."""
    low = max(0.5, max(curve.flow_low_m3s / curve.bep_flow_m3s for curve in curves))
    high = min(1.2, min(curve.flow_high_m3s / curve.bep_flow_m3s for curve in curves))
    if high <= low:
        raise DisagreeingTests(reason="they share no flows around best efficiency")
    return np.linspace(low, high, 15)


@dataclass(frozen=True, eq=False, kw_only=True)
class ImpellerFamily:
    """One impeller with its tests, able to give its curve at any diameter between limits.

    Between two tested diameters each neighbour's curve is carried to the wanted diameter by
    the law and the two are blended by distance, so a tested curve is met exactly at its own
    diameter. Outside the tested diameters the nearest curve is carried by the law alone.

    tests : at least one
    law : trim law; None learns it
    """

    tests: tuple[CurvePoints, ...]
    law: TrimLaw | None = None

    def __post_init__(self) -> None:
        if not self.tests:
            raise NothingGiven(what="test of the impeller")

    def trim_law(self) -> TrimLaw:
        """Give the law in use: the stated one or the one learned from the tests."""
        return self.law if self.law is not None else learn_law(self.tests)

    def curve_at(self, diameter_mm: float, speed_rpm: float) -> PumpCurve:
        """Give the curve at a diameter and speed.

        diameter_mm : > 0 [mm]
        speed_rpm : > 0 [rev/min]
        returns : the curve
        raises : OutOfBounds
        """
        law = self.trim_law()
        by_size = sorted(self.tests, key=lambda test: test.diameter_mm)
        sizes = [test.diameter_mm for test in by_size]
        if any(np.isclose(a, b, rtol=1e-9) for a, b in pairwise(sizes)):
            raise DisagreeingTests(reason="two of them are at the same diameter; merge them first")
        at = int(np.searchsorted(sizes, diameter_mm, side="right"))
        near = [PumpCurve.through(test) for test in by_size[max(0, at - 1) : at + 1]]
        carried = [trimmed(at_speed(curve, speed_rpm), diameter_mm, law) for curve in near]
        if len(carried) == 1:
            return carried[0]
        share = (diameter_mm - near[0].diameter_mm) / (near[1].diameter_mm - near[0].diameter_mm)
        return blend(carried[0], carried[1], share)


def blend(first: PumpCurve, second: PumpCurve, share: float) -> PumpCurve:
    """Mix two curves brought to one speed and diameter, over the flows that both cover.

    first, second : at the same speed and diameter
    share : of the second, 0 to 1 [-]
    returns : the mixed curve, piecewise cubic on the knots of both
    raises : DisagreeingTests, OutOfBounds
    """
    number(share, "share of the second curve", "-", 0.0, 1.0)
    same = np.isclose(first.speed_rpm, second.speed_rpm, rtol=1e-9)
    if not (same and np.isclose(first.diameter_mm, second.diameter_mm, rtol=1e-9)):
        raise DisagreeingTests(reason="they must be brought to one speed and diameter before mixing")
    npshr = None
    if first.npshr_fit is not None and second.npshr_fit is not None:
        npshr = first.npshr_fit.mixed(second.npshr_fit, share)
    return replace(
        first,
        head_fit=first.head_fit.mixed(second.head_fit, share),
        efficiency_fit=first.efficiency_fit.mixed(second.efficiency_fit, share),
        npshr_fit=npshr,
    )
