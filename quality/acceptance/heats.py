"""A heat of metal against its grade: chemistry, strength of the test bars, hardness.

Limits come in as rows of the grade's own specification. A heat whose analysis is missing an element
that the grade limits is not judged, and running pairs are compared with each other too.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from quality.acceptance.decision import (
    Decision,
    DecisionRule,
    Limits,
    Measured,
    RecordVerdict,
    judge_record,
)
from quality.acceptance.errors import BadTestRecord
from quality.acceptance.evidence import Certainty, Row

PAIR_ROW = Row(
    standard="API 610",
    edition="11th",
    clause="wear parts",
    name="hardness of a running pair differs by 50 HB at least, unless both reach 400 HB",
    certainty=Certainty.MEMORY,
)
LEAST_DIFFERENCE_HB, BOTH_HARD_HB = 50.0, 400.0


@dataclass(frozen=True, kw_only=True)
class GradeLimit:
    """One limit of a metal's specification.

    what : element (as C, Si, Mn) or property (as tensile strength, elongation, hardness)
    unit : % for elements and elongation, MPa, HB
    lowest, highest : None where there is none
    row : of the specification
    """

    what: str
    unit: str
    lowest: float | None
    highest: float | None
    row: Row

    def limits(self) -> Limits:
        """As limits of a measured record.

        returns : limits
        raises : BadTestRecord when there are none
        """
        return Limits(
            what=self.what,
            unit=self.unit,
            lowest=self.lowest,
            highest=self.highest,
            rows=(self.row,),
        )


def judge_heat(
    grade: Sequence[GradeLimit],
    found: Mapping[str, float],
    *,
    uncertainty: Mapping[str, float] | None = None,
    rule: DecisionRule = DecisionRule.SIMPLE,
) -> RecordVerdict:
    """A heat against its grade.

    grade : its limits
    found : by element or property, in the unit of the limit
    uncertainty : expanded (k = 2) by element or property
    rule : that decides near a limit; certificates are read by simple acceptance
    returns : the verdict; what the grade limits and nobody measured is not judged
    raises : BadTestRecord when the grade limits nothing
    """
    if not grade:
        raise BadTestRecord(what="The heat", reason="its grade has no limits to be judged against")
    unsure = uncertainty or {}
    return judge_record(
        [
            Measured(
                limits=limit.limits(),
                value=found.get(limit.what),
                uncertainty=unsure.get(limit.what),
            )
            for limit in grade
        ],
        rule=rule,
    )


def judge_running_pair(
    first: str, first_hb: float, second: str, second_hb: float, *, uncertainty_hb: float = 0.0
) -> RecordVerdict:
    """Hardness of two parts that run on each other.

    first, second : names of the parts
    first_hb, second_hb : Brinell hardness, > 0 [HB]
    uncertainty_hb : of the difference, expanded (k = 2) [HB]
    returns : the verdict on their difference; met also when both are hard enough
    """
    difference = abs(first_hb - second_hb)
    what = (
        f"difference of hardness between {first} ({first_hb:g} HB) and {second} ({second_hb:g} HB)"
    )
    hard = min(first_hb, second_hb) >= BOTH_HARD_HB
    limits = Limits(
        what=f"{what}, both hard enough" if hard else what,
        unit="HB",
        lowest=0.0 if hard else LEAST_DIFFERENCE_HB,
        rows=(PAIR_ROW,),
    )
    unsure = 0.0 if hard else uncertainty_hb
    return judge_record([Measured(limits=limits, value=difference, uncertainty=unsure)])


def elements_missing(verdict: RecordVerdict) -> tuple[str, ...]:
    """What the grade limits and nobody measured.

    verdict : on a heat
    returns : names in the order of the grade
    """

    def missing(decision: Decision) -> bool:
        return decision.value is None

    return tuple(d.limits.what for d in verdict.decisions if missing(d))
