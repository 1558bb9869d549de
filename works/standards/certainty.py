"""How sure a value is, as every table, rule and verdict says it."""

from collections.abc import Iterable
from enum import StrEnum


class Certainty(StrEnum):
    """Where a value comes from, surest first."""

    CONFIRMED = "confirmed"
    CONFIRMED_2ND = "confirmed-2nd"
    MEMORY = "memory"
    COMMON_PRACTICE = "common practice"

    @property
    def rank(self) -> int:
        """0 for the surest."""
        return list(Certainty).index(self)

    @property
    def words(self) -> str:
        """What a sheet says beside a verdict that rests on such a value."""
        return _WORDS[self]


_WORDS = {
    Certainty.CONFIRMED: "read in the text of the standard or produced by running a library",
    Certainty.CONFIRMED_2ND: "read in a published text that states what the standard says",
    Certainty.MEMORY: "from memory: check against the bought standard before a contract uses it",
    Certainty.COMMON_PRACTICE: "common practice of the trade, no single source",
}


def least(certainties: Iterable[Certainty]) -> Certainty:
    """The least sure of several: what a verdict resting on all of them may claim.

    certainties : none means nothing outside the inputs was used
    returns : CONFIRMED when there are none
    """
    return max(certainties, key=lambda c: c.rank, default=Certainty.CONFIRMED)
