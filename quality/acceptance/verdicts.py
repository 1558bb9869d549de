"""What a verdict on a performance test is made of.

One quantity's verdict carries what was guaranteed, what was measured and where, the limits, the
rule and the rows of standards it rests on, and a sentence. The whole carries all of them, the
settings, the points at rated speed and whatever is missing.
"""

from dataclasses import dataclass
from enum import StrEnum

from quality.acceptance.curves import Pieces
from quality.acceptance.evidence import Certainty, Outcome, Row, least_certain
from quality.acceptance.grades import Tolerance, Tolerances
from quality.acceptance.rated_speed import RatedPoints
from quality.acceptance.remarks import Remark
from quality.acceptance.units import Unit


class CrossRule(StrEnum):
    """Whether one bar of the cross is enough."""

    EITHER = "either bar"
    BOTH = "both bars"


@dataclass(frozen=True, kw_only=True)
class Settings:
    """How the house judges.

    cross : whether one bar of the cross is enough
    pieces : the curve to judge by
    minimum_points : refuse to judge with fewer readings about the guarantee point than required
    """

    cross: CrossRule = CrossRule.EITHER
    pieces: Pieces = Pieces.MONOTONE
    minimum_points: bool = True


@dataclass(frozen=True, kw_only=True)
class MissingReadings:
    """Readings that have to be taken before the test can be judged.

    count : how many, >= 1 [-]
    lowest_m3s, highest_m3s : between which flows at rated speed; equal for one flow [m3/s]
    sentence : why, and where
    """

    count: int
    lowest_m3s: float
    highest_m3s: float
    sentence: str


@dataclass(frozen=True, kw_only=True)
class QuantityVerdict:
    """One quantity of the guarantee.

    quantity : flow, head, power or efficiency
    guaranteed : in the quantity's SI unit
    measured : at rated speed, None where the curve does not reach it
    at_flow_m3s : at which it was read on the curve, None where it could not be [m3/s]
    deviation : measured over guaranteed, less one; None where not measured [-]
    tolerance : the limits
    outcome : of this quantity alone
    decides : False for a bar of the cross that the other bar makes unnecessary
    rule : how it was judged
    rows : of standards used
    sentence : the result in words
    """

    quantity: str
    guaranteed: float
    measured: float | None
    at_flow_m3s: float | None
    deviation: float | None
    tolerance: Tolerance | None
    outcome: Outcome
    decides: bool
    rule: str
    rows: tuple[Row, ...]
    sentence: str

    @property
    def margin(self) -> float | None:
        """Distance to the nearer limit as a share of the guarantee, negative beyond it [-]."""
        if self.deviation is None or self.tolerance is None:
            return None
        return self.tolerance.margin(self.deviation)

    @property
    def certainty(self) -> Certainty:
        """The lowest certainty among the rows used."""
        return least_certain(self.rows)


@dataclass(frozen=True, kw_only=True)
class PerformanceVerdict:
    """What the test came to.

    outcome : of the whole guarantee
    quantities : flow and head first, then what else is guaranteed
    tolerances : the limits used
    settings : how it was judged
    points : at rated speed and density
    missing : readings to be taken before what was not judged can be
    remarks : on the readings
    reasons : the verdict in sentences, the deciding ones first
    rows : of standards used
    best_efficiency : flow [m3/s] and efficiency [-] at the top of the measured curve, or None
    shutoff_head_m : measured at the shut valve, None when it was not [m]
    """

    outcome: Outcome
    quantities: tuple[QuantityVerdict, ...]
    tolerances: Tolerances
    settings: Settings
    points: RatedPoints
    missing: tuple[MissingReadings, ...]
    remarks: tuple[Remark, ...]
    reasons: tuple[str, ...]
    rows: tuple[Row, ...]
    best_efficiency: tuple[float, float] | None
    shutoff_head_m: float | None

    @property
    def certainty(self) -> Certainty:
        """The lowest certainty among the rows used."""
        return least_certain(self.rows)

    def of(self, quantity: str) -> QuantityVerdict:
        """The verdict on one quantity.

        quantity : flow, head, power or efficiency
        returns : its verdict
        raises : KeyError when it is not guaranteed
        """
        for verdict in self.quantities:
            if verdict.quantity == quantity:
                return verdict
        raise KeyError(quantity)


def percent(share: float) -> str:
    """A deviation in per cent, with its sign.

    share : [-]
    returns : in words
    """
    return f"{100 * share:+.2f} %".replace("-", "−")


def limits_in_words(tolerance: Tolerance) -> str:
    """Both limits, or the one there is.

    tolerance : with its limits
    returns : in words
    """
    low = None if tolerance.minus is None else f"−{100 * tolerance.minus:.4g} %"
    high = None if tolerance.plus is None else f"+{100 * tolerance.plus:.4g} %"
    if low and high:
        return f"limits {low} and {high}"
    return f"limit {low or high or 'none'}"


def judged(
    quantity: str,
    *,
    guaranteed: float,
    measured: float,
    at_flow: float,
    tolerance: Tolerance,
    decides: bool,
    rule: str,
    row: Row,
    unit: Unit,
) -> QuantityVerdict:
    """A quantity that was read off the curve.

    quantity : flow, head, power or efficiency
    guaranteed, measured : in the quantity's SI unit
    at_flow : where it was read [m3/s]
    tolerance : the limits
    decides : False for a bar of the cross that the other bar makes unnecessary
    rule : how it is judged
    row : of the standard, for the rule
    unit : for the sentence
    returns : its verdict
    """
    deviation = measured / guaranteed - 1
    held = tolerance.holds(deviation)
    margin = tolerance.margin(deviation)
    near = f"{100 * abs(margin):.2f} % {'in hand' if held else 'beyond'}"
    sentence = (
        f"{quantity.capitalize()} {unit.show(measured)} against {unit.show(guaranteed)} "
        f"guaranteed: {percent(deviation)}, {limits_in_words(tolerance)}; {near}."
    )
    if not decides:
        sentence += " The other bar of the cross is met, so this one is not needed."
    return QuantityVerdict(
        quantity=quantity,
        guaranteed=guaranteed,
        measured=measured,
        at_flow_m3s=at_flow,
        deviation=deviation,
        tolerance=tolerance,
        outcome=Outcome.PASSED if held else Outcome.FAILED,
        decides=decides,
        rule=rule,
        rows=(tolerance.row, row),
        sentence=sentence,
    )


def unread(
    quantity: str,
    *,
    guaranteed: float,
    tolerance: Tolerance | None,
    outcome: Outcome,
    decides: bool,
    rule: str,
    row: Row,
    sentence: str,
) -> QuantityVerdict:
    """A quantity that could not be read off the curve.

    quantity : flow, head, power or efficiency
    guaranteed : in the quantity's SI unit
    tolerance : the limits, None without any
    outcome : failed when it certainly lies outside, else not judged
    decides : False for a bar of the cross that the other bar makes unnecessary
    rule : how it would be judged
    row : of the standard, for the rule
    sentence : why it could not be read
    returns : its verdict
    """
    return QuantityVerdict(
        quantity=quantity,
        guaranteed=guaranteed,
        measured=None,
        at_flow_m3s=None,
        deviation=None,
        tolerance=tolerance,
        outcome=outcome,
        decides=decides,
        rule=rule,
        rows=(row,) if tolerance is None else (tolerance.row, row),
        sentence=sentence,
    )
