"""Crack tests: indications against the acceptance level agreed.

The level comes from the contract or from the standard's table as the contract names it; nothing is
judged by a level from memory. What is measured is the length of each indication and whether it is
linear. Copper-tin castings lie outside the penetrant standard for castings, and want a level of
their own.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from quality.acceptance.errors import NotANumber, TestNotAllowed
from quality.acceptance.evidence import Certainty, Outcome, Row, distinct

EXCLUDES_COPPER_TIN = Row(
    standard="EN 1371-1",
    edition="2011",
    clause="scope",
    name="copper-tin and copper-tin-lead castings are excluded",
    certainty=Certainty.CONFIRMED,
)
LINEAR_RATIO = 3.0
"""An indication at least three times as long as wide is linear (EN 1371-1, from memory)."""


class Shape(StrEnum):
    """What an indication looks like."""

    LINEAR = "linear"
    ROUNDED = "rounded"
    ALIGNED = "aligned"


@dataclass(frozen=True, kw_only=True)
class Indication:
    """One indication.

    place : on the outline
    length_mm : > 0 [mm]
    width_mm : > 0 [mm]
    aligned : one of three or more in a row, nearer to each other than 2 mm
    """

    place: str
    length_mm: float
    width_mm: float
    aligned: bool = False

    @property
    def shape(self) -> Shape:
        """Linear, rounded or one of a row."""
        if self.aligned:
            return Shape.ALIGNED
        linear = self.length_mm >= LINEAR_RATIO * self.width_mm
        return Shape.LINEAR if linear else Shape.ROUNDED


@dataclass(frozen=True, kw_only=True)
class CrackLevel:
    """An acceptance level as agreed.

    name : e.g. EN 1371-1 SP 2, LP 2, or the contract's own
    standard : it belongs to, empty for the contract's own
    linear_mm : longest linear indication allowed, 0 for none [mm]
    aligned_mm : longest indication of a row allowed, 0 for none [mm]
    rounded_mm : longest rounded indication allowed [mm]
    rounded_count : rounded indications allowed on the reference area
    smallest_mm : shorter ones are not counted [mm]
    row : where it is written
    """

    name: str
    linear_mm: float
    aligned_mm: float
    rounded_mm: float
    rounded_count: int
    smallest_mm: float
    row: Row
    standard: str = ""


@dataclass(frozen=True, kw_only=True)
class CrackVerdict:
    """What a crack test came to.

    outcome : of the test
    reasons : in sentences, deciding ones first
    counted : indications long enough to count
    rows : of standards used
    """

    outcome: Outcome
    reasons: tuple[str, ...]
    counted: tuple[Indication, ...]
    rows: tuple[Row, ...]


def judge_crack_test(
    indications: Sequence[Indication],
    level: CrackLevel,
    *,
    copper_tin: bool = False,
    dwell_min: float | None = None,
    least_dwell: tuple[float, Row] | None = None,
) -> CrackVerdict:
    """Indications of a crack test against the level agreed.

    indications : found, none for a clean part
    level : agreed
    copper_tin : the casting is of copper-tin or copper-tin-lead
    dwell_min : penetrant dwell time, None when not penetrant [min]
    least_dwell : least dwell [min] and its row
    returns : the verdict; not judged when the test was not done long enough
    raises : TestNotAllowed, NotANumber
    """
    if copper_tin and level.standard.startswith("EN 1371-1"):
        raise TestNotAllowed(
            test="A penetrant test to EN 1371-1",
            reason="the standard excludes copper-tin castings; agree another acceptance level",
        )
    for indication in indications:
        if not (indication.length_mm > 0 and 0 < indication.width_mm <= indication.length_mm):
            raise NotANumber(
                what=f"The indication at {indication.place}",
                value=f"{indication.length_mm:g} × {indication.width_mm:g} mm",
                right="above zero, and at least as long as wide",
            )
    counted = tuple(i for i in indications if i.length_mm >= level.smallest_mm)
    longest = {
        Shape.LINEAR: level.linear_mm,
        Shape.ALIGNED: level.aligned_mm,
        Shape.ROUNDED: level.rounded_mm,
    }
    failures = [
        f"{i.shape.value.capitalize()} indication of {i.length_mm:g} mm at {i.place}; "
        f"{level.name} allows {longest[i.shape]:g} mm."
        for i in counted
        if i.length_mm > longest[i.shape]
    ]
    rounded = sum(i.shape is Shape.ROUNDED for i in counted)
    if rounded > level.rounded_count:
        failures.append(
            f"{rounded} rounded indications; {level.name} allows {level.rounded_count} on the "
            "reference area."
        )
    rows = [level.row]
    unfit = []
    if least_dwell is not None and dwell_min is not None:
        least, row = least_dwell
        rows.append(row)
        if dwell_min < least:
            unfit.append(
                f"The penetrant dwelt for {dwell_min:g} min; {least:g} min are asked: clean the "
                "part and test it again."
            )
    outcome = Outcome.FAILED if failures else Outcome.NOT_JUDGED if unfit else Outcome.PASSED
    clean = (
        f"No indication beyond {level.name}; {len(counted)} counted, "
        f"{len(indications) - len(counted)} too short to count."
    )
    return CrackVerdict(
        outcome=outcome,
        reasons=(*failures, *unfit, *(() if failures or unfit else (clean,))),
        counted=counted,
        rows=distinct(rows),
    )
