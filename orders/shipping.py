"""A date on site worked back to the day of shipping, and forth, each step shown.

An order without a lane is collected at the works: it ships on the day it is wanted.
"""

from dataclasses import dataclass
from datetime import date, datetime

from orders.errors import NoWay
from schedule.models import Lane
from schedule.planning.errors import PlanningError
from schedule.planning.freight import Leg
from schedule.queries import lanes


@dataclass(frozen=True)
class Way:
    """From the works' door to the site, day by day."""

    ship_on: date
    on_site_on: date
    legs: tuple[Leg, ...]


def worked_back(lane: Lane | None, on_site_on: date, *, now: datetime) -> Way:
    """The last day of shipping for a date on site.

    raises : NoWay
    """
    if lane is None:
        return Way(on_site_on, on_site_on, ())
    try:
        found = lanes.ship_by(lane, on_site_on, now=now)
    except PlanningError as error:
        raise NoWay(why=str(error)) from error
    return Way(found.ship_on, found.on_site_on, found.legs)


def worked_forth(lane: Lane | None, ship_on: date, *, now: datetime) -> Way:
    """The day on site of what is ready to leave on a day.

    raises : NoWay
    """
    if lane is None:
        return Way(ship_on, ship_on, ())
    try:
        found = lanes.on_site(lane, ship_on, now=now)
    except PlanningError as error:
        raise NoWay(why=str(error)) from error
    return Way(found.ship_on, found.on_site_on, found.legs)
