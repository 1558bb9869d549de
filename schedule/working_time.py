"""Working time of the works' calendars: laid out from their rows, kept by version.

Planning counts integer minutes from one origin for the whole works. A calendar is laid out over
whole years round today; a process keeps what it laid out until the calendar's version grows.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from schedule.models import Calendar, CalendarDay
from schedule.planning import calendars as planning
from schedule.planning.errors import PlanningError

ORIGIN = datetime(2020, 1, 1, tzinfo=UTC)
YEARS_BACK, YEARS_AHEAD = 2, 5

_kept: dict[tuple[int, int, str, int], planning.WorkingTime] = {}


@dataclass(frozen=True)
class WorkingTimes:
    """The calendars asked for.

    by_id : laid out, by primary key
    troubles : why a calendar cannot be used and what would be right, by primary key
    """

    by_id: dict[int, planning.WorkingTime]
    troubles: dict[int, str]


def minute(at: datetime) -> int:
    """Minutes from the origin to an aware instant [min]."""
    return planning.minute_of(at, ORIGIN)


def instant(minutes: int) -> datetime:
    """The instant of a minute, in UTC."""
    return ORIGIN + timedelta(minutes=minutes)


def midnight(on: date, zone: ZoneInfo) -> int:
    """The minute at which a day begins at the works [min]."""
    return minute(planning.on_the_wall(on, time(), zone))


def end_of(on: date, zone: ZoneInfo) -> int:
    """The minute at which a day is over at the works [min]."""
    return midnight(on + timedelta(days=1), zone)


def local_date(at: datetime, zone: ZoneInfo) -> date:
    """The day that the clock on the works' wall shows."""
    return at.astimezone(zone).date()


def horizon(now: datetime) -> tuple[date, date]:
    """First and last day for which calendars are laid out."""
    return date(now.year - YEARS_BACK, 1, 1), date(now.year + YEARS_AHEAD, 12, 31)


def working_times(ids: Iterable[int], *, zone: ZoneInfo, now: datetime) -> WorkingTimes:
    """Lay out calendars, those of a known version from memory.

    ids : primary keys
    zone : the works'
    now : the years laid out are round it
    returns : calendars and troubles; a calendar that is not there has a trouble
    """
    wanted = set(ids)
    found: dict[int, planning.WorkingTime] = {}
    troubles = {pk: f"There is no calendar {pk}." for pk in wanted}
    missing: dict[int, tuple[int, int, str, int]] = {}
    for pk, version in Calendar.objects.filter(pk__in=wanted).values_list("pk", "version"):
        del troubles[pk]
        key = (pk, version, zone.key, now.year)
        if key in _kept:
            found[pk] = _kept[key]
        else:
            missing[pk] = key
    if missing:
        rows = Calendar.objects.filter(pk__in=missing).prefetch_related("shifts", "days")
        for calendar in rows:
            try:
                laid = lay_out(calendar, zone=zone, now=now)
            except PlanningError as error:
                troubles[calendar.pk] = str(error)
            else:
                found[calendar.pk] = _kept[missing[calendar.pk]] = laid
    return WorkingTimes(found, troubles)


def lay_out(calendar: Calendar, *, zone: ZoneInfo, now: datetime) -> planning.WorkingTime:
    """One calendar from its rows.

    raises : NoOpenHours, BadShift
    """
    first, last = horizon(now)
    kind = CalendarDay.Kind
    days = list(calendar.days.all())
    closed = [
        day.on
        for day in days
        if day.kind == kind.SHUTDOWN
        or (day.kind == kind.PUBLIC_HOLIDAY and calendar.keeps_public_holidays)
    ]
    return planning.laid_out(
        calendar.name,
        [
            planning.Shift(
                weekday=shift.weekday,
                opens=shift.starts,
                closes=shift.ends,
                first_day=shift.valid_from,
                last_day=shift.valid_until,
            )
            for shift in calendar.shifts.all()
        ],
        zone=zone.key,
        first_day=first,
        last_day=last,
        origin=ORIGIN,
        holidays=closed,
        overtime=[_window(day) for day in days if day.kind == kind.OVERTIME],
        outages=[_window(day) for day in days if day.kind == kind.OUTAGE],
    )


def _window(day: CalendarDay) -> planning.Window:
    """The hours of an extra or a closed day; without hours, the whole of it."""
    opens = datetime.combine(day.on, day.starts or time())
    closes = datetime.combine(day.on, day.ends or time())
    if closes <= opens:
        closes += timedelta(days=1)
    return planning.Window(opens=opens, closes=closes, reason=day.note)
