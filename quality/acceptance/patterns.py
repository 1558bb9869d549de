"""Pattern checks: a pattern that is not passed cannot go to the foundry.

A pattern is made for the contraction of one metal, with allowances for machining and draft, for
certain flange standards, and it wears. What is asked of it for an order is compared with its
register.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from quality.acceptance.errors import NotANumber
from quality.acceptance.evidence import Certainty, Outcome, Row, contract_row, distinct

CONDITION_ROW = Row(
    standard="works practice",
    name="a pattern is checked at call-off, and by its next date of check",
    certainty=Certainty.COMMON_PRACTICE,
)


class Condition(StrEnum):
    """State of a pattern."""

    GOOD = "good"
    WORN = "worn"
    DAMAGED = "damaged"


@dataclass(frozen=True, kw_only=True)
class ContractionRow:
    """Linear contraction of a family of metals.

    family : of metals
    lowest, usual, highest : as a share of the drawing's size [-]
    row : where it comes from
    """

    family: str
    lowest: float
    usual: float
    highest: float
    row: Row


@dataclass(frozen=True, kw_only=True)
class PatternState:
    """A pattern as the register has it.

    number : of the pattern
    contraction : built in, by axis, each as a share of the drawing's size [-]
    allowance_mm : machining allowance built in, least over its faces [mm]
    flanges : standards and ratings that it can be drilled for
    condition : at the last check
    core_boxes : numbers of its core boxes
    checked_on : last check, None when there was none
    next_check_on : None when none was set
    """

    number: str
    contraction: tuple[float, ...]
    allowance_mm: float
    flanges: tuple[str, ...]
    condition: Condition
    core_boxes: tuple[str, ...] = ()
    checked_on: date | None = None
    next_check_on: date | None = None


@dataclass(frozen=True, kw_only=True)
class PatternAsked:
    """What an order asks of a pattern.

    family : of the metal that is poured
    allowance_mm : required machining allowance, >= 0 [mm]
    allowance_row : where that comes from
    flanges : standards and ratings ordered, none for an impeller
    core_boxes : numbers of the core boxes of the call-off
    on : the day of the call-off
    """

    family: str
    allowance_mm: float
    allowance_row: Row
    flanges: tuple[str, ...]
    core_boxes: tuple[str, ...]
    on: date


@dataclass(frozen=True, kw_only=True)
class PatternVerdict:
    """Whether a pattern may go to the foundry.

    outcome : passed when it may
    reasons : in sentences, deciding ones first
    rows : of standards used
    """

    outcome: Outcome
    reasons: tuple[str, ...]
    rows: tuple[Row, ...]

    @property
    def may_go_to_the_foundry(self) -> bool:
        """Only a pattern that passed may."""
        return self.outcome is Outcome.PASSED


def judge_pattern(
    pattern: PatternState, asked: PatternAsked, contractions: Sequence[ContractionRow]
) -> PatternVerdict:
    """A pattern against what an order asks of it.

    pattern : of the register
    asked : by the order
    contractions : of the metals' families
    returns : the verdict
    raises : NotANumber
    source : contraction of the metal poured (foundry tables); cored sizes contract less
    """
    for share in pattern.contraction:
        if not -0.01 <= share <= 0.05:
            raise NotANumber(
                what=f"The contraction of pattern {pattern.number}",
                value=share,
                right="a share, as 0.01 for 1 %",
            )
    failures: list[str] = []
    unfit: list[str] = []
    rows = [CONDITION_ROW, asked.allowance_row]
    contraction = next((row for row in contractions if row.family == asked.family), None)
    if contraction is None:
        unfit.append(f"No contraction is on record for {asked.family}; have it agreed.")
    else:
        rows.append(contraction.row)
        failures += [
            f"Pattern {pattern.number} is made for a contraction of {100 * share:.2g} %; "
            f"{asked.family} contracts by {100 * contraction.lowest:.3g} to "
            f"{100 * contraction.highest:.3g} %."
            for share in dict.fromkeys(pattern.contraction)
            if not contraction.lowest - 1e-9 <= share <= contraction.highest + 1e-9
        ]
    if pattern.allowance_mm < asked.allowance_mm:
        failures.append(
            f"Its machining allowance is {pattern.allowance_mm:g} mm; {asked.allowance_mm:g} mm "
            "are required."
        )
    if lacking := [flange for flange in asked.flanges if flange not in pattern.flanges]:
        failures.append(
            f"It cannot be drilled for {', '.join(lacking)}; it can for "
            f"{', '.join(pattern.flanges) or 'none'}."
        )
        rows.append(contract_row(f"flanges {', '.join(asked.flanges)}"))
    if other := sorted(set(asked.core_boxes) - set(pattern.core_boxes)):
        failures.append(f"Core boxes {', '.join(other)} are not its own.")
    if pattern.condition is not Condition.GOOD:
        failures.append(f"Its condition is {pattern.condition.value}: put it right and check it.")
    if pattern.checked_on is None:
        unfit.append("It was never checked: check it before it goes to the foundry.")
    elif pattern.next_check_on is not None and pattern.next_check_on < asked.on:
        unfit.append(f"Its check was due on {pattern.next_check_on}: check it first.")
    outcome = Outcome.FAILED if failures else Outcome.NOT_JUDGED if unfit else Outcome.PASSED
    good = f"Pattern {pattern.number} is right for {asked.family} and the order."
    return PatternVerdict(
        outcome=outcome,
        reasons=(*failures, *unfit, *(() if failures or unfit else (good,))),
        rows=distinct(rows),
    )
