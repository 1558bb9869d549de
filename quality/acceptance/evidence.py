"""The rows of standards that a verdict rests on, and how sure we are of each.

Tables of standards are controlled data: every value carries the standard, its edition and clause,
how certain it is, and who checked it against a bought copy. A verdict names its rows, so that a
reader sees at once when one of them still comes from memory.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum


class Certainty(StrEnum):
    """How far a value can be trusted, surest first."""

    CONFIRMED = "confirmed"
    CONTRACT = "contract"
    CONFIRMED_2ND = "confirmed-2nd"
    MEMORY = "memory"
    COMMON_PRACTICE = "common practice"

    @property
    def rank(self) -> int:
        """0 for the surest; larger is less sure."""
        return list(Certainty).index(self)


SAYS = {
    Certainty.CONFIRMED: "confirmed in the source named",
    Certainty.CONTRACT: "the contract's own value",
    Certainty.CONFIRMED_2ND: "confirmed in a secondary text, the standard itself not seen",
    Certainty.COMMON_PRACTICE: "common practice, no single source",
    Certainty.MEMORY: "from memory: to be checked against a bought copy of the standard",
}


@dataclass(frozen=True, kw_only=True)
class Row:
    """One row of a standard as used in a verdict.

    standard, edition, clause : where it stands; edition and clause may be empty
    name : what the row gives, in words
    certainty : how far it can be trusted
    checked : "by … on …" once somebody has compared it with our own copy, else empty
    """

    standard: str
    name: str
    certainty: Certainty
    edition: str = ""
    clause: str = ""
    checked: str = ""

    @property
    def title(self) -> str:
        """Standard, edition and clause in one phrase."""
        where = f"{self.standard}:{self.edition}" if self.edition else self.standard
        return f"{where}, {self.clause}" if self.clause else where

    @property
    def sentence(self) -> str:
        """What this row is and how sure it is, for the sheet."""
        sure = f"checked against our copy {self.checked}" if self.checked else SAYS[self.certainty]
        return f"{self.title}: {self.name} ({sure})."

    @property
    def needs_checking(self) -> bool:
        """True while the value is neither confirmed, nor agreed, nor compared with our copy."""
        return not self.checked and self.certainty.rank > Certainty.CONTRACT.rank


def contract_row(name: str) -> Row:
    """The row of something the contract itself says.

    name : what is agreed
    returns : a row of certainty `contract`
    """
    return Row(standard="contract", name=name, certainty=Certainty.CONTRACT)


def distinct(rows: Iterable[Row]) -> tuple[Row, ...]:
    """Each row once, in the order of first use.

    rows : any number, repeated as often as they were used
    returns : without repeats
    """
    return tuple(dict.fromkeys(rows))


def least_certain(rows: Iterable[Row]) -> Certainty:
    """The certainty that a verdict resting on all these rows has.

    rows : any number
    returns : the lowest certainty among them; `confirmed` when there are none, because a verdict
        without rows rests on arithmetic alone
    """
    return max(
        (row.certainty for row in rows if not row.checked),
        key=lambda certainty: certainty.rank,
        default=Certainty.CONFIRMED,
    )


class Outcome(StrEnum):
    """What a judgement can come to."""

    PASSED = "passed"
    FAILED = "failed"
    NOT_JUDGED = "not judged"


def together(outcomes: Iterable[Outcome]) -> Outcome:
    """One outcome for several: a failure decides, then whatever could not be judged.

    outcomes : of the parts
    returns : failed if any failed, else not judged if any was not or there are none, else passed
    """
    found = list(outcomes)
    if Outcome.FAILED in found:
        return Outcome.FAILED
    if not found or Outcome.NOT_JUDGED in found:
        return Outcome.NOT_JUDGED
    return Outcome.PASSED
