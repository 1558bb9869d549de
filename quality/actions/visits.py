"""Visits of inspectors: planned with their notice, moved, and what came of them.

One visit may cover several points and several units of one route. A visit that took place
releases nothing: each point is released by itself, with its record.
"""

from collections.abc import Sequence
from datetime import date, datetime

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from quality import errors
from quality.facts import Fact
from quality.models import InspectionPoint, Part, Party, Release, Visit
from quality.notice import WorkingDays, working_days
from schedule.actions.gates import expect_release
from schedule.actions.gates import give_notice as notify
from schedule.actions.locks import lock_route
from works.errors import ChangedMeanwhile, ReasonMissing, TimeInFuture
from works.events import record
from works.models import Person
from works.people import Group, require


@transaction.atomic
def plan_visit(
    *,
    point_ids: Sequence[int],
    party: Party | str,
    on: date,
    inspector: str = "",
    note: str = "",
    by: Person,
    at: datetime,
) -> Visit:
    """Plan a visit of one party to points of one route.

    note : needed when the notice is shorter than agreed: who agreed to that
    The schedule then counts on that day for the release of the points' holds.
    raises : NotAllowed, VisitWithoutPoints, VisitOfSeveralRoutes, NoticeTooShort
    """
    require(by, Group.QUALITY_ENGINEER, Group.PLANNER, deed="plan a visit")
    party = Party(party)
    points = list(_points(point_ids, party))
    if not points:
        raise errors.VisitWithoutPoints(party=party)
    if len({point.plan.route_id for point in points}) > 1:
        raise errors.VisitOfSeveralRoutes
    notice_by = _notice_by(points, on)
    if not note.strip():
        _refuse_short_notice(points, on, notice_by, today=timezone.localdate(at))
    lock_route(points[0].plan.route_id)
    visit = Visit.objects.create(
        route=points[0].plan.route,
        party=party,
        inspector=inspector.strip(),
        on=on,
        notice_by_on=notice_by,
        note=note.strip(),
    )
    visit.points.set(points)
    _expect(points, on, by, at)
    record(
        Fact.VISIT_PLANNED,
        about=visit,
        by=by,
        at=at,
        after={"on": str(on), "notice by": str(notice_by), "points": [p.pk for p in points]},
    )
    return visit


@transaction.atomic
def give_notice(*, visit_id: int, version: int, on: date, by: Person, at: datetime) -> Visit:
    """Note the day on which notice of the visit was sent.

    raises : NotAllowed, ChangedMeanwhile, VisitIsOver, TimeInFuture
    """
    require(by, Group.QUALITY_ENGINEER, Group.PLANNER, deed="give notice of a visit")
    visit = _open(visit_id, version)
    today = timezone.localdate(at)
    if on > today:
        raise TimeInFuture(what="The notice", stated=str(on), now=str(today))
    before = visit.state
    visit.notice_sent_on, visit.state = on, Visit.State.NOTICE_SENT
    _save(visit, "notice_sent_on", "state")
    gates = visit.points.filter(gate__isnull=False, withdrawn_at=None)
    notify(gate_ids=list(gates.values_list("gate_id", flat=True)), on=on, by=by, at=at)
    record(
        Fact.VISIT_NOTICE_GIVEN,
        about=visit,
        by=by,
        at=at,
        before={"state": before},
        after={"on": str(on), "late": on > visit.notice_by_on},
    )
    return visit


@transaction.atomic
def agree_visit(
    *, visit_id: int, version: int, inspector: str = "", by: Person, at: datetime
) -> Visit:
    """The inspector has said to come; the notice counts as given that day if it was not noted.

    raises : NotAllowed, ChangedMeanwhile, VisitIsOver
    """
    require(by, Group.QUALITY_ENGINEER, Group.PLANNER, deed="agree a visit")
    visit = _open(visit_id, version)
    before = visit.state
    visit.state = Visit.State.AGREED
    visit.notice_sent_on = visit.notice_sent_on or timezone.localdate(at)
    visit.inspector = inspector.strip() or visit.inspector
    _save(visit, "state", "notice_sent_on", "inspector")
    record(
        Fact.VISIT_AGREED,
        about=visit,
        by=by,
        at=at,
        before={"state": before},
        after={"inspector": visit.inspector},
    )
    return visit


@transaction.atomic
def move_visit(
    *, visit_id: int, version: int, on: date, why: str, by: Person, at: datetime
) -> Visit:
    """Move a visit to another day, such as a day later because the inspector asked for it.

    The notice already given stands: the party knows of the visit.
    raises : NotAllowed, ReasonMissing, ChangedMeanwhile, VisitIsOver
    """
    require(by, Group.QUALITY_ENGINEER, Group.PLANNER, deed="move a visit")
    if not why.strip():
        raise ReasonMissing(deed="move a visit")
    visit = _open(visit_id, version)
    before = visit.on
    points = list(visit.points.select_related("operation", "gate__calendar", "plan"))
    visit.on, visit.note = on, why.strip()
    visit.notice_by_on = _notice_by(points, on)
    _save(visit, "on", "note", "notice_by_on")
    _expect(points, on, by, at)
    record(
        Fact.VISIT_MOVED,
        about=visit,
        by=by,
        at=at,
        before={"on": str(before)},
        after={"on": str(on), "why": visit.note},
    )
    return visit


@transaction.atomic
def visit_took_place(
    *, visit_id: int, version: int, inspector: str = "", note: str = "", by: Person, at: datetime
) -> Visit:
    """The inspector came.

    raises : NotAllowed, ChangedMeanwhile, VisitIsOver, TimeInFuture
    """
    require(by, Group.QUALITY_ENGINEER, deed="report a visit")
    visit = _due(visit_id, version, at)
    visit.state = Visit.State.CAME
    visit.inspector = inspector.strip() or visit.inspector
    visit.note = note.strip() or visit.note
    _save(visit, "state", "inspector", "note")
    record(Fact.VISIT_TOOK_PLACE, about=visit, by=by, at=at, after={"inspector": visit.inspector})
    return visit


@transaction.atomic
def visit_was_missed(
    *, visit_id: int, version: int, note: str = "", by: Person, at: datetime
) -> Visit:
    """The inspector did not come.

    Points that the party only witnesses are marked so, since work goes on without the witness.
    Its holds stay closed: they need a release or a waiver in writing.
    raises : NotAllowed, ChangedMeanwhile, VisitIsOver, TimeInFuture
    """
    require(by, Group.QUALITY_ENGINEER, deed="report a visit")
    visit = _due(visit_id, version, at)
    visit.state, visit.note = Visit.State.DID_NOT_COME, note.strip() or visit.note
    _save(visit, "state", "note")
    witnessed = [
        point
        for point in visit.points.filter(withdrawn_at=None).exclude(releases__party=visit.party)
        if point.parties().get(visit.party) == Part.WITNESS
    ]
    for point in witnessed:
        point.releases.create(
            party=visit.party,
            kind=Release.Kind.NOT_ATTENDED,
            signed_by=str(by),
            record=f"Visit on {visit.on}: {visit.note or 'nobody came'}",
            by=by,
            at=at,
        )
        record(Fact.WITNESS_DID_NOT_COME, about=point, by=by, at=at, after={"visit": visit.pk})
    record(
        Fact.VISIT_MISSED,
        about=visit,
        by=by,
        at=at,
        after={"note": visit.note, "witness points": [point.pk for point in witnessed]},
    )
    return visit


@transaction.atomic
def cancel_visit(*, visit_id: int, version: int, why: str, by: Person, at: datetime) -> Visit:
    """Call a visit off.

    raises : NotAllowed, ReasonMissing, ChangedMeanwhile, VisitIsOver
    """
    require(by, Group.QUALITY_ENGINEER, Group.PLANNER, deed="cancel a visit")
    if not why.strip():
        raise ReasonMissing(deed="cancel a visit")
    visit = _open(visit_id, version)
    before = visit.state
    visit.state, visit.note = Visit.State.CANCELLED, why.strip()
    _save(visit, "state", "note")
    record(
        Fact.VISIT_CANCELLED,
        about=visit,
        by=by,
        at=at,
        before={"state": before},
        after={"why": visit.note},
    )
    return visit


def _points(point_ids: Sequence[int], party: Party) -> QuerySet[InspectionPoint]:
    column = {
        Party.MAKER: "maker",
        Party.CUSTOMER: "customer",
        Party.THIRD_PARTY: "third_party",
    }[party]
    return (
        InspectionPoint.objects.filter(pk__in=point_ids, withdrawn_at=None)
        .exclude(**{column: Part.NONE})
        .select_related("operation", "gate__calendar", "plan__route")
    )


def _notice_by(points: Sequence[InspectionPoint], on: date) -> date:
    """The last day on which notice of all the points can be given in time."""
    return min((_days(point).before(on, point.notice_days) for point in points), default=on)


def _days(point: InspectionPoint) -> WorkingDays:
    return working_days(point.gate.calendar if point.gate else None)


def _refuse_short_notice(
    points: Sequence[InspectionPoint], on: date, notice_by: date, *, today: date
) -> None:
    if notice_by >= today:
        return
    longest = max(points, key=lambda point: point.notice_days)
    raise errors.NoticeTooShort(
        on=on,
        days=longest.notice_days,
        last=notice_by,
        earliest=max(_days(point).after(today, point.notice_days) for point in points),
    )


def _expect(points: Sequence[InspectionPoint], on: date, by: Person, at: datetime) -> None:
    """Tell the schedule on which day the points' holds can be released."""
    for point in points:
        if point.gate is not None and point.gate.is_open:
            expect_release(gate_id=point.gate.pk, on=on, by=by, at=at)


def _open(visit_id: int, version: int) -> Visit:
    lock_route(Visit.objects.values_list("route_id", flat=True).get(pk=visit_id))
    visit = Visit.objects.select_for_update().get(pk=visit_id)
    if visit.is_over:
        raise errors.VisitIsOver(visit=str(visit), state=visit.state)
    if visit.version != version:
        raise ChangedMeanwhile(what=f"The {visit}")
    return visit


def _due(visit_id: int, version: int, at: datetime) -> Visit:
    visit = _open(visit_id, version)
    today = timezone.localdate(at)
    if visit.on > today:
        raise TimeInFuture(what=f"The {visit}", stated=str(visit.on), now=str(today))
    return visit


def _save(visit: Visit, *fields: str) -> None:
    visit.version += 1
    visit.save(update_fields=[*fields, "version"])
