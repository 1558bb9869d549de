"""Whether a measured value keeps its limits, when the measurement itself is unsure.

Inside the limits by more than the uncertainty a value passes, outside by more than it fails; in
between it lies inside the uncertainty of the limit, which is said. A contract may agree on simple
acceptance instead, where the value alone decides; which rule was used stands with every value.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from quality.acceptance.errors import BadTestRecord, NotANumber
from quality.acceptance.evidence import Certainty, Outcome, Row, distinct, together
from quality.acceptance.instruments import Instrument
from quality.acceptance.student import normal_cdf
from quality.acceptance.uncertainty import COVERAGE_FACTOR


class DecisionRule(StrEnum):
    """What decides near a limit."""

    PROVEN = "conformity is proved"
    SIMPLE = "simple acceptance"


PROVEN_ROW = Row(
    standard="ISO 14253-1",
    edition="2017",
    name="conformity is proved inside the limits less the uncertainty, non-conformity outside "
    "the limits plus the uncertainty",
    certainty=Certainty.MEMORY,
)
SIMPLE_ROW = Row(
    standard="JCGM 106",
    edition="2012",
    clause="8.2.1",
    name="simple acceptance: the measured value alone decides, risk shared",
    certainty=Certainty.MEMORY,
)
DECISION_ROWS = {DecisionRule.PROVEN: PROVEN_ROW, DecisionRule.SIMPLE: SIMPLE_ROW}


class Stand(StrEnum):
    """Where a value stands towards its limits."""

    WITHIN = "within"
    OUTSIDE = "outside"
    UNCERTAIN = "inside the uncertainty of the limit"
    MISSING = "not measured"


OUTCOMES = {
    Stand.WITHIN: Outcome.PASSED,
    Stand.OUTSIDE: Outcome.FAILED,
    Stand.UNCERTAIN: Outcome.NOT_JUDGED,
    Stand.MISSING: Outcome.NOT_JUDGED,
}


@dataclass(frozen=True, kw_only=True)
class Limits:
    """What a characteristic may be.

    what : the characteristic, as the drawing names it
    unit : of both limits
    lowest, highest : None where there is none; at least one is given
    rows : they come from
    """

    what: str
    unit: str
    lowest: float | None = None
    highest: float | None = None
    rows: tuple[Row, ...] = ()

    def __post_init__(self) -> None:
        if self.lowest is None and self.highest is None:
            raise BadTestRecord(what=self.what, reason="it has no limit to be judged against")
        for value in (self.lowest, self.highest):
            if value is not None and math.isnan(value):
                raise NotANumber(what=f"A limit of {self.what}", value=value, right="a number")
        if self.lowest is not None and self.highest is not None and self.lowest > self.highest:
            raise BadTestRecord(
                what=self.what,
                reason=f"its lowest limit {self.lowest:g} {self.unit} lies above its highest "
                f"{self.highest:g} {self.unit}",
            )

    @property
    def words(self) -> str:
        """Both limits in words."""
        if self.lowest is None:
            return f"at most {self.highest:g} {self.unit}"
        if self.highest is None:
            return f"at least {self.lowest:g} {self.unit}"
        return f"{self.lowest:g} to {self.highest:g} {self.unit}"

    def margin(self, value: float) -> float:
        """Distance to the nearer limit, negative beyond it.

        value : measured, in the unit of the limits
        returns : in the unit of the limits
        """
        below = math.inf if self.lowest is None else value - self.lowest
        above = math.inf if self.highest is None else self.highest - value
        return min(below, above)


@dataclass(frozen=True, kw_only=True)
class Decision:
    """One value against its limits.

    limits : it was held to
    value : measured, None when it was not
    expanded : uncertainty (k = 2), in the unit of the limits
    stand : where it stands
    outcome : of this value
    margin : to the nearer limit, negative beyond it, None without a value
    chance_wrong : chance that the true value lies on the other side, None without a value [-]
    rule : that decided
    instrument : tag of the one used, empty when none was named
    sentence : in words
    """

    limits: Limits
    value: float | None
    expanded: float
    stand: Stand
    outcome: Outcome
    margin: float | None
    chance_wrong: float | None
    rule: DecisionRule
    instrument: str
    sentence: str


@dataclass(frozen=True, kw_only=True)
class RecordVerdict:
    """A measured record: every value with its decision.

    outcome : of the whole record
    decisions : in the order of the characteristics
    reasons : in sentences, deciding ones first
    rows : of standards used
    """

    outcome: Outcome
    decisions: tuple[Decision, ...]
    reasons: tuple[str, ...]
    rows: tuple[Row, ...]


def decide(
    limits: Limits,
    value: float | None,
    *,
    expanded: float = 0.0,
    rule: DecisionRule = DecisionRule.PROVEN,
    instrument: str = "",
) -> Decision:
    """One measured value against its limits.

    limits : of the characteristic
    value : measured, in the unit of the limits; None when it was not measured
    expanded : uncertainty of it (k = 2), >= 0, in the unit of the limits
    rule : that decides near a limit
    instrument : tag of the one used
    returns : the decision
    raises : NotANumber
    source : ISO 14253-1 and JCGM 106:2012 (from memory)
    """
    if value is None:
        return Decision(
            limits=limits,
            value=None,
            expanded=expanded,
            stand=Stand.MISSING,
            outcome=Outcome.NOT_JUDGED,
            margin=None,
            chance_wrong=None,
            rule=rule,
            instrument=instrument,
            sentence=f"{limits.what} was not measured; {limits.words} is asked.",
        )
    if not math.isfinite(value):
        raise NotANumber(what=limits.what, value=value, right="a finite number")
    if not (math.isfinite(expanded) and expanded >= 0):
        raise NotANumber(
            what=f"The uncertainty of {limits.what}", value=expanded, right="zero or more"
        )
    margin = limits.margin(value)
    # The last bit of a conversion must not push a value on the limit over it.
    slack = 1e-9 * max(1.0, abs(value))
    guard = expanded if rule is DecisionRule.PROVEN else 0.0
    if margin >= guard - slack:
        stand = Stand.WITHIN
    elif margin < -guard - slack:
        stand = Stand.OUTSIDE
    else:
        stand = Stand.UNCERTAIN
    unit = limits.unit
    how = f"uncertainty ±{expanded:.2g} {unit}, {rule.value}" if expanded else rule.value
    return Decision(
        limits=limits,
        value=value,
        expanded=expanded,
        stand=stand,
        outcome=OUTCOMES[stand],
        margin=margin,
        chance_wrong=_chance_wrong(limits, value, expanded),
        rule=rule,
        instrument=instrument,
        sentence=f"{limits.what}: {value:.6g} {unit}, {limits.words}; {stand.value} ({how}).",
    )


def _chance_wrong(limits: Limits, value: float, expanded: float) -> float:
    """Chance that the true value lies on the other side of the limits than the measured one."""
    inside = limits.margin(value) >= 0
    if expanded == 0:
        return 0.0
    standard = expanded / COVERAGE_FACTOR
    above = 1.0 if limits.highest is None else normal_cdf((limits.highest - value) / standard)
    below = 0.0 if limits.lowest is None else normal_cdf((limits.lowest - value) / standard)
    conforms = above - below
    return 1 - conforms if inside else conforms


@dataclass(frozen=True, kw_only=True)
class Measured:
    """One value of a record, as measured.

    limits : of its characteristic
    value : in the unit of the limits, None when it was not measured
    instrument : used, with its unit that of the limits; None when none was
    uncertainty : expanded (k = 2) when it is not the instrument's alone, in the unit of the limits
    """

    limits: Limits
    value: float | None
    instrument: Instrument | None = None
    uncertainty: float | None = None


def judge_record(
    values: Sequence[Measured], *, rule: DecisionRule = DecisionRule.PROVEN
) -> RecordVerdict:
    """A measured record, value by value.

    values : in the order of the sheet
    rule : that decides near a limit
    returns : the verdict
    raises : BadTestRecord, NotANumber
    """
    if not values:
        raise BadTestRecord(what="The measured record", reason="no value was given")
    decisions = tuple(_decide(measured, rule) for measured in values)
    order = [Stand.OUTSIDE, Stand.UNCERTAIN, Stand.MISSING, Stand.WITHIN]
    said = sorted(decisions, key=lambda d: order.index(d.stand))
    return RecordVerdict(
        outcome=together(d.outcome for d in decisions),
        decisions=decisions,
        reasons=tuple(d.sentence for d in said),
        rows=distinct([DECISION_ROWS[rule], *(row for d in decisions for row in d.limits.rows)]),
    )


def _decide(measured: Measured, rule: DecisionRule) -> Decision:
    expanded, tag = measured.uncertainty, ""
    if measured.instrument is not None:
        tag = measured.instrument.tag
        if measured.instrument.unit != measured.limits.unit:
            raise BadTestRecord(
                what=measured.limits.what,
                reason=f"instrument {tag} shows {measured.instrument.unit}, the limits are in "
                f"{measured.limits.unit}",
            )
        if expanded is None and measured.value is not None:
            expanded = measured.instrument.expanded_at(measured.value)
    return decide(
        measured.limits, measured.value, expanded=expanded or 0.0, rule=rule, instrument=tag
    )
