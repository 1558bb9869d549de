"""How sure a measured value is: parts combined by root-sum-square, coverage stated.

Follows the Guide to the expression of uncertainty in measurement (JCGM 100:2008): every part as a
standard uncertainty with a sensitivity and its degrees of freedom, combined, and multiplied by a
factor for a stated coverage. What a class of the pump standard allows is compared with it.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from quality.acceptance.errors import NotANumber, TooFewMeasurements
from quality.acceptance.evidence import Outcome, Row
from quality.acceptance.student import student_quantile

Floats = NDArray[np.float64]

COVERAGE_FACTOR = 2.0
"""Expanded uncertainties are stated with k = 2, about 95 % of a normal distribution."""


@dataclass(frozen=True, kw_only=True)
class Part:
    """One part of an uncertainty.

    name : what it comes from
    standard : standard uncertainty of the input, >= 0, in the input's unit
    sensitivity : change of the result for one unit of the input
    freedom : degrees of freedom, >= 1, infinite when it is known [-]
    systematic : the same in every reading, so that repeating does not lessen it
    """

    name: str
    standard: float
    sensitivity: float = 1.0
    freedom: float = math.inf
    systematic: bool = True

    def __post_init__(self) -> None:
        if not (math.isfinite(self.standard) and self.standard >= 0):
            raise NotANumber(
                what=f"The uncertainty of {self.name}", value=self.standard, right="zero or more"
            )

    @property
    def effect(self) -> float:
        """Its contribution to the result's standard uncertainty, in the result's unit."""
        return abs(self.sensitivity) * self.standard


@dataclass(frozen=True, kw_only=True)
class Combined:
    """A combined uncertainty.

    standard : combined standard uncertainty, in the result's unit
    freedom : effective degrees of freedom [-]
    factor : coverage factor [-]
    coverage : of the expanded uncertainty [-]
    parts : it is made of, largest first
    """

    standard: float
    freedom: float
    factor: float
    coverage: float
    parts: tuple[Part, ...]

    @property
    def expanded(self) -> float:
        """Standard uncertainty times the factor, in the result's unit."""
        return self.factor * self.standard

    @property
    def systematic(self) -> float:
        """Standard uncertainty of the systematic parts alone, in the result's unit."""
        return math.hypot(*(part.effect for part in self.parts if part.systematic))

    @property
    def random(self) -> float:
        """Standard uncertainty of the random parts alone, in the result's unit."""
        return math.hypot(*(part.effect for part in self.parts if not part.systematic))


def combine(
    parts: Sequence[Part], *, coverage: float = 0.95, factor: float | None = None
) -> Combined:
    """Parts of one result combined by root-sum-square.

    parts : independent of one another
    coverage : of the expanded uncertainty, above 0 and below 1 [-]
    factor : coverage factor to use, None to take it from Student's distribution [-]
    returns : the combined uncertainty
    source : JCGM 100:2008, 5.1.2 and G.4.1 (Welch-Satterthwaite)
    """
    standard = math.hypot(*(part.effect for part in parts))
    pull = sum(part.effect**4 / part.freedom for part in parts)
    freedom = math.inf if pull == 0 else standard**4 / pull
    # Clause G.4.1 rounds the degrees of freedom down to a whole number.
    whole = freedom if math.isinf(freedom) else max(1, math.floor(freedom))
    return Combined(
        standard=standard,
        freedom=freedom,
        factor=student_quantile((1 + coverage) / 2, whole) if factor is None else factor,
        coverage=coverage,
        parts=tuple(sorted(parts, key=lambda part: -part.effect)),
    )


def standard_of_expanded(expanded: float, factor: float = COVERAGE_FACTOR) -> float:
    """Standard uncertainty of one stated with a coverage factor.

    expanded : half-width, >= 0
    factor : it was stated with, > 0 [-]
    returns : standard uncertainty, in the same unit
    source : JCGM 100:2008, 4.3.3
    """
    return expanded / factor


def standard_of_bounds(half_width: float) -> float:
    """Standard uncertainty of a value known only to lie within bounds.

    half_width : of the bounds, >= 0
    returns : standard uncertainty, in the same unit
    source : JCGM 100:2008, 4.3.7 (rectangular distribution)
    """
    return half_width / math.sqrt(3)


def of_repeats(name: str, values: Sequence[float], sensitivity: float = 1.0) -> Part:
    """Random uncertainty of the mean of repeated readings.

    name : what was read
    values : (n,) repeated at one setting, n >= 2
    sensitivity : change of the result for one unit
    returns : the part, with n − 1 degrees of freedom
    raises : TooFewMeasurements
    source : JCGM 100:2008, 4.2.3
    """
    count = len(values)
    if count < 2:
        raise TooFewMeasurements(what=f"The scatter of {name}", needed=2, count=count)
    spread = float(np.std(np.asarray(values, dtype=float), ddof=1))
    return Part(
        name=name,
        standard=spread / math.sqrt(count),
        sensitivity=sensitivity,
        freedom=count - 1,
        systematic=False,
    )


def propagate(
    function: Callable[[Floats], float],
    values: Sequence[float],
    standards: Sequence[float],
    correlation: Floats | None = None,
) -> tuple[float, float, Floats]:
    """A function of uncertain inputs, first order.

    function : of the inputs, smooth about them
    values : (n,) of the inputs
    standards : (n,) their standard uncertainties, >= 0
    correlation : (n, n) of the inputs, None when they are independent [-]
    returns : the result, its standard uncertainty, and (n,) sensitivities
    source : JCGM 100:2008, 5.1.2 and 5.2.2 (correlated inputs)
    """
    middle = np.asarray(values, dtype=float)
    spread = np.asarray(standards, dtype=float)
    sensitivities = np.zeros(len(middle))
    for i in range(len(middle)):
        step = spread[i] * 1e-3 or abs(middle[i]) * 1e-6 or 1e-9
        ahead, behind = middle.copy(), middle.copy()
        ahead[i] += step
        behind[i] -= step
        sensitivities[i] = (function(ahead) - function(behind)) / (2 * step)
    effect = sensitivities * spread
    together = np.eye(len(middle)) if correlation is None else correlation
    return function(middle), float(np.sqrt(effect @ together @ effect)), sensitivities


@dataclass(frozen=True, kw_only=True)
class UncertaintyLimit:
    """How unsure a class lets a measured quantity be.

    overall : of all parts together, else of the instrument alone
    quantity : as the standard's table names it
    share : expanded, about 95 %, of the value [-]
    row : the standard's row
    """

    overall: bool
    quantity: str
    share: float
    row: Row


@dataclass(frozen=True, kw_only=True)
class LimitCheck:
    """A measured quantity's uncertainty against its class.

    quantity : as the table names it
    share : expanded uncertainty as a share of the value [-]
    limit : of the class
    outcome : passed or failed
    sentence : in words
    """

    quantity: str
    share: float
    limit: UncertaintyLimit
    outcome: Outcome
    sentence: str


def check_limits(
    shares: Mapping[str, float], limits: Sequence[UncertaintyLimit], *, overall: bool
) -> tuple[LimitCheck, ...]:
    """Uncertainties against the class's limits.

    shares : expanded uncertainty as a share of the value, by quantity [-]
    limits : of the class
    overall : whether the shares take in all parts, else the instruments alone
    returns : a check for every quantity that the class limits
    """
    kind = "overall" if overall else "systematic"
    checks = []
    for limit in limits:
        if limit.overall is not overall or limit.quantity not in shares:
            continue
        share = shares[limit.quantity]
        held = share <= limit.share * (1 + 1e-9)
        checks.append(
            LimitCheck(
                quantity=limit.quantity,
                share=share,
                limit=limit,
                outcome=Outcome.PASSED if held else Outcome.FAILED,
                sentence=(
                    f"{kind.capitalize()} uncertainty of {limit.quantity} ±{100 * share:.2f} % "
                    f"(k = 2); the class allows ±{100 * limit.share:.2f} %"
                    f"{'' if held else ': the measurement is not good enough for it'}."
                ),
            )
        )
    return tuple(checks)
