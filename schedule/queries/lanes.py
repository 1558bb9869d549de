"""Freight lanes as planning reckons with them, closed days included."""

from collections.abc import Callable
from datetime import date, datetime

from schedule.models import Lane, WorkCentre
from schedule.planning import freight
from schedule.planning.calendars import WorkingTime
from schedule.working_time import end_of, midnight, working_times
from works.models import Site
from works.people import Area


def planning_lane(lane: Lane) -> freight.Lane:
    """A lane's row as the pure package knows it.

    raises : BadLane
    """
    return freight.Lane(
        name=lane.name,
        mode=freight.Mode(lane.mode),
        to_terminal_days=lane.door_to_port_days,
        cut_off_days=lane.cut_off_days,
        weekdays=tuple(lane.sailing_weekdays),
        passage_days=lane.voyage_days,
        customs_days=lane.customs_days,
        haulage_days=lane.haulage_days,
    )


def shipping_calendar(now: datetime) -> WorkingTime | None:
    """The calendar of whoever packs; None while no dispatch work centre is set up."""
    centre = WorkCentre.objects.filter(area=Area.DISPATCH, closed_for_good=False).first()
    if centre is None:
        return None
    times = working_times([centre.calendar_id], zone=Site.current().zone, now=now)
    return times.by_id.get(centre.calendar_id)


def ship_by(lane: Lane, on_site_on: date, *, now: datetime) -> freight.Shipment:
    """The last day that the works may ship for a date on site, each step shown.

    raises : NoSailing, BadLane
    """
    return freight.ship_by(planning_lane(lane), on_site_on, closed=_closed(now))


def on_site(lane: Lane, ship_on: date, *, now: datetime) -> freight.Shipment:
    """The day on site of what ships on a day, each step shown.

    raises : NoSailing, BadLane
    """
    return freight.on_site(planning_lane(lane), ship_on, closed=_closed(now))


def _closed(now: datetime) -> Callable[[date], bool]:
    """Tells whether the works ships nothing on a day."""
    calendar, zone = shipping_calendar(now), Site.current().zone

    def closed(on: date) -> bool:
        if calendar is None:
            return False
        first, last = midnight(on, zone), end_of(on, zone)
        if first < calendar.begins or last > calendar.ends:
            return False
        return calendar.between(first, last) == 0

    return closed
