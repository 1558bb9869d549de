"""What is refused in the choice of a pump, each with its data and a sentence."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from works.errors import Refusal

if TYPE_CHECKING:
    from selection.models import Choice


class SelectionRefusal(Refusal):
    """Base of everything this app refuses."""


class EmptyCatalogue(SelectionRefusal):
    """Nothing to choose from."""

    status = 422

    def __init__(self) -> None:
        super().__init__(
            "The catalogue holds no impeller with a tested curve yet: enter one before choosing "
            "a pump."
        )


class NoSuchCandidate(SelectionRefusal):
    """The candidate that was picked is not among those of the duty as it stands."""

    status = 422

    def __init__(self, *, key: str) -> None:
        self.key = key
        super().__init__(
            f"There is no candidate {key} for this duty: the duty or the catalogue changed. "
            "Pick one from the list as it is now."
        )


class DutyIncomplete(SelectionRefusal):
    """The study's inputs do not make a duty yet."""

    status = 422

    def __init__(self, *, study: str, fields: Sequence[str]) -> None:
        self.study, self.fields = study, tuple(fields)
        super().__init__(
            f"The duty of {study} is not complete: look at {', '.join(fields)} on its desk."
        )


class CandidateRejected(SelectionRefusal):
    """A check rules the candidate out."""

    status = 422

    def __init__(self, *, candidate: str, sentences: Sequence[str]) -> None:
        self.candidate, self.sentences = candidate, tuple(sentences)
        super().__init__(f"{candidate} cannot be frozen. {' '.join(sentences)}")


class PressureNotHeld(SelectionRefusal):
    """Casing or flange does not contain the pressure; no reason answers that."""

    status = 422

    def __init__(self, *, sentences: Sequence[str]) -> None:
        self.sentences = tuple(sentences)
        super().__init__(f"This set does not contain the pressure. {' '.join(sentences)}")


class NoSet(SelectionRefusal):
    """No metals and flanges were picked, and none can be suggested."""

    status = 422

    def __init__(self, *, sentences: Sequence[str]) -> None:
        self.sentences = tuple(sentences)
        super().__init__(f"No set of materials and flanges is picked. {' '.join(sentences)}")


class WarningsUnanswered(SelectionRefusal):
    """Warnings stay open until a named person gives a reason for each."""

    status = 422

    def __init__(self, *, rules: Sequence[str]) -> None:
        self.rules = tuple(rules)
        super().__init__(
            "Give a reason for each warning before freezing, in words of your own for the serious "
            f"ones. Still open: {', '.join(rules)}."
        )


class FrozenAlready(SelectionRefusal):
    """The very same choice was frozen a moment ago, by the same press or by a colleague."""

    def __init__(self, *, choice: "Choice") -> None:
        self.choice = choice
        super().__init__(f"This is frozen already, as choice {choice.number}, by {choice.by}.")


class BadCurve(SelectionRefusal):
    """Points that make no curve."""

    status = 422

    def __init__(self, *, why: str) -> None:
        self.why = why
        super().__init__(f"These points make no curve. {why}")
