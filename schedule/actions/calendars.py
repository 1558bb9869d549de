"""Calendars: shifts, overtime, shutdowns, outages, public holidays.

A change makes the calendar's version grow, and a task forecasts every route again by it.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.db import transaction
from django.db.models import F

from schedule.errors import BadFigure, CalendarTrouble, NoSuchThing
from schedule.facts import Fact
from schedule.models import Calendar, CalendarDay, Shift
from schedule.planning.errors import PlanningError
from schedule.planning.public_holidays import public_holidays
from works.events import record
from works.models import Person, Site
from works.people import Group, require

LONGEST_SPELL = timedelta(days=120)


@dataclass(frozen=True, kw_only=True)
class NewShift:
    """Hours of one weekday.

    weekday : 0 is Monday
    ends : at or before the start means the next day
    """

    weekday: int
    starts: time
    ends: time
    valid_from: date | None = None
    valid_until: date | None = None


@transaction.atomic
def add_calendar(
    *,
    name: str,
    shifts: Sequence[NewShift],
    by: Person | None,
    at: datetime,
    country: str = "",
    region: str = "",
    keeps_public_holidays: bool = True,
) -> Calendar:
    """Add a calendar with its week, and this year's and the next two years' public holidays.

    country, region : of the holidays; left out, the site's
    raises : NotAllowed, BadFigure, CalendarTrouble
    """
    _may(by, "add a calendar")
    site = Site.current()
    name = name.strip()
    if not name or Calendar.objects.filter(name=name).exists():
        raise BadFigure(field="The calendar's name", value=repr(name), right="one not yet used")
    if not shifts:
        raise CalendarTrouble(why=f"The calendar {name} needs at least one shift to ever open.")
    calendar = Calendar.objects.create(
        name=name,
        country=(country or site.country).upper(),
        region=region or (site.region if not country else ""),
        keeps_public_holidays=keeps_public_holidays,
    )
    _put_shifts(calendar, shifts)
    if keeps_public_holidays:
        _seed(calendar, [at.year - 1, at.year, at.year + 1, at.year + 2])
    after = {"shifts": len(shifts), "country": calendar.country}
    record(Fact.CALENDAR_ADDED, about=calendar, by=by, at=at, after=after)
    return calendar


@transaction.atomic
def set_shifts(
    *, calendar_id: int, shifts: Sequence[NewShift], by: Person | None, at: datetime
) -> Calendar:
    """Replace a calendar's week.

    raises : NotAllowed, NoSuchThing, CalendarTrouble
    """
    _may(by, "change shifts")
    calendar = _grown(calendar_id)
    if not shifts:
        raise CalendarTrouble(why=f"The calendar {calendar} needs at least one shift to ever open.")
    before = {"shifts": [str(shift) for shift in calendar.shifts.all()]}
    calendar.shifts.all().delete()
    _put_shifts(calendar, shifts)
    after = {"shifts": [str(shift) for shift in calendar.shifts.all()]}
    record(Fact.CALENDAR_CHANGED, about=calendar, by=by, at=at, before=before, after=after)
    return calendar


@transaction.atomic
def add_overtime(
    *,
    calendar_id: int,
    on: date,
    starts: time,
    ends: time,
    by: Person | None,
    at: datetime,
    note: str = "",
) -> CalendarDay:
    """Open a calendar for extra hours on one day, holiday or not.

    raises : NotAllowed, NoSuchThing, BadFigure
    """
    _may(by, "plan overtime")
    calendar = _grown(calendar_id)
    if starts == ends:
        raise BadFigure(field="Overtime", value=f"{starts} to {ends}", right="longer than nothing")
    day, _ = calendar.days.update_or_create(
        on=on,
        kind=CalendarDay.Kind.OVERTIME,
        defaults={"starts": starts, "ends": ends, "note": note.strip()},
    )
    _changed(calendar, by, at, {"overtime": f"{on} {starts} to {ends}", "note": note})
    return day


@transaction.atomic
def close_days(
    *,
    calendar_id: int,
    first: date,
    last: date,
    by: Person | None,
    at: datetime,
    kind: str = CalendarDay.Kind.SHUTDOWN,
    note: str = "",
) -> int:
    """Close a calendar for whole days: a shutdown, an outage, or the town's own holiday.

    returns : how many days
    raises : NotAllowed, NoSuchThing, BadFigure
    """
    _may(by, "close days")
    calendar = _grown(calendar_id)
    if kind not in CalendarDay.Kind.values or kind == CalendarDay.Kind.OVERTIME:
        right = "public holiday, shutdown or outage"
        raise BadFigure(field="The kind of day", value=kind, right=right)
    if not timedelta(0) <= last - first <= LONGEST_SPELL:
        right = f"{first} or later, within {LONGEST_SPELL.days} days"
        raise BadFigure(field="The last closed day", value=last, right=right)
    days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    CalendarDay.objects.bulk_create(
        [CalendarDay(calendar=calendar, on=on, kind=kind, note=note.strip()) for on in days],
        ignore_conflicts=True,
    )
    _changed(calendar, by, at, {kind: f"{first} to {last}", "note": note})
    return len(days)


@transaction.atomic
def take_day_away(*, day_id: int, by: Person | None, at: datetime) -> Calendar:
    """Give an exceptional day back to the week.

    raises : NotAllowed, NoSuchThing
    """
    _may(by, "change a calendar")
    day = CalendarDay.objects.filter(pk=day_id).first()
    if day is None:
        raise NoSuchThing(what="calendar day", key=day_id)
    calendar = _grown(day.calendar_id)
    said = {"taken away": str(day)}
    day.delete()
    _changed(calendar, by, at, said)
    return calendar


@transaction.atomic
def seed_public_holidays(
    *, calendar: Calendar, years: Iterable[int], by: Person | None, at: datetime
) -> int:
    """Enter the public holidays of the calendar's country and region for some years.

    Days already there stay as they are; the works adds its town's day and takes away what it works.
    returns : how many days are new
    raises : NotAllowed, NoSuchThing, CalendarTrouble
    """
    _may(by, "enter public holidays")
    grown = _grown(calendar.pk)
    wanted = sorted(set(years))
    count = _seed(grown, wanted)
    _changed(grown, by, at, {"public holidays": wanted, "new": count})
    return count


def _seed(calendar: Calendar, years: Sequence[int]) -> int:
    if not calendar.country:
        raise CalendarTrouble(why=f"The calendar {calendar} names no country: give it one first.")
    try:
        found = public_holidays(calendar.country, years, region=calendar.region or None)
    except PlanningError as error:
        raise CalendarTrouble(why=str(error)) from error
    kind = CalendarDay.Kind.PUBLIC_HOLIDAY
    there = set(calendar.days.filter(kind=kind).values_list("on", flat=True))
    fresh = [
        CalendarDay(calendar=calendar, on=holiday.day, kind=kind, note=holiday.name[:120])
        for holiday in found
        if holiday.day not in there
    ]
    CalendarDay.objects.bulk_create(fresh)
    return len(fresh)


def _put_shifts(calendar: Calendar, shifts: Iterable[NewShift]) -> None:
    rows = list(shifts)
    for row in rows:
        if not 0 <= row.weekday <= 6:
            raise BadFigure(field="A shift's weekday", value=row.weekday, right="0 to 6")
        if row.valid_from and row.valid_until and row.valid_until < row.valid_from:
            right = f"{row.valid_from} or later"
            raise BadFigure(field="The shift's last day", value=row.valid_until, right=right)
    Shift.objects.bulk_create(
        Shift(
            calendar=calendar,
            weekday=row.weekday,
            starts=row.starts,
            ends=row.ends,
            valid_from=row.valid_from,
            valid_until=row.valid_until,
        )
        for row in rows
    )


def _may(by: Person | None, deed: str) -> None:
    if by is not None:
        require(by, Group.PLANNER, deed=deed)


def _grown(pk: int) -> Calendar:
    """The calendar, locked, its version one higher."""
    calendar = Calendar.objects.select_for_update().filter(pk=pk).first()
    if calendar is None:
        raise NoSuchThing(what="calendar", key=pk)
    Calendar.objects.filter(pk=pk).update(version=F("version") + 1)
    calendar.refresh_from_db()
    return calendar


def _changed(
    calendar: Calendar, by: Person | None, at: datetime, after: Mapping[str, object]
) -> None:
    record(Fact.CALENDAR_CHANGED, about=calendar, by=by, at=at, after=after)
