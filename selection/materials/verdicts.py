"""What is said about a choice: one sentence with its weight, its source and how sure it is."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from works.standards import Certainty, least


class Severity(StrEnum):
    """How much a verdict weighs, lightest first."""

    FITS = "fits"
    CAUTION = "caution"
    AVOID = "avoid"
    REFUSE = "refuse"

    @property
    def rank(self) -> int:
        """0 for the lightest."""
        return list(Severity).index(self)


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """One sentence about a choice.

    rule : the rule's name, stable, so that a stored reason still finds what it answers
    topic : what the rule is about, for grouping on a page
    part, metal : what it is about; empty where it is about neither
    severity : its weight
    sentence : with figure and limit
    source, certainty, date : where the limit comes from; date as the rule file has it, or empty
    needs_reason : stays open until a named person gives a reason
    overridable : False where pressure is not contained: no reason helps, something must change
    """

    rule: str
    topic: str
    part: str
    metal: str = ""
    severity: Severity
    sentence: str
    source: str
    certainty: Certainty
    date: str = ""
    needs_reason: bool
    overridable: bool = True

    @property
    def needs_words(self) -> bool:
        """A reason in words is due; a caution is answered from a pick-list."""
        return self.needs_reason and self.severity.rank >= Severity.AVOID.rank


def worst(verdicts: Iterable[Verdict]) -> Severity:
    """The heaviest severity; FITS when nothing was said."""
    return max((v.severity for v in verdicts), key=lambda s: s.rank, default=Severity.FITS)


def worst_first(verdicts: Iterable[Verdict]) -> tuple[Verdict, ...]:
    """Heaviest first, otherwise in the order they came."""
    return tuple(sorted(verdicts, key=lambda v: -v.severity.rank))


def certainty_of(verdicts: Iterable[Verdict]) -> Certainty:
    """How sure a judgement is that rests on all of them."""
    return least(v.certainty for v in verdicts)
