"""What tests on the works' own bed teach about an impeller's catalogue curve.

Each as-tested curve is held to the catalogue's curve at the same diameter and speed. Their mean
moves the fit, their scatter gives the confidence band and the chance of meeting a guarantee;
with few tests both lean on the works' usual scatter, and say so.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import stdtrit

from selection.hydraulics.affinity import ImpellerFamily, learn_law, points_at_speed
from selection.hydraulics.catalogue import CatalogueImpeller
from selection.hydraulics.curves import CurvePoints, PumpCurve
from selection.hydraulics.door import Certainty, Floats, number
from selection.hydraulics.errors import DisagreeingTests, NothingGiven

SHARES = np.linspace(0.6, 1.2, 13)  # of best-efficiency flow: where curves are compared


@dataclass(frozen=True, kw_only=True)
class UsualScatter:
    """Scatter of as-tested curves about the catalogue's before an impeller has shown its own.

    head : standard deviation of the head ratio [-]
    efficiency : standard deviation of the efficiency ratio [-]
    weight : how many tests this knowledge is worth [-]
    source : in words
    certainty : how sure
    """

    head: float = 0.02
    efficiency: float = 0.015
    weight: float = 3.0
    source: str = "works' setting: 2 % on head, 1.5 % on efficiency, worth three tests"
    certainty: Certainty = Certainty.PRACTICE

    def __post_init__(self) -> None:
        number(self.head, "usual scatter of head", "-", 1e-4, 0.2)
        number(self.efficiency, "usual scatter of efficiency", "-", 1e-4, 0.2)
        number(self.weight, "weight of the usual scatter", "-", 0.0, 100.0)


USUAL_SCATTER = UsualScatter()


@dataclass(frozen=True, eq=False, kw_only=True)
class Deviation:
    """One as-tested curve against the catalogue's, at its own diameter and speed.

    serial, tested_on : of the test
    diameter_mm, speed_rpm : of the test [mm], [rev/min]
    share : (k,) flows compared, as shares of the catalogue's best-efficiency flow; only those
        that both cover [-]
    head_ratio, efficiency_ratio : (k,) tested over catalogue [-]
    """

    serial: str
    tested_on: str
    diameter_mm: float
    speed_rpm: float
    share: Floats
    head_ratio: Floats
    efficiency_ratio: Floats

    @property
    def head(self) -> float:
        """Mean head ratio over the flows compared [-]."""
        return float(self.head_ratio.mean())

    @property
    def efficiency(self) -> float:
        """Mean efficiency ratio over the flows compared [-]."""
        return float(self.efficiency_ratio.mean())


def deviation(family: ImpellerFamily, test: CurvePoints) -> Deviation:
    """Hold an as-tested curve to the catalogue's.

    family : the catalogue's curves
    test : as tested, at any diameter and speed
    returns : ratios over the flows that both cover
    raises : DisagreeingTests where they share no flows around best efficiency
    """
    catalogue = family.curve_at(test.diameter_mm, test.speed_rpm)
    tested = PumpCurve.through(test)
    flow = SHARES * catalogue.bep_flow_m3s
    low = max(catalogue.flow_low_m3s, tested.flow_low_m3s)
    high = min(catalogue.flow_high_m3s, tested.flow_high_m3s)
    both = (flow >= low) & (flow <= high)
    if np.count_nonzero(both) < 3:
        raise DisagreeingTests(
            reason=f"test {test.serial or test.tested_on or 'without a serial'} covers fewer than "
            "three flows between 60 and 120 % of best efficiency"
        )
    flow = flow[both]
    return Deviation(
        serial=test.serial,
        tested_on=test.tested_on,
        diameter_mm=test.diameter_mm,
        speed_rpm=test.speed_rpm,
        share=SHARES[both],
        head_ratio=tested.head(flow) / catalogue.head(flow),
        efficiency_ratio=tested.efficiency(flow) / catalogue.efficiency(flow),
    )


def drift(family: ImpellerFamily, tests: Sequence[CurvePoints]) -> tuple[Deviation, ...]:
    """Hold as-tested curves to the catalogue's, by date.

    family : the catalogue's curves
    tests : as tested
    returns : a deviation a test, oldest first; undated ones before dated ones
    raises : DisagreeingTests
    """
    return tuple(
        deviation(family, test)
        for test in sorted(tests, key=lambda test: (test.tested_on, test.serial))
    )


@dataclass(frozen=True, kw_only=True)
class Scatter:
    """How as-tested curves lie about the catalogue's.

    tests : how many [-]
    head_mean, efficiency_mean : mean ratios, drawn towards 1 by the usual scatter's weight [-]
    head_sd, efficiency_sd : standard deviations of a pump's ratios about the mean, pooled with
        the usual scatter [-]
    correlation : between head and efficiency ratios; 0 with fewer than four tests [-]
    degrees : of freedom behind the standard deviations [-]
    sentence : what a page says
    """

    tests: int
    head_mean: float
    efficiency_mean: float
    head_sd: float
    efficiency_sd: float
    correlation: float
    degrees: float
    sentence: str


def scatter(deviations: Sequence[Deviation], usual: UsualScatter = USUAL_SCATTER) -> Scatter:
    """Sum up as-tested curves against the catalogue's.

    deviations : any number, even none
    usual : scatter leaned on while tests are few
    returns : means and standard deviations of a next pump's ratios
    source : conjugate normal: mean and variance pooled with the usual scatter's weight
    """
    count = len(deviations)
    heads = np.array([deviation.head for deviation in deviations])
    etas = np.array([deviation.efficiency for deviation in deviations])
    head_mean, head_sd = _pooled(heads, usual.head, usual.weight)
    eta_mean, eta_sd = _pooled(etas, usual.efficiency, usual.weight)
    correlation = 0.0
    if count >= 4 and heads.std() > 0.0 and etas.std() > 0.0:
        correlation = float(np.clip(np.corrcoef(heads, etas)[0, 1], -0.95, 0.95))
    lean = f"; leans on the usual scatter ({usual.source})" if count < 10 else ""
    told = "No unit of this impeller was tested yet" if count == 0 else (
        f"{count} tested: head {head_mean - 1.0:+.1%} ± {head_sd:.1%}, efficiency "
        f"{eta_mean - 1.0:+.1%} ± {eta_sd:.1%} of the catalogue's"
    )  # fmt: skip
    return Scatter(
        tests=count,
        head_mean=head_mean,
        efficiency_mean=eta_mean,
        head_sd=head_sd,
        efficiency_sd=eta_sd,
        correlation=correlation,
        degrees=usual.weight + max(count - 1, 0),
        sentence=f"{told}{lean}.",
    )


def _pooled(ratios: Floats, usual_sd: float, weight: float) -> tuple[float, float]:
    count = len(ratios)
    if count == 0:
        return 1.0, usual_sd
    mean = float((weight * 1.0 + ratios.sum()) / (weight + count))
    squares = float(((ratios - ratios.mean()) ** 2).sum())
    degrees = weight + count - 1
    if degrees <= 0.0:
        return mean, usual_sd
    return mean, float(np.sqrt((weight * usual_sd**2 + squares) / degrees))


@dataclass(frozen=True, eq=False, kw_only=True)
class ConfidenceBand:
    """Where a next pump's head curve will lie, by the tests so far.

    flow_m3s : (n,) [m3/s]
    head_m : (n,) expected [m]
    head_low_m, head_high_m : (n,) [m]
    efficiency : (n,) expected [-]
    efficiency_low, efficiency_high : (n,) [-]
    level : share of next pumps inside [-]
    tests : how many tests stand behind it [-]
    """

    flow_m3s: Floats
    head_m: Floats
    head_low_m: Floats
    head_high_m: Floats
    efficiency: Floats
    efficiency_low: Floats
    efficiency_high: Floats
    level: float
    tests: int


def confidence_band(
    curve: PumpCurve, known: Scatter, level: float = 0.9, samples: int = 61
) -> ConfidenceBand:
    """Give the band in which a next pump's curve is expected.

    curve : the catalogue's, at the diameter and speed
    known : from `scatter`
    level : share of next pumps inside, 0.5 to 0.999 [-]
    samples : flows in the band, >= 11 [-]
    returns : the band
    raises : OutOfBounds
    source : prediction interval, Student's t with the scatter's degrees of freedom
    """
    number(level, "level of the band", "-", 0.5, 0.999)
    number(samples, "number of samples", "-", 11, 2000)
    flow = np.linspace(curve.flow_low_m3s, curve.flow_high_m3s, samples)
    reach = float(stdtrit(max(known.degrees, 1.0), 0.5 + level / 2.0))
    spread = reach * np.sqrt(1.0 + 1.0 / (known.tests + 1.0))
    head = curve.head(flow) * known.head_mean
    eta = curve.efficiency(flow) * known.efficiency_mean
    return ConfidenceBand(
        flow_m3s=flow,
        head_m=head,
        head_low_m=head * (1.0 - spread * known.head_sd),
        head_high_m=head * (1.0 + spread * known.head_sd),
        efficiency=eta,
        efficiency_low=np.maximum(eta * (1.0 - spread * known.efficiency_sd), 0.0),
        efficiency_high=np.minimum(eta * (1.0 + spread * known.efficiency_sd), 0.999),
        level=level,
        tests=known.tests,
    )


def with_tests(
    impeller: CatalogueImpeller,
    tests: Sequence[CurvePoints],
    usual: UsualScatter = USUAL_SCATTER,
) -> CatalogueImpeller:
    """Move a catalogue impeller's curves to where its tested units lie.

    Head and efficiency are multiplied by the mean ratios, drawn towards 1 while tests are few;
    the trim law is learned from catalogue and as-tested curves together unless it is stated.

    impeller : of the catalogue
    tests : as tested, any number, even none
    usual : scatter leaned on while tests are few
    returns : the impeller that searches should use
    raises : DisagreeingTests
    """
    if not tests:
        return impeller
    known = scatter(drift(impeller.family(), tests), usual)
    moved = tuple(
        replace(
            test,
            head_m=test.head_m * known.head_mean,
            efficiency=np.minimum(test.efficiency * known.efficiency_mean, 0.999),
        )
        for test in impeller.tests
    )
    law = impeller.law
    if law is None:
        law = learn_law((*impeller.tests, *tests), otherwise=impeller.trim_law)
    return replace(impeller, tests=moved, law=law)


def merged(tests: Sequence[CurvePoints]) -> CurvePoints:
    """Join tests of one diameter, perhaps at several speeds, into one curve.

    tests : at least one, all at one diameter within 0.1 %
    returns : the mean curve at the first test's speed, over the flows that all cover
    raises : NothingGiven, DisagreeingTests
    source : mean of the fits at the first test's flows
    """
    if not tests:
        raise NothingGiven(what="test to merge")
    first = tests[0]
    if any(abs(test.diameter_mm / first.diameter_mm - 1.0) > 1e-3 for test in tests):
        raise DisagreeingTests(reason="their diameters differ by more than 0.1 %")
    curves = [PumpCurve.through(points_at_speed(test, first.speed_rpm)) for test in tests]
    low = max(curve.flow_low_m3s for curve in curves)
    high = min(curve.flow_high_m3s for curve in curves)
    inner = first.flow_m3s[(first.flow_m3s > low) & (first.flow_m3s < high)]
    flow = np.concatenate([[low], inner, [high]])
    if low >= high or len(flow) < 4:
        raise DisagreeingTests(reason="they share fewer than four flows")
    known = np.array([curve.npshr(flow) for curve in curves])
    counts = np.count_nonzero(np.isfinite(known), axis=0)
    npshr = np.where(counts > 0, np.nansum(known, axis=0) / np.maximum(counts, 1), np.nan)
    return replace(
        first,
        flow_m3s=flow,
        head_m=np.mean([curve.head(flow) for curve in curves], axis=0),
        efficiency=np.mean([curve.efficiency(flow) for curve in curves], axis=0),
        npshr_m=npshr if np.count_nonzero(counts) >= 4 else None,
    )
