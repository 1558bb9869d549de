"""What the set-up pages show of calendars and templates."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from schedule.models import Calendar, CalendarDay, RouteTemplate, Shift
from schedule.planning.errors import PlanningError
from schedule.working_time import lay_out
from works.models import Site

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True)
class CalendarView:
    """A calendar's page.

    week : each weekday with its hours in words
    day_hours : open hours of the middlemost working day [h]
    trouble : why it cannot be planned with
    """

    week: tuple[tuple[str, str], ...]
    days: tuple[CalendarDay, ...]
    day_hours: float | None
    trouble: str


@dataclass(frozen=True)
class TemplateRow:
    """A template's row in words."""

    code: str
    name: str
    area: str
    work_centre: str
    duration: str
    per: str
    after: str
    only_when: str
    confirmations: str


def calendar_view(calendar: Calendar, *, now: datetime) -> CalendarView:
    """The week, and the days that differ from this year on."""
    shifts = list(calendar.shifts.all())
    trouble, hours = "", None
    try:
        hours = lay_out(calendar, zone=Site.current().zone, now=now).day_minutes / 60
    except PlanningError as error:
        trouble = str(error)
    return CalendarView(
        week=tuple((name, _hours(shifts, n)) for n, name in enumerate(WEEKDAYS)),
        days=tuple(calendar.days.filter(on__year__gte=now.year)),
        day_hours=hours,
        trouble=trouble,
    )


def _hours(shifts: Sequence[Shift], weekday: int) -> str:
    words = []
    for shift in shifts:
        if shift.weekday != weekday:
            continue
        spell = ""
        if shift.valid_from:
            spell += f" from {shift.valid_from}"
        if shift.valid_until:
            spell += f" until {shift.valid_until}"
        words.append(f"{shift.starts:%H:%M}–{shift.ends:%H:%M}{spell}")
    return ", ".join(words) or "closed"


def template_rows(template: RouteTemplate) -> tuple[TemplateRow, ...]:
    """A template's rows in its order."""
    found = []
    for stored in template.rows.all():
        row = stored.row
        found.append(
            TemplateRow(
                code=stored.code,
                name=row["name"],
                area=row["area"],
                work_centre=row["work_centre"],
                duration=_duration(row["kind"], row.get("minutes"), row.get("duration", "")),
                per=row["per"],
                after=", ".join(_after(a["code"], a.get("lag_minutes", 0)) for a in row["after"]),
                only_when=", ".join(row["only_when"]),
                confirmations=", ".join(row["confirmations"]),
            )
        )
    return tuple(found)


def _duration(kind: str, minutes: int | None, name: str) -> str:
    if minutes is None:
        return name
    return f"{minutes / 60:g} h" if kind == "working" else f"{minutes / 1440:g} d"


def _after(code: str, lag: int) -> str:
    return code if not lag else f"{code} + {lag / 1440:g} d"
