"""Freight lanes: added and changed."""

from collections.abc import Sequence
from datetime import datetime
from typing import Any

from django.db import transaction

from schedule.errors import BadFigure, NoSuchThing, TableTrouble
from schedule.facts import Fact
from schedule.models import Lane
from schedule.planning.errors import PlanningError
from schedule.queries.lanes import planning_lane
from works.events import record
from works.models import Person
from works.people import Group, require

FIELDS = (
    "name",
    "mode",
    "destination",
    "country",
    "door_to_port_days",
    "cut_off_days",
    "sailing_weekdays",
    "voyage_days",
    "customs_days",
    "haulage_days",
    "withdrawn",
)


@transaction.atomic
def add_lane(
    *,
    name: str,
    mode: str,
    destination: str,
    country: str,
    by: Person | None,
    at: datetime,
    door_to_port_days: int = 0,
    cut_off_days: int = 0,
    sailing_weekdays: Sequence[int] = (),
    voyage_days: int = 0,
    customs_days: int = 0,
    haulage_days: int = 0,
) -> Lane:
    """Add a way from the works' door to a site.

    sailing_weekdays : 0 is Monday; none by road means any day
    raises : NotAllowed, BadFigure, TableTrouble
    """
    _may(by, "add a freight lane")
    if Lane.objects.filter(name=name.strip()).exists():
        raise BadFigure(field="The lane's name", value=repr(name), right="one not yet used")
    lane = Lane(
        name=name.strip(),
        mode=mode,
        destination=destination.strip(),
        country=country.strip().upper(),
        door_to_port_days=door_to_port_days,
        cut_off_days=cut_off_days,
        sailing_weekdays=sorted(set(sailing_weekdays)),
        voyage_days=voyage_days,
        customs_days=customs_days,
        haulage_days=haulage_days,
    )
    _check(lane)
    lane.save()
    record(Fact.LANE_ADDED, about=lane, by=by, at=at, after=_said(lane))
    return lane


@transaction.atomic
def change_lane(*, lane_id: int, by: Person | None, at: datetime, **fields: Any) -> Lane:
    """Change a lane; what is left out stays. Orders on it keep their dates until somebody asks.

    raises : NotAllowed, NoSuchThing, BadFigure, TableTrouble
    """
    _may(by, "change a freight lane")
    lane = Lane.objects.select_for_update().filter(pk=lane_id).first()
    if lane is None:
        raise NoSuchThing(what="freight lane", key=lane_id)
    before = _said(lane)
    for field, value in fields.items():
        if field not in FIELDS:
            raise BadFigure(field="A lane's field", value=field, right=", ".join(FIELDS))
        setattr(lane, field, value)
    if Lane.objects.filter(name=lane.name).exclude(pk=lane.pk).exists():
        raise BadFigure(field="The lane's name", value=repr(lane.name), right="one not yet used")
    _check(lane)
    lane.save()
    record(Fact.LANE_CHANGED, about=lane, by=by, at=at, before=before, after=_said(lane))
    return lane


def _may(by: Person | None, deed: str) -> None:
    if by is not None:
        require(by, Group.PLANNER, Group.APPLICATION_ENGINEER, deed=deed)


def _check(lane: Lane) -> None:
    if not lane.name or not lane.destination:
        raise BadFigure(field="The lane's name or destination", value="empty", right="given")
    if lane.mode not in Lane.Mode.values:
        raise BadFigure(field="The mode", value=lane.mode, right="sea, road or air")
    if len(lane.country) != 2:
        raise BadFigure(field="The country", value=lane.country, right="two letters, such as NA")
    try:
        planning_lane(lane)
    except PlanningError as error:
        raise TableTrouble(why=str(error)) from error


def _said(lane: Lane) -> dict[str, object]:
    return {field: getattr(lane, field) for field in FIELDS}
