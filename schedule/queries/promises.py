"""The earliest ship date of something not yet ordered: a route grown on paper only.

It reckons with calendars, leads, notices and the works' own times, from now; not with what other
orders claim of the same places.
"""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from schedule.errors import RouteCannotGrow
from schedule.models import RouteTemplate, WorkCentre
from schedule.planning import network
from schedule.planning.conditions import Terms
from schedule.planning.errors import PlanningError
from schedule.planning.forecast import forecast
from schedule.planning.growing import grow
from schedule.planning.template import Template
from schedule.queries.growths import template_of
from schedule.working_time import (
    WorkingTimes,
    end_of,
    instant,
    local_date,
    minute,
    working_times,
)
from selection.configuration import Configuration
from works.models import Site

FAR = timedelta(days=730)


@dataclass(frozen=True)
class Promise:
    """When it could ship, and what that rests on.

    ship_on : the day of the last operation's finish
    days_in_hand : to the date asked for; None when none was [working d]
    begin_by_at : when the first operation must start for that date; None likewise
    chain : names of the operations that set the date, first to last
    """

    ship_at: datetime
    ship_on: date
    days_in_hand: float | None
    begin_by_at: datetime | None
    chain: tuple[str, ...]
    operations: int


class Promises:
    """Asked once for many: template, work centres and calendars are read the first time.

    raises : RouteCannotGrow for a template that does not do
    """

    def __init__(self, template: RouteTemplate, *, now: datetime) -> None:
        self.now, self.zone = now, Site.current().zone
        try:
            self.template: Template = template_of(template)
        except PlanningError as error:
            raise RouteCannotGrow(label=str(template), why=str(error)) from error
        rows = list(WorkCentre.objects.filter(closed_for_good=False).order_by("code"))
        times: WorkingTimes = working_times(
            {row.calendar_id for row in rows}, zone=self.zone, now=now
        )
        numbers = {pk: number for number, pk in enumerate(times.by_id)}
        self.calendars = tuple(times.by_id.values())
        self.centres = tuple(
            network.WorkCentre(
                key=row.code, places=row.places, calendar=numbers.get(row.calendar_id)
            )
            for row in rows
        )

    def earliest(
        self,
        configuration: Configuration | None,
        terms: Terms,
        *,
        quantity: int,
        due_on: date | None = None,
    ) -> Promise:
        """The earliest ship date of so many units.

        configuration : None for a spare without a hydraulic choice
        due_on : a ship-by to compare with
        raises : RouteCannotGrow
        """
        wanted = due_on or local_date(self.now + FAR, self.zone)
        try:
            growth = grow(self.template, configuration, terms, units=quantity)
            problem = growth.problem(
                due=end_of(wanted, self.zone),
                work_centres=self.centres,
                calendars=self.calendars,
            )
            worked = [op.calendar for op in problem.operations if op.calendar is not None]
            found = forecast(
                problem, now=minute(self.now), days_calendar=worked[-1] if worked else None
            )
        except PlanningError as error:
            raise RouteCannotGrow(label="This item", why=str(error)) from error
        names = {operation.key: operation.name for operation in growth.operations}
        first = instant(min(found.back.starts))
        return Promise(
            ship_at=instant(found.finish),
            ship_on=local_date(instant(found.finish), self.zone),
            days_in_hand=None if due_on is None else round(found.days_in_hand[0].days, 2),
            begin_by_at=None if due_on is None else first,
            chain=tuple(names[bind.operation] for bind in found.binding_chain()),
            operations=len(growth.operations),
        )
