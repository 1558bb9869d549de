"""What quality refuses, and why, in a sentence for the person who asked."""

from collections.abc import Sequence
from datetime import date
from typing import ClassVar

from works.errors import Refusal


class QualityRefusal(Refusal):
    """Base of everything that this app refuses."""


class StandardsMissing(QualityRefusal):
    """A verdict needs a table of a standard that this installation has not loaded."""

    status: ClassVar[int] = 503

    def __init__(self) -> None:
        super().__init__(
            "The tables of standards are not loaded yet, so nothing can be judged. Load them "
            "from Set-up, Standards."
        )


class BadRecord(QualityRefusal):
    """What was entered cannot be judged as it stands; the sentence says which value and why."""

    status: ClassVar[int] = 422

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)


class AlreadyReleased(QualityRefusal):
    """One release a point and party."""

    def __init__(self, *, point: str, party: str, signed_by: str, at: str) -> None:
        self.point, self.party, self.signed_by = point, party, signed_by
        super().__init__(
            f"{party.capitalize()} has already released “{point}”: {signed_by} on {at}. "
            "A release never changes and is not given twice."
        )


class PointWithdrawn(QualityRefusal):
    """The point is no longer part of its plan."""

    def __init__(self, *, point: str) -> None:
        self.point = point
        super().__init__(f"“{point}” was withdrawn from the inspection plan: nothing to release.")


class NoPartInPoint(QualityRefusal):
    """The plan gives this party nothing to do at this point."""

    status: ClassVar[int] = 422

    def __init__(self, *, point: str, party: str, parties: str) -> None:
        self.point, self.party = point, party
        super().__init__(f"The {party} has no part in “{point}”; {parties} have.")


class HoldIsNotAWitness(QualityRefusal):
    """An absent party's hold needs a written waiver, not a note that nobody came."""

    def __init__(self, *, point: str, party: str) -> None:
        self.point, self.party = point, party
        super().__init__(
            f"“{point}” is a hold of the {party}: it stays closed when nobody comes. Record a "
            "release, or a waiver in writing with its words."
        )


class WaiverWithoutWords(QualityRefusal):
    """A waiver that does not say what was waived."""

    status: ClassVar[int] = 422

    def __init__(self) -> None:
        super().__init__("A waiver is in writing: copy its words, or name the letter, into record.")


class SignatureMissing(QualityRefusal):
    """A release that names nobody."""

    status: ClassVar[int] = 422

    def __init__(self) -> None:
        super().__init__("Say who gave the word: the name of the person who signed.")


class NotProved(QualityRefusal):
    """A point is released on what proves it: a signed record that passed, papers complete."""

    def __init__(self, *, point: str, missing: Sequence[str]) -> None:
        self.point, self.missing = point, tuple(missing)
        super().__init__(
            f"“{point}” cannot be released yet: {'; '.join(missing)}. Complete that first, or let "
            "the buyer accept the nonconformance in writing."
        )


class NothingToPass(QualityRefusal):
    """There is no open hold to pass at own risk."""

    def __init__(self, *, point: str) -> None:
        self.point = point
        super().__init__(f"“{point}” holds nothing up at the moment: there is no hold to pass.")


class NotYet(QualityRefusal):
    """A point whose operation has not come so far."""

    def __init__(self, *, sentence: str) -> None:
        super().__init__(sentence)


class PlanExists(QualityRefusal):
    """A route has one inspection plan."""

    def __init__(self, *, route: str) -> None:
        self.route = route
        super().__init__(f"{route} has its inspection plan already: rewrite that one.")


class NoticeTooShort(QualityRefusal):
    """A visit sooner than the notice that was agreed."""

    status: ClassVar[int] = 422

    def __init__(self, *, on: date, days: int, last: date, earliest: date) -> None:
        self.on, self.days, self.last, self.earliest = on, days, last, earliest
        super().__init__(
            f"A visit on {on} needs {days} working days of notice, so the last day to give it "
            f"was {last}. The earliest day is now {earliest}; if the inspector agreed to shorter "
            "notice, say in the note who did."
        )


class VisitOfSeveralRoutes(QualityRefusal):
    """A visit belongs to one route."""

    status: ClassVar[int] = 422

    def __init__(self) -> None:
        super().__init__("Choose points of one route: a visit belongs to one item of one order.")


class VisitWithoutPoints(QualityRefusal):
    """A visit to nothing."""

    status: ClassVar[int] = 422

    def __init__(self, *, party: str) -> None:
        self.party = party
        super().__init__(f"Choose at least one point in which the {party} has a part.")


class VisitIsOver(QualityRefusal):
    """The visit took place, was missed or was cancelled: its story is told."""

    def __init__(self, *, visit: str, state: str) -> None:
        self.visit, self.state = visit, state
        super().__init__(f"The {visit} is already marked “{state}”. Plan a new visit instead.")


class TagTaken(QualityRefusal):
    """Instrument tags are unique."""

    status: ClassVar[int] = 422

    def __init__(self, *, tag: str) -> None:
        self.tag = tag
        super().__init__(f"There is an instrument {tag} already: give this one a tag of its own.")


class BadCalibration(QualityRefusal):
    """Dates or figures of a calibration that contradict each other."""

    status: ClassVar[int] = 422

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)


class InstrumentNotFit(QualityRefusal):
    """An instrument that proves nothing here: overdue, withdrawn, not yet calibrated."""

    status: ClassVar[int] = 422

    def __init__(self, *, tag: str, sentence: str) -> None:
        self.tag = tag
        super().__init__(sentence)


class WrongOperation(QualityRefusal):
    """A record of a test that this operation is not, or not of this pump."""

    status: ClassVar[int] = 422

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)


class AlreadySigned(QualityRefusal):
    """A signed record never changes."""

    def __init__(self, *, record: str, by: str, at: str) -> None:
        self.record = record
        super().__init__(
            f"The {record} was signed by {by} on {at} and never changes. Enter a correction: a "
            "new record that replaces it."
        )


class AlreadyReplaced(QualityRefusal):
    """A record has one correction at most; that one can be corrected in turn."""

    def __init__(self, *, record: str) -> None:
        self.record = record
        super().__init__(
            f"The {record} was already replaced by a correction: correct that one instead."
        )


class NothingToSign(QualityRefusal):
    """A record without a verdict proves nothing."""

    def __init__(self, *, record: str) -> None:
        self.record = record
        super().__init__(
            f"The {record} is not judged yet: complete it, so that it passes or fails, then sign."
        )


class NonconformanceIsClosed(QualityRefusal):
    """A closed nonconformance is not decided again."""

    def __init__(self, *, number: str) -> None:
        self.number = number
        super().__init__(f"Nonconformance {number} is closed: open a new one.")


class QuestionOpen(QualityRefusal):
    """The buyer has a question already."""

    def __init__(self, *, number: str) -> None:
        self.number = number
        super().__init__(
            f"The buyer has not yet answered the question on {number}: one question at a time."
        )


class AlreadyAnswered(QualityRefusal):
    """A written answer never changes."""

    def __init__(self, *, number: str, answer: str, by: str) -> None:
        self.number, self.answer = number, answer
        super().__init__(
            f"The question on {number} was {answer} by {by}. An answer never changes; ask again "
            "if things have changed."
        )


class ApprovalMissing(QualityRefusal):
    """No repair, and nothing accepted as it is, before the buyer has agreed in writing."""

    def __init__(self, *, number: str, disposition: str) -> None:
        self.number, self.disposition = number, disposition
        super().__init__(
            f"{number} may not be decided “{disposition}” before the buyer has accepted that in "
            "writing: ask the buyer and record the answer. Scrapping may be decided at once."
        )


class AlreadyScrapped(QualityRefusal):
    """What was scrapped is gone."""

    def __init__(self, *, number: str) -> None:
        self.number = number
        super().__init__(f"{number} was scrapped: that is not taken back. Close it.")


class NotDecided(QualityRefusal):
    """A nonconformance is closed when it has been decided."""

    def __init__(self, *, number: str) -> None:
        self.number = number
        super().__init__(f"{number} is not decided yet: give its disposition, then close it.")


class HeatTaken(QualityRefusal):
    """One certificate a heat."""

    status: ClassVar[int] = 422

    def __init__(self, *, heat: str) -> None:
        self.heat = heat
        super().__init__(f"Heat {heat} has a certificate already: look at that one.")


class CertificateNotReceived(QualityRefusal):
    """A certificate is accepted after it has come."""

    def __init__(self, *, heat: str) -> None:
        self.heat = heat
        super().__init__(f"The certificate of heat {heat} has not been received yet.")
