"""Speed law and trim law, and what tests at several diameters teach about the second.

Speed: flow with speed, head with its square. Trim: flow with a power of the diameter, head with
another; where tests at two or more diameters exist the powers are learned from them, otherwise
the practice values hold and the law says so.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

import numpy as np

from selection.hydraulics.curves import CurvePoints, PumpCurve
from selection.hydraulics.door import (
    DIAMETER_CEILING_MM,
    SPEED_CEILING_RPM,
    Bools,
    Certainty,
    Floats,
    Ints,
    number,
    positive,
)
from selection.hydraulics.errors import DisagreeingTests, NothingGiven
from selection.hydraulics.many import Cubics

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


def efficiency_at_speed(efficiency: float, ratio: float, exponent: float = 0.1) -> float:
    """Best efficiency at another speed, by the loss that friction leaves.

    efficiency : best, at the tested speed, above 0 to below 1 [-]
    ratio : wanted speed over tested speed, > 0 [-]
    exponent : of the correction, 0 to 0.3; 0 leaves the efficiency [-]
    returns : best efficiency at the wanted speed [-]
    raises : OutOfBounds
    source : Moody's form 1-eta' = (1-eta)·(n/n')^x, x about 0.1 to 0.2, from memory
    """
    number(efficiency, "best efficiency", "-", 0.01, 0.999)
    number(ratio, "ratio of speeds", "-", 0.05, 20.0)
    number(exponent, "exponent of the speed correction", "-", 0.0, 0.3)
    return float(max(0.01, 1.0 - (1.0 - efficiency) * ratio**-exponent))


def at_speed(curve: PumpCurve, speed_rpm: float, efficiency_exponent: float = 0.0) -> PumpCurve:
    """Bring a curve to another speed.

    curve : at its own speed
    speed_rpm : wanted, > 0 [rev/min]
    efficiency_exponent : of `efficiency_at_speed`; 0 leaves efficiency unchanged, as the plain
        affinity laws do; otherwise the whole curve moves with its best point [-]
    returns : flow with speed, head and NPSH required with its square
    raises : OutOfBounds
    source : HI Engineering Data, 1.B.6
    """
    positive(speed_rpm, "speed", "rev/min", SPEED_CEILING_RPM)
    ratio = speed_rpm / curve.speed_rpm
    kept = 1.0
    if efficiency_exponent:
        best = curve.bep_efficiency
        kept = efficiency_at_speed(best, ratio, efficiency_exponent) / best
    npshr = curve.npshr_fit
    return replace(
        curve,
        head_fit=curve.head_fit.scaled(ratio, ratio**2),
        efficiency_fit=curve.efficiency_fit.scaled(ratio, kept),
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
    if len(tests) == 1:
        return otherwise
    speed = tests[0].speed_rpm
    curves = [at_speed(PumpCurve.through(test), speed) for test in tests]
    lesson = learn_many(
        Cubics.stack([curve.head_fit for curve in curves]),
        Cubics.stack([curve.efficiency_fit for curve in curves]),
        np.array([curve.diameter_mm for curve in curves]),
        np.zeros(1, dtype=np.intp),
    )
    return lesson.law(0, otherwise)


@dataclass(frozen=True, eq=False, kw_only=True)
class Lessons:
    """What the tests of many impellers teach, one a place.

    flow_exponent, head_exponent, efficiency_loss : (m,) [-]
    tests : (m,) how many [-]
    least_mm, most_mm : (m,) tested diameters [mm]
    teaches : (m,) diameters lie apart, flows overlap, exponents are plausible
    plausible : (m,) the exponents are plausible
    """

    flow_exponent: Floats
    head_exponent: Floats
    efficiency_loss: Floats
    tests: Ints
    least_mm: Floats
    most_mm: Floats
    teaches: Bools
    plausible: Bools

    def law(self, at: int, otherwise: TrimLaw) -> TrimLaw:
        """Give one impeller's law in words and figures.

        at : place of the impeller [-]
        otherwise : law used when its tests teach nothing
        returns : the law
        """
        flow, head = float(self.flow_exponent[at]), float(self.head_exponent[at])
        powers = f"flow with D^{flow:.2f}, head with D^{head:.2f}"
        if not self.teaches[at]:
            if self.tests[at] > 1 and not self.plausible[at]:
                source = f"{otherwise.source}; the tests would give {powers}: not plausible"
                return replace(otherwise, source=source)
            return otherwise
        return TrimLaw(
            flow_exponent=flow,
            head_exponent=head,
            efficiency_loss=float(self.efficiency_loss[at]),
            learned=True,
            tests=int(self.tests[at]),
            source=(
                f"{self.tests[at]} tests between {self.least_mm[at]:.0f} and "
                f"{self.most_mm[at]:.0f} mm: {powers}"
            ),
            certainty=Certainty.CONFIRMED,
        )


def learn_many(head: Cubics, efficiency: Cubics, diameter_mm: Floats, first: Ints) -> Lessons:
    """Learn trim exponents of many impellers at once.

    head, efficiency : (c,) curves, each impeller's tests together and at one speed
    diameter_mm : (c,) of the tests [mm]
    first : (m,) where each impeller's tests start, rising from nought [-]
    returns : what each impeller's tests teach
    source : least squares of logarithms; assumption made here: power law between diameters
    """
    tests = np.diff(np.append(first, len(diameter_mm)))
    bep, eta = efficiency.peaks()
    low = np.maximum(0.5, np.maximum.reduceat(head.low / bep, first))
    high = np.minimum(1.2, np.minimum.reduceat(head.high / bep, first))
    overlap = high > low
    shares = np.repeat(low, tests), np.repeat(np.where(overlap, high, low), tests)
    log_h = np.mean(
        [
            np.log(np.maximum(head.held(bep * (shares[0] + t * (shares[1] - shares[0]))), 1e-9))
            for t in np.linspace(0.0, 1.0, 15)
        ],
        axis=0,
    )
    most = np.maximum.reduceat(diameter_mm, first)
    least = np.minimum.reduceat(diameter_mm, first)
    apart = most / least - 1.0 >= LEAST_SPREAD
    log_d = np.log(diameter_mm)
    flow_exponent, _ = _lines(log_d, np.log(bep), first, tests, apart)
    head_exponent, _ = _lines(log_d, log_h, first, tests, apart)
    slope, level = _lines(diameter_mm / np.repeat(most, tests), eta, first, tests, apart)
    plausible = (
        (flow_exponent >= FLOW_EXPONENTS[0])
        & (flow_exponent <= FLOW_EXPONENTS[1])
        & (head_exponent >= HEAD_EXPONENTS[0])
        & (head_exponent <= HEAD_EXPONENTS[1])
    )
    return Lessons(
        flow_exponent=flow_exponent,
        head_exponent=head_exponent,
        efficiency_loss=np.clip(slope / np.where(apart, slope + level, 1.0), -0.5, 0.8),
        tests=tests,
        least_mm=least,
        most_mm=most,
        teaches=apart & overlap & plausible,
        plausible=plausible | ~apart,
    )


def _lines(x: Floats, y: Floats, first: Ints, tests: Ints, apart: Bools) -> tuple[Floats, Floats]:
    """Slope and level of the least-squares line of each group of tests."""
    mean_x, mean_y = np.add.reduceat(x, first) / tests, np.add.reduceat(y, first) / tests
    dx, dy = x - np.repeat(mean_x, tests), y - np.repeat(mean_y, tests)
    across = np.add.reduceat(dx * dx, first)
    slope = np.add.reduceat(dx * dy, first) / np.where(apart, across, 1.0)
    return slope, mean_y - slope * mean_x


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

    @cached_property
    def trim_law(self) -> TrimLaw:
        """The law in use: the stated one or the one learned from the tests."""
        return self.law if self.law is not None else learn_law(self.tests)

    @cached_property
    def _by_size(self) -> tuple[PumpCurve, ...]:
        curves = sorted(map(PumpCurve.through, self.tests), key=lambda curve: curve.diameter_mm)
        for small, large in pairwise(curves):
            if np.isclose(small.diameter_mm, large.diameter_mm, rtol=1e-9):
                raise DisagreeingTests(reason="two of them are at one diameter; merge them first")
        return tuple(curves)

    def curve_at(self, diameter_mm: float, speed_rpm: float) -> PumpCurve:
        """Give the curve at a diameter and speed.

        diameter_mm : > 0 [mm]
        speed_rpm : > 0 [rev/min]
        returns : the curve
        raises : OutOfBounds, DisagreeingTests
        """
        sizes = [curve.diameter_mm for curve in self._by_size]
        at = int(np.searchsorted(sizes, diameter_mm, side="right"))
        near = self._by_size[max(0, at - 1) : at + 1]
        carried = [
            trimmed(at_speed(curve, speed_rpm), diameter_mm, self.trim_law) for curve in near
        ]
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
        raise DisagreeingTests(
            reason="they must be brought to one speed and diameter before mixing"
        )
    npshr = None
    if first.npshr_fit is not None and second.npshr_fit is not None:
        npshr = first.npshr_fit.mixed(second.npshr_fit, share)
    return replace(
        first,
        head_fit=first.head_fit.mixed(second.head_fit, share),
        efficiency_fit=first.efficiency_fit.mixed(second.efficiency_fit, share),
        npshr_fit=npshr,
    )
