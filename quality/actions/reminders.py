"""Reminders: notices to be given, visits to be reported on, calibrations, questions unanswered.

Each is an alert with its own cause, so that a second review the same day changes nothing, and one
whose cause is gone is closed.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db import models
from django.utils import timezone

from quality.models import Concession, Instrument, Visit
from works.alerts import close_others, raise_or_update
from works.models import Alert

NOTICE_RULE = "quality.notice of a visit"
OUTCOME_RULE = "quality.visit to be reported on"
CALIBRATION_RULE = "quality.calibration due"
QUESTION_RULE = "quality.buyer has not answered"
RULES = (NOTICE_RULE, OUTCOME_RULE, CALIBRATION_RULE, QUESTION_RULE)

NOTICE_AHEAD = timedelta(days=3)
CALIBRATION_AHEAD = timedelta(days=30)
PATIENCE = timedelta(days=7)
"""How long the buyer may think before somebody is told."""


@dataclass(frozen=True, kw_only=True)
class Reminder:
    """One alert that should stand."""

    rule: str
    about: models.Model
    level: int
    sentence: str
    figure: float
    url: str

    @property
    def cause(self) -> str:
        return f"{self.rule}:{self.about.pk}"


def review_reminders(*, at: datetime) -> None:
    """Bring every reminder to what is so now."""
    today = timezone.localdate(at)
    wanted = [
        *_notices(today),
        *_outcomes(today),
        *_calibrations(today),
        *_questions(at),
    ]
    for reminder in wanted:
        raise_or_update(
            cause=reminder.cause,
            rule=reminder.rule,
            level=reminder.level,
            about=reminder.about,
            sentence=reminder.sentence,
            figure=reminder.figure,
            url=reminder.url,
            at=at,
        )
    for rule in RULES:
        still = [reminder.cause for reminder in wanted if reminder.rule == rule]
        close_others(rule=rule, still=still, at=at)


def _notices(today: date) -> Iterable[Reminder]:
    visits = Visit.objects.filter(
        state=Visit.State.PLANNED, on__gte=today, notice_by_on__lte=today + NOTICE_AHEAD
    ).select_related("route")
    for visit in visits:
        left = (visit.notice_by_on - today).days
        late = left < 0
        yield Reminder(
            rule=NOTICE_RULE,
            about=visit,
            level=Alert.Level.URGENT if late else Alert.Level.WARNING,
            sentence=(
                f"Notice of the {visit.party}'s visit to {visit.route} on {visit.on} "
                + (
                    f"should have been given by {visit.notice_by_on}."
                    if late
                    else f"must be given by {visit.notice_by_on}."
                )
            ),
            figure=float(left),
            url=visit.get_absolute_url(),
        )


def _outcomes(today: date) -> Iterable[Reminder]:
    for visit in Visit.objects.upcoming().filter(on__lt=today).select_related("route"):
        yield Reminder(
            rule=OUTCOME_RULE,
            about=visit,
            level=Alert.Level.NOTICE,
            sentence=(
                f"The {visit.party}'s visit to {visit.route} was planned for {visit.on}: say "
                "whether the inspector came."
            ),
            figure=float((today - visit.on).days),
            url=visit.get_absolute_url(),
        )


def _calibrations(today: date) -> Iterable[Reminder]:
    due = Instrument.objects.filter(withdrawn=False, due_on__lte=today + CALIBRATION_AHEAD)
    for instrument in due:
        left = (instrument.due_on - today).days
        yield Reminder(
            rule=CALIBRATION_RULE,
            about=instrument,
            level=Alert.Level.WARNING if left < 0 else Alert.Level.NOTICE,
            sentence=(
                f"Instrument {instrument.tag} was due for calibration on {instrument.due_on}: "
                "it proves nothing until then."
                if left < 0
                else f"Instrument {instrument.tag} is due for calibration on {instrument.due_on}."
            ),
            figure=float(left),
            url=instrument.get_absolute_url(),
        )


def _questions(at: datetime) -> Iterable[Reminder]:
    waiting = Concession.objects.filter(answer="", asked_at__lte=at - PATIENCE)
    for concession in waiting.select_related("nonconformance__route"):
        found = concession.nonconformance
        days = (at - concession.asked_at).days
        yield Reminder(
            rule=QUESTION_RULE,
            about=found,
            level=Alert.Level.WARNING,
            sentence=(
                f"The buyer has not answered the question on {found.number} ({found.route}) for "
                f"{days} days."
            ),
            figure=float(days),
            url=found.get_absolute_url(),
        )
