"""What somebody from outside attends or releases, for the customer's page and report."""

from dataclasses import dataclass, replace
from datetime import date

from django.db.models import Q

from quality.models import InspectionPoint, Part, Party, Visit
from schedule.models import Operation


@dataclass(frozen=True)
class AttendLine:
    """A point that somebody from outside attends or releases, and when.

    units : serial numbers of those that it is still to come for; none when all share it
    """

    what: str
    units: tuple[str, ...]
    party: str
    part: str
    on: date | None
    state: str
    notice_days: int


PARTIES = (("you", "customer", Party.CUSTOMER), ("third party", "third_party", Party.THIRD_PARTY))


def attend_lines(routes: list[int]) -> tuple[AttendLine, ...]:
    """Points that the customer or a third party holds or witnesses and has not answered yet."""
    visits: dict[tuple[int, str], Visit] = {}
    for visit in (
        Visit.objects.upcoming()
        .filter(route_id__in=routes)
        .prefetch_related("points")
        .order_by("-on")
    ):
        for point in visit.points.all():
            visits[point.pk, visit.party] = visit  # the nearest one, being the last in this order
    points = (
        InspectionPoint.objects.filter(
            plan__route_id__in=routes, withdrawn_at=None, operation__dropped_in=None
        )
        .filter(~Q(customer="") | ~Q(third_party=""))
        .select_related("operation__unit", "gate")
        .prefetch_related("releases")
        .order_by("operation__position", "operation__unit__number", "pk")
    )
    lines: dict[AttendLine, list[str]] = {}
    for point in points:
        answered = {release.party for release in point.releases.all()}
        for name, field, party in PARTIES:
            letter = getattr(point, field)
            if letter not in {Part.HOLD, Part.WITNESS} or party in answered or _is_past(point):
                continue
            upcoming = visits.get((point.pk, party))
            unit = point.operation.unit
            line = AttendLine(
                what=point.characteristic,
                units=(),
                party=name,
                part=Part(letter).label,
                on=upcoming.on if upcoming else None,
                state=upcoming.get_state_display() if upcoming else "to be agreed",
                notice_days=point.notice_days,
            )
            units = lines.setdefault(line, [])  # units of one point stand on one line
            if unit is not None and unit.serial:
                units.append(unit.serial)
    return tuple(replace(line, units=tuple(units)) for line, units in lines.items())


def _is_past(point: InspectionPoint) -> bool:
    """Whether the work has gone by: nothing holds any more, and its operation is finished."""
    waits = point.gate is not None and point.gate.is_open
    return point.operation.state == Operation.State.FINISHED and not waits
