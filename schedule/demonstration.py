"""The demonstration's calendars, work centres, templates and freight lanes: all invented."""

from dataclasses import dataclass
from datetime import date, datetime, time

from schedule.actions.calendars import NewShift, add_calendar, close_days, seed_public_holidays
from schedule.actions.lanes import add_lane
from schedule.actions.templates import load_standard_templates
from schedule.actions.work_centres import change_work_centre, load_standard_work_centres
from schedule.models import Calendar, CalendarDay, Lane
from works.models import Person

WEEK = range(5)
ONE_SHIFT = tuple(
    NewShift(weekday=day, starts=begins, ends=ends)
    for day in WEEK
    for begins, ends in ((time(8), time(12)), (time(13), time(17)))
)
TWO_SHIFTS = tuple(
    NewShift(weekday=day, starts=begins, ends=ends)
    for day in WEEK
    for begins, ends in ((time(6), time(14)), (time(14), time(22)))
)
THREE_SHIFTS = tuple(
    NewShift(weekday=day, starts=begins, ends=ends)
    for day in WEEK
    for begins, ends in ((time(6), time(14)), (time(14), time(22)), (time(22), time(6)))
)
BY_CALENDAR = {
    "Two shifts": ("CORES", "MOULDING", "FETTLING", "BLAST", "LATHE", "SHAFTS", "DRILL"),
    "Three shifts": ("BORER",),
}


@dataclass(frozen=True)
class LaneRow:
    """A lane, its legs in days; departures by weekday, 0 is Monday."""

    key: str
    name: str
    mode: str
    destination: str
    country: str
    voyage: int
    weekdays: tuple[int, ...] = ()
    door_to_port: int = 0
    cut_off: int = 0
    customs: int = 0
    haulage: int = 0


LANES = (
    LaneRow("walvis", "Walvis Bay by sea", "sea", "Walvis Bay", "NA", 23, (3,), 1, 3, 4, 1),
    LaneRow("windhoek-air", "Windhoek by air", "air", "Windhoek", "NA", 2, (1, 4), 1, 1, 3, 1),
    LaneRow("tallinn", "Estonia by road", "road", "Tallinn", "EE", 6),
    LaneRow("san-antonio", "San Antonio by sea", "sea", "San Antonio", "CL", 33, (1,), 1, 3, 5, 3),
    LaneRow("spain", "Spain by road", "road", "Zaragoza", "ES", 2),
    LaneRow("bergen", "Bergen by sea", "sea", "Bergen", "NO", 6, (2, 5), 1, 2, 2, 1),
    LaneRow("mombasa", "Mombasa by sea", "sea", "Mombasa", "KE", 30, (6,), 1, 3, 8, 4),
    LaneRow("nairobi-air", "Nairobi by air", "air", "Nairobi", "KE", 2, (0, 2, 4), 1, 1, 4, 1),
)


def load_works(*, by: Person, at: datetime, today: date) -> None:
    """Set up calendars, work centres and templates."""
    years = (today.year - 1, today.year, today.year + 1)
    calendars: dict[str, Calendar] = {}
    for name, shifts in (
        ("Day shift", ONE_SHIFT),
        ("Two shifts", TWO_SHIFTS),
        ("Three shifts", THREE_SHIFTS),
    ):
        calendar = add_calendar(name=name, shifts=shifts, by=by, at=at)
        seed_public_holidays(calendar=calendar, years=years, by=by, at=at)
        for year in years[:2]:
            close_days(
                calendar_id=calendar.pk,
                first=date(year, 12, 27),
                last=date(year, 12, 31),
                kind=CalendarDay.Kind.SHUTDOWN,
                note="works shutdown",
                by=by,
                at=at,
            )
        calendars[name] = calendar
    load_standard_work_centres(calendar_id=calendars["Day shift"].pk, by=by, at=at)
    for name, codes in BY_CALENDAR.items():
        for code in codes:
            change_work_centre(code=code, calendar_id=calendars[name].pk, by=by, at=at)
    load_standard_templates(by=by, at=at)


def load_lanes(*, by: Person, at: datetime) -> dict[str, Lane]:
    """The freight lanes, by a short key."""
    return {
        row.key: add_lane(
            name=row.name,
            mode=row.mode,
            destination=row.destination,
            country=row.country,
            door_to_port_days=row.door_to_port,
            cut_off_days=row.cut_off,
            sailing_weekdays=row.weekdays,
            voyage_days=row.voyage,
            customs_days=row.customs,
            haulage_days=row.haulage,
            by=by,
            at=at,
        )
        for row in LANES
    }
