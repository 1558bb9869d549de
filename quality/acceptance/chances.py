"""Chances for the engineer, never for a certificate.

How likely a verdict is wrong follows from how unsure its deviations are; how likely a pump passes
at its first test follows from how far earlier tests lay from what had been predicted for them.
Both are drawn with a fixed seed, so that the same numbers give the same answer.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from quality.acceptance.errors import NotANumber, TooFewMeasurements
from quality.acceptance.evidence import Outcome
from quality.acceptance.grades import Tolerance, Tolerances
from quality.acceptance.propagation import QUANTITIES, DeviationUncertainty
from quality.acceptance.verdicts import CrossRule, PerformanceVerdict, Settings

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

DRAWS = 20_000
SEED = 9906
LEAST_TESTS = 5
"""Fewer earlier tests say too little about their scatter."""


@dataclass(frozen=True, kw_only=True)
class Chance:
    """A chance and how well it is known.

    value : 0 to 1 [-]
    error : standard error of the drawing [-]
    sentence : what it means and what it rests on
    """

    value: float
    error: float
    sentence: str


def chance_verdict_is_wrong(
    verdict: PerformanceVerdict, uncertainty: DeviationUncertainty
) -> Chance | None:
    """Chance that the pump itself lies on the other side of the limit than the verdict says.

    verdict : on the test
    uncertainty : of its deviations
    returns : the chance, None for a test that was not judged
    source : JCGM 106:2012, 9.3 (specific risk), nothing being known of the pump beforehand
    """
    if verdict.outcome is Outcome.NOT_JUDGED:
        return None
    drawn = _deviations(uncertainty.nominal, uncertainty.covariance)
    passes = _passes(drawn, verdict.tolerances, verdict.settings, _asked(verdict))
    share = float(np.mean(passes))
    wrong = 1 - share if verdict.outcome is Outcome.PASSED else share
    return Chance(
        value=wrong,
        error=_error(wrong),
        sentence=(
            f"Given the uncertainty of the measurement, the chance that the pump itself lies on "
            f"the other side is {_in_words(wrong)}. For the engineer; a certificate states the "
            "verdict and the uncertainty only."
        ),
    )


@dataclass(frozen=True, kw_only=True)
class EarlierTest:
    """How an earlier pump came out against what had been predicted for it.

    head : measured over predicted head at the same flow, > 0 [-]
    efficiency : measured over predicted efficiency, > 0 [-]
    """

    head: float
    efficiency: float


@dataclass(frozen=True, kw_only=True)
class Prediction:
    """What is predicted of a candidate at its guarantee point.

    head : predicted head at the guaranteed flow over the guaranteed head, > 0 [-]
    efficiency : predicted over guaranteed efficiency, None when it is not guaranteed [-]
    power : predicted over guaranteed power, None when it is not guaranteed [-]
    steepness : relative fall of head for a relative rise of flow at the guarantee point, > 0 [-]
    """

    head: float
    efficiency: float | None
    power: float | None = None
    steepness: float

    def __post_init__(self) -> None:
        for name, value in vars(self).items():
            if value is not None and not (math.isfinite(value) and value > 0):
                raise NotANumber(what=f"The predicted {name}", value=value, right="above zero")


def chance_of_passing_first(
    earlier: Sequence[EarlierTest],
    prediction: Prediction,
    tolerances: Tolerances,
    settings: Settings | None = None,
) -> Chance:
    """Chance that a candidate passes at its first test, from the scatter of earlier tests.

    earlier : tests of like pumps, at least 5
    prediction : of the candidate at its guarantee point
    tolerances : of its contract
    settings : how the house judges
    returns : the chance
    raises : TooFewMeasurements
    source : predictive distribution of a normal sample with nothing known beforehand (Student's,
        n − 2 degrees of freedom in two quantities); the cross followed along a straight curve
    """
    count = len(earlier)
    if count < LEAST_TESTS:
        raise TooFewMeasurements(
            what="The chance of passing at the first test", needed=LEAST_TESTS, count=count
        )
    settings = settings or Settings()
    ratios = np.array([[test.head, test.efficiency] for test in earlier])
    mean = ratios.mean(axis=0)
    freedom = count - 2
    spread = np.atleast_2d(np.cov(ratios.T, ddof=2)) * (1 + 1 / count)
    rng = np.random.default_rng(SEED)
    normal = rng.standard_normal((DRAWS, 2)) @ _root(spread).T
    scale = np.sqrt(freedom / rng.chisquare(freedom, DRAWS))
    drawn = mean + normal * scale[:, None]
    head = prediction.head * drawn[:, 0] - 1
    deviations = np.full((DRAWS, len(QUANTITIES)), np.nan)
    deviations[:, 1] = head
    deviations[:, 0] = head / prediction.steepness
    # On the line through the origin a pump with more head than predicted runs at more flow too:
    # the point moves by the share of the head that the curve's fall does not eat.
    along = (drawn[:, 0] - 1) / (1 + prediction.steepness)
    if prediction.efficiency is not None:
        deviations[:, 2] = prediction.efficiency * drawn[:, 1] - 1
    if prediction.power is not None:
        deviations[:, 3] = prediction.power * (1 + along) ** 2 / drawn[:, 1] - 1
    asked = (prediction.efficiency is not None, prediction.power is not None)
    share = float(np.mean(_passes(deviations, tolerances, settings, asked)))
    return Chance(
        value=share,
        error=_error(share),
        sentence=(
            f"From {count} earlier tests (head {mean[0]:.3f} ± {math.sqrt(spread[0, 0]):.3f}, "
            f"efficiency {mean[1]:.3f} ± {math.sqrt(spread[1, 1]):.3f} of what was predicted) the "
            f"chance of passing at the first test is {_in_words(share)}."
        ),
    )


def _asked(verdict: PerformanceVerdict) -> tuple[bool, bool]:
    names = {quantity.quantity for quantity in verdict.quantities}
    return "efficiency" in names, "power" in names


def _deviations(nominal: Floats, covariance: Floats) -> Floats:
    """Draws of the deviations, NaN where there is none."""
    return nominal + _draws(len(nominal)) @ _root(covariance).T


@cache
def _draws(count: int) -> Floats:
    """Independent draws of the standard normal distribution, the same ones every time."""
    return np.random.default_rng(SEED).standard_normal((DRAWS, count))


def _root(covariance: Floats) -> Floats:
    """A matrix whose square is a covariance, which may be of less than full rank."""
    size, directions = np.linalg.eigh(covariance)
    return np.asarray(directions * np.sqrt(np.maximum(size, 0.0)), dtype=float)


def _passes(
    drawn: Floats, tolerances: Tolerances, settings: Settings, asked: tuple[bool, bool]
) -> Flags:
    """Which draws pass."""
    flow = _held(drawn[:, 0], tolerances.flow)
    head = _held(drawn[:, 1], tolerances.head)
    passes = flow | head if settings.cross is CrossRule.EITHER else flow & head
    if asked[0] and tolerances.efficiency is not None:
        passes &= _held(drawn[:, 2], tolerances.efficiency)
    if asked[1] and tolerances.power is not None:
        passes &= _held(drawn[:, 3], tolerances.power)
    return passes


def _held(deviation: Floats, tolerance: Tolerance) -> Flags:
    """Which deviations lie within; a bar that is never met is not held."""
    low = -math.inf if tolerance.minus is None else -tolerance.minus
    high = math.inf if tolerance.plus is None else tolerance.plus
    with np.errstate(invalid="ignore"):
        return (deviation >= low) & (deviation <= high)


def _error(share: float) -> float:
    return math.sqrt(max(share * (1 - share), 1 / DRAWS) / DRAWS)


def _in_words(share: float) -> str:
    if share < 0.001:
        return "below 0.1 %"
    if share > 0.999:
        return "above 99.9 %"
    return f"about {100 * share:.2g} %" if share < 0.1 else f"about {100 * share:.0f} %"
