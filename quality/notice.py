"""Working days of a calendar, to count the notice of a visit by.

Notice is given in working days of the party that must come: days on which its calendar has a
shift and that are no holiday. Without a calendar Monday to Friday are counted.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta

from schedule.models import Calendar, CalendarDay

WEEK = frozenset(range(5))
ONE = timedelta(days=1)
FURTHEST_DAYS = 400
"""Notice is a matter of days; a calendar without any open day within this is a mistake."""


@dataclass(frozen=True, kw_only=True)
class OpenWeekday:
    """A weekday that is worked, 0 is Monday, perhaps only for a while."""

    weekday: int
    first: date | None = None
    last: date | None = None

    def holds(self, day: date) -> bool:
        return (
            day.weekday() == self.weekday
            and (self.first is None or day >= self.first)
            and (self.last is None or day <= self.last)
        )


@dataclass(frozen=True, kw_only=True)
class WorkingDays:
    """Which days count."""

    weekdays: tuple[OpenWeekday, ...] = tuple(OpenWeekday(weekday=day) for day in sorted(WEEK))
    closed: frozenset[date] = field(default_factory=frozenset)
    extra: frozenset[date] = field(default_factory=frozenset)

    def holds(self, day: date) -> bool:
        """True when the day counts."""
        if day in self.extra:
            return True
        return day not in self.closed and any(weekday.holds(day) for weekday in self.weekdays)

    def before(self, day: date, days: int) -> date:
        """The last day on which so many working days are still left before `day`."""
        return self._step(day, days, -ONE)

    def after(self, day: date, days: int) -> date:
        """The first day that has so many working days between `day` and itself."""
        return self._step(day, days, ONE)

    def _step(self, day: date, days: int, step: timedelta) -> date:
        left, at = days, day
        for _ in range(FURTHEST_DAYS):
            if left == 0:
                break
            at += step
            if self.holds(at):
                left -= 1
        return at


def working_days(calendar: Calendar | None) -> WorkingDays:
    """The working days of a calendar; two SQL queries."""
    if calendar is None:
        return WorkingDays()
    weekdays = tuple(
        OpenWeekday(weekday=shift.weekday, first=shift.valid_from, last=shift.valid_until)
        for shift in calendar.shifts.all()
    )
    days = list(calendar.days.all())
    return WorkingDays(
        weekdays=weekdays or WorkingDays().weekdays,
        closed=_on(days, CalendarDay.Kind.PUBLIC_HOLIDAY, CalendarDay.Kind.SHUTDOWN),
        extra=_on(days, CalendarDay.Kind.OVERTIME),
    )


def _on(days: Iterable[CalendarDay], *kinds: str) -> frozenset[date]:
    return frozenset(day.on for day in days if day.kind in kinds)
