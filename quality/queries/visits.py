"""Visits with their notice, for the desk, the customer's page and the status report."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.db.models import Prefetch, Q, QuerySet

from quality.models import InspectionPoint, Party, Visit


@dataclass(frozen=True, kw_only=True)
class VisitRow:
    """One visit in a list.

    days_left : until the visit [d]
    notice_days_left : until the last day of notice, negative after it [d]
    """

    pk: int
    version: int
    route: str
    party: str
    inspector: str
    on: date
    notice_by_on: date
    notice_sent_on: date | None
    state: str
    points: tuple[str, ...]
    note: str
    days_left: int
    notice_days_left: int

    @property
    def look(self) -> str:
        """Key of the state shown."""
        if self.state == Visit.State.CAME:
            return "done"
        if self.state in {Visit.State.DID_NOT_COME, Visit.State.CANCELLED}:
            return "cancelled"
        if self.days_left < 0:
            return "overdue"
        if self.notice_sent_on is None and self.notice_days_left < 0:
            return "late"
        return "due" if self.notice_sent_on is None and self.notice_days_left <= 2 else "planned"

    @property
    def word(self) -> str:
        if self.look == "overdue":
            return f"{self.state}; say what came of it"
        if self.look == "late":
            return "notice is late"
        if self.look == "due":
            return f"notice due in {self.notice_days_left} d"
        return self.state


def visit_rows(visits: QuerySet[Visit], today: date) -> list[VisitRow]:
    """Rows of visits; two SQL queries."""
    points = InspectionPoint.objects.select_related("operation__unit__route")
    found = visits.select_related("route").prefetch_related(Prefetch("points", points))
    return [
        VisitRow(
            pk=visit.pk,
            version=visit.version,
            route=str(visit.route),
            party=visit.party,
            inspector=visit.inspector,
            on=visit.on,
            notice_by_on=visit.notice_by_on,
            notice_sent_on=visit.notice_sent_on,
            state=visit.state,
            points=tuple(
                f"{point.characteristic}"
                + (f", {point.operation.unit}" if point.operation.unit else "")
                for point in visit.points.all()
            ),
            note=visit.note,
            days_left=(visit.on - today).days,
            notice_days_left=(visit.notice_by_on - today).days,
        )
        for visit in found
    ]


def upcoming(today: date) -> list[VisitRow]:
    """Every visit still to come or to be reported on, the nearest first."""
    return visit_rows(Visit.objects.upcoming(), today)


def inside_notice(today: date) -> list[VisitRow]:
    """Visits whose time of notice has begun or ends within two days."""
    return [row for row in upcoming(today) if row.notice_days_left <= 2]


def past(today: date, limit: int = 50) -> list[VisitRow]:
    return visit_rows(
        Visit.objects.exclude(pk__in=Visit.objects.upcoming()).order_by("-on")[:limit], today
    )


def dates_to_attend(route_ids: Collection[int], today: date) -> list[VisitRow]:
    """Visits of customer and third party to some routes, for their own page and report."""
    return visit_rows(
        Visit.objects.upcoming().filter(~Q(party=Party.MAKER), route_id__in=route_ids),
        today,
    )
