"""Work centres: added and changed."""

import csv
from datetime import datetime
from importlib import resources

from django.db import transaction

from schedule.errors import BadFigure, NoSuchThing
from schedule.facts import Fact
from schedule.models import Calendar, Operation, WorkCentre
from works.cautions import CAUTIONS
from works.events import record
from works.models import Person
from works.people import Area, Group, require

FIELDS = ("name", "area", "places", "calendar_id", "firm_days", "caution", "closed_for_good")


@transaction.atomic
def add_work_centre(
    *,
    code: str,
    name: str,
    area: str,
    calendar_id: int,
    by: Person | None,
    at: datetime,
    places: int = 1,
    firm_days: int = 0,
    caution: str = "",
) -> WorkCentre:
    """Add a work centre.

    places : operations side by side
    firm_days : working days ahead that only a person moves [d]
    raises : NotAllowed, BadFigure, NoSuchThing
    """
    _may(by, "add a work centre")
    code = code.strip().upper()
    if not code or WorkCentre.objects.filter(code=code).exists():
        raise BadFigure(field="The work centre's code", value=repr(code), right="one not yet used")
    centre = WorkCentre(
        code=code,
        name=name.strip(),
        area=area,
        places=places,
        calendar_id=calendar_id,
        firm_days=firm_days,
        caution=caution,
    )
    _check(centre)
    centre.save()
    after = {"code": code, **_said(centre)}
    record(Fact.WORK_CENTRE_ADDED, about=centre, by=by, at=at, after=after)
    return centre


@transaction.atomic
def change_work_centre(
    *,
    code: str,
    by: Person | None,
    at: datetime,
    name: str | None = None,
    area: str | None = None,
    places: int | None = None,
    calendar_id: int | None = None,
    firm_days: int | None = None,
    caution: str | None = None,
    closed_for_good: bool | None = None,
) -> WorkCentre:
    """Change a work centre; what is left out stays.

    raises : NotAllowed, NoSuchThing, BadFigure
    """
    _may(by, "change a work centre")
    centre = WorkCentre.objects.select_for_update().filter(code=code).first()
    if centre is None:
        raise NoSuchThing(what="work centre", key=code)
    before = _said(centre)
    given = {
        "name": name,
        "area": area,
        "places": places,
        "calendar_id": calendar_id,
        "firm_days": firm_days,
        "caution": caution,
        "closed_for_good": closed_for_good,
    }
    for field, value in given.items():
        if value is not None:
            setattr(centre, field, value)
    _check(centre)
    if closed_for_good and Operation.objects.open().filter(work_centre=centre).exists():
        right = "open while operations are still to be done there"
        raise BadFigure(field=f"{centre}", value="closed for good", right=right)
    centre.save()
    record(Fact.WORK_CENTRE_CHANGED, about=centre, by=by, at=at, before=before, after=_said(centre))
    return centre


@transaction.atomic
def load_standard_work_centres(*, calendar_id: int, by: Person | None, at: datetime) -> int:
    """Add those work centres the house's templates name that are not there yet.

    returns : how many are new
    raises : NotAllowed, NoSuchThing
    """
    there = set(WorkCentre.objects.values_list("code", flat=True))
    table = resources.files("schedule.planning") / "templates" / "work_centres.csv"
    rows = csv.DictReader(table.read_text(encoding="utf-8").splitlines())
    fresh = [row for row in rows if row["code"] not in there]
    for row in fresh:
        add_work_centre(
            code=row["code"],
            name=row["name"],
            area=row["area"],
            calendar_id=calendar_id,
            places=int(row["places"]),
            firm_days=int(row["firm_days"]),
            caution=row["caution"],
            by=by,
            at=at,
        )
    return len(fresh)


def _may(by: Person | None, deed: str) -> None:
    if by is not None:
        require(by, Group.PLANNER, deed=deed)


def _check(centre: WorkCentre) -> None:
    if not centre.name:
        raise BadFigure(field="The work centre's name", value="empty", right="its name")
    if centre.area not in Area.values:
        raise BadFigure(field="The area", value=centre.area, right=", ".join(Area.values))
    if not 1 <= centre.places <= 99:
        raise BadFigure(field="The number of places", value=centre.places, right="from 1 to 99")
    if not 0 <= centre.firm_days <= 60:
        raise BadFigure(field="The firm days", value=centre.firm_days, right="from 0 to 60")
    if centre.caution and centre.caution not in CAUTIONS:
        raise BadFigure(field="The caution", value=centre.caution, right=", ".join(CAUTIONS))
    if not Calendar.objects.filter(pk=centre.calendar_id).exists():
        raise NoSuchThing(what="calendar", key=centre.calendar_id)


def _said(centre: WorkCentre) -> dict[str, object]:
    return {field: getattr(centre, field) for field in FIELDS}
