"""Whether a reading was steady enough: how far the instruments swung while it was taken.

Each reading is taken from several instantaneous values. The amplitude about their mean may not be
larger than the class allows; what scatter is left gives the random uncertainty of the mean.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from quality.acceptance.errors import NotANumber, TooFewMeasurements
from quality.acceptance.evidence import Outcome, Row, distinct, together
from quality.acceptance.student import student_quantile

LEAST_VALUES = 3
"""Fewer values at one setting do not show whether an instrument swings (ISO 9906, from memory)."""


@dataclass(frozen=True, kw_only=True)
class FluctuationLimit:
    """How far a quantity may swing in one class.

    quantity : flow, head, torque, input power, speed
    amplitude : about the mean, each way, as a share of it [-]
    row : the standard's row
    """

    quantity: str
    amplitude: float
    row: Row


@dataclass(frozen=True, kw_only=True)
class Swing:
    """One quantity at one setting of the valve.

    reading : number of the line it belongs to
    quantity : as the table names it
    mean : of the values, in their unit
    amplitude : largest distance from the mean as a share of it [-]
    random_share : expanded random uncertainty (95 %) of the mean as a share of it [-]
    limit : of the class, None when it does not limit this quantity [-]
    outcome : steady enough or not
    sentence : in words
    """

    reading: int
    quantity: str
    mean: float
    amplitude: float
    random_share: float
    limit: FluctuationLimit | None
    outcome: Outcome
    sentence: str


@dataclass(frozen=True, kw_only=True)
class SteadinessVerdict:
    """Whether all readings were steady enough.

    outcome : of all of them
    swings : each
    rows : of standards used
    """

    outcome: Outcome
    swings: tuple[Swing, ...]
    rows: tuple[Row, ...]


@dataclass(frozen=True, kw_only=True)
class Samples:
    """Instantaneous values of one quantity at one setting of the valve.

    reading : number of the line it belongs to
    quantity : as the table names it
    values : (n,) in one unit, n >= 3
    """

    reading: int
    quantity: str
    values: tuple[float, ...]


def swing_of(samples: Samples, limits: Sequence[FluctuationLimit]) -> Swing:
    """How far one quantity swung at one setting.

    samples : instantaneous values
    limits : of the class
    returns : the swing with its verdict
    raises : TooFewMeasurements, NotANumber
    source : ISO 9906:2012, permissible amplitude of fluctuation; random uncertainty of the mean
        t·s/√n (Student, 95 %)
    """
    count = len(samples.values)
    what = f"{samples.quantity} at reading {samples.reading}"
    if count < LEAST_VALUES:
        raise TooFewMeasurements(what=f"Steadiness of {what}", needed=LEAST_VALUES, count=count)
    values = np.asarray(samples.values, dtype=float)
    mean = float(values.mean())
    if not np.all(np.isfinite(values)) or mean == 0:
        raise NotANumber(
            what=f"A value of {what}",
            value=samples.values,
            right="finite, with a mean that is not nothing",
        )
    amplitude = float(np.max(np.abs(values - mean))) / abs(mean)
    spread = float(values.std(ddof=1)) / math.sqrt(count)
    random = student_quantile(0.975, count - 1) * spread / abs(mean)
    limit = next((x for x in limits if x.quantity == samples.quantity), None)
    if limit is None:
        outcome, says = Outcome.PASSED, "the class does not limit it"
    else:
        steady = amplitude <= limit.amplitude * (1 + 1e-9)
        outcome = Outcome.PASSED if steady else Outcome.FAILED
        says = f"±{100 * limit.amplitude:g} % is allowed"
        if not steady:
            says += "; wait until it is steady, or damp the instrument as the standard permits"
    return Swing(
        reading=samples.reading,
        quantity=samples.quantity,
        mean=mean,
        amplitude=amplitude,
        random_share=random,
        limit=limit,
        outcome=outcome,
        sentence=f"{what.capitalize()} swung by ±{100 * amplitude:.2g} %; {says}.",
    )


def judge_steadiness(
    samples: Sequence[Samples], limits: Sequence[FluctuationLimit]
) -> SteadinessVerdict:
    """Whether readings were steady enough.

    samples : of every quantity at every setting
    limits : of the class
    returns : the verdict
    raises : TooFewMeasurements, NotANumber
    """
    swings = tuple(swing_of(one, limits) for one in samples)
    return SteadinessVerdict(
        outcome=together(swing.outcome for swing in swings),
        swings=swings,
        rows=distinct(swing.limit.row for swing in swings if swing.limit is not None),
    )
