"""Reports from the floor: taken as they come, marked where odd, refused only where they can't be.

Late, overlapping and out-of-order reports are the truth about a working day and are taken.
Refused are a finish without a start, an open gate, a mismatch of what is in hand, a time in the
future, and work on a route that is held or given up.
"""

from collections.abc import Collection, Mapping, Sequence
from datetime import datetime

from django.db import transaction

from schedule.actions.elapsed import pass_elapsed
from schedule.actions.forecast import reforecast
from schedule.actions.locks import lock_operations
from schedule.actions.marks import Marker
from schedule.actions.restating import restate, write
from schedule.actions.starting import check_gates, confirm
from schedule.errors import (
    AlreadyReported,
    BadFigure,
    BookedElsewhere,
    NoSuchThing,
    NotStarted,
    ReportContradicts,
    RouteNotInWork,
)
from schedule.facts import Fact
from schedule.models import BoughtOut, Operation, Progress, Route
from schedule.working_time import local_date
from works.errors import ReasonMissing, TimeInFuture
from works.events import record
from works.models import Person, Site
from works.people import Area, Group, may, require_area

STOP_REASONS = (
    "end of shift",
    "waiting for material",
    "waiting for a crane",
    "waiting for inspection",
    "waiting for a drawing",
    "machine down",
    "tool or jig missing",
    "somebody ill",
    "power cut",
    "more urgent work",
    "defect found",
)
AT_A_DESK: dict[str, tuple[Group, ...]] = {
    Area.ENGINEERING: (Group.APPLICATION_ENGINEER,),
    Area.BUYING: (Group.BUYER,),
}
Deed = Progress.Deed
State = Operation.State


@transaction.atomic
def report(
    *,
    operation_ids: Collection[int],
    deed: str,
    stated_at: datetime,
    by: Person | None,
    at: datetime,
    reason: str = "",
    note: str = "",
    remaining_minutes: int | None = None,
    confirmed: Mapping[int, Mapping[str, str]] | None = None,
    key: str | None = None,
    started_at: datetime | None = None,
    worker: str = "",
) -> list[Progress]:
    """Take one report on one or several operations; all of it or nothing.

    deed : start, stop, resume, part done or finish
    stated_at : when it happened
    at : when it is reported
    confirmed : by operation, what the start found in hand
    key : of the sender; the same again changes nothing and returns what was written
    started_at : of a finish that also states its start
    worker : who did it, when somebody else reports
    raises : NotAllowed, NoSuchThing, RouteNotInWork, TimeInFuture, BadFigure, ReasonMissing,
        AlreadyReported, NotStarted, ReportContradicts, GateOpen, ConfirmationMissing, Mismatch
    """
    if not operation_ids:
        raise BadFigure(field="The operations", value="none", right="at least one, ticked")
    operations = lock_operations(operation_ids)
    # Looked for behind the lock: the same report may be on its way twice at once.
    if key and (there := list(Progress.objects.filter(key__in=_keys(key, operation_ids)))):
        return there
    for operation in operations:
        _may_report(by, operation, deed=f"report on {operation.name}")
    _check(operations, deed, stated_at, at, reason, remaining_minutes, started_at)
    starts = deed == Deed.START or (deed == Deed.FINISH and started_at is not None)
    beginning = [o for o in operations if starts and o.state == State.WAITING]
    confirmations = confirm(beginning, confirmed or {})
    check_gates(operations, beginning, finishing=deed == Deed.FINISH)
    marker = Marker(operations, at=at)
    rows = []
    for operation in operations:
        its = f"{key}:{operation.pk}" if key else None
        if operation in beginning and deed == Deed.FINISH and started_at is not None:
            rows.append(
                Progress(
                    operation=operation,
                    deed=Deed.START,
                    stated_at=started_at,
                    reported_at=at,
                    by=by,
                    worker=worker.strip(),
                    confirmed=confirmations.get(operation.pk, {}),
                    marks=marker.marks(operation, Deed.START, started_at, worker),
                )
            )
        rows.append(
            Progress(
                operation=operation,
                deed=deed,
                stated_at=stated_at,
                reported_at=at,
                by=by,
                worker=worker.strip(),
                reason=reason.strip(),
                note=note.strip()[:300],
                remaining_minutes=remaining_minutes,
                confirmed=confirmations.get(operation.pk, {}) if deed == Deed.START else {},
                marks=marker.marks(operation, deed, stated_at, worker),
                key=its,
            )
        )
    made = write(rows)
    before = {operation.pk: operation.state for operation in operations}
    restate(operations, at)
    for route_id in sorted({operation.route_id for operation in operations}):
        its_rows = [row for row in made if row.operation.route_id == route_id]
        record(
            Fact.PROGRESS_REPORTED,
            about=its_rows[0].operation.route,
            by=by,
            at=at,
            before={
                "states": {str(row.operation_id): before[row.operation_id] for row in its_rows}
            },
            after={"route": route_id, "reports": [_said(row) for row in its_rows]},
        )
    _follow(operations, at)
    return made


@transaction.atomic
def correct_report(
    *,
    report_id: int,
    by: Person | None,
    at: datetime,
    stated_at: datetime | None = None,
    withdraws: bool = False,
    reason: str = "",
    remaining_minutes: int | None = None,
    note: str = "",
) -> Progress:
    """Correct a mistaken report by a new one that says what it replaces.

    stated_at : when it really happened; left out, as stated before
    withdraws : it never happened at all
    raises : NotAllowed, NoSuchThing, RouteNotInWork, TimeInFuture, AlreadyReported,
        ReportContradicts, GateOpen
    """
    old = Progress.objects.filter(pk=report_id).first()
    if old is None:
        raise NoSuchThing(what="report", key=report_id)
    operation = lock_operations([old.operation_id])[0]
    bought = operation.kind == Operation.Kind.BOUGHT_OUT
    _may_report(by, operation, deed=f"correct a report on {operation.name}")
    _in_work(operation)
    if Progress.objects.filter(corrects=old).exists():
        right = "Correct the newer report instead."
        raise AlreadyReported(operation=operation.name, state="corrected there", right=right)
    when = old.stated_at if stated_at is None else stated_at
    _past(operation, when, at)
    new = write(
        [
            Progress(
                operation=operation,
                deed=old.deed,
                stated_at=when,
                reported_at=at,
                by=by,
                worker=old.worker,
                reason=reason.strip() or old.reason,
                note=note.strip()[:300] or old.note,
                remaining_minutes=(
                    old.remaining_minutes if remaining_minutes is None else remaining_minutes
                ),
                confirmed=old.confirmed,
                marks=[]
                if withdraws
                else Marker([operation], at=at).marks(operation, old.deed, when, old.worker),
                corrects=old,
                withdraws=withdraws,
            )
        ]
    )[0]
    before = _said(old)
    restate([operation], at)
    if bought:
        _book_again(operation)
    record(
        Fact.REPORT_CORRECTED,
        about=operation.route,
        by=by,
        at=at,
        before={"report": before},
        after={"route": operation.route_id, "withdrawn": withdraws, "report": _said(new)},
    )
    _follow([operation], at)
    return new


def _may_report(by: Person | None, operation: Operation, *, deed: str) -> None:
    """Supervisors of the area and planners; besides, whoever does that work at a desk.

    raises : NotAllowed
    """
    if by is None or may(by, Group.QUALITY_ENGINEER, *AT_A_DESK.get(operation.area, ())):
        return
    require_area(by, operation.area, deed=deed)


def _keys(key: str, operation_ids: Collection[int]) -> list[str]:
    if not 1 <= len(key) <= 40:
        raise BadFigure(field="The report's key", value=key, right="1 to 40 characters")
    return [f"{key}:{pk}" for pk in operation_ids]


def _check(
    operations: Sequence[Operation],
    deed: str,
    stated_at: datetime,
    at: datetime,
    reason: str,
    remaining_minutes: int | None,
    started_at: datetime | None,
) -> None:
    """What can be said without looking at gates or confirmations."""
    if deed not in Deed.values:
        raise BadFigure(field="The deed", value=deed, right=", ".join(Deed.values))
    if deed == Deed.STOP and not reason.strip():
        raise ReasonMissing(deed="stop work, choose the reason; to stop it")
    if deed == Deed.PART_DONE and remaining_minutes is None:
        raise BadFigure(field="What remains", value="empty", right="minutes still to be worked")
    if remaining_minutes is not None and not 0 <= remaining_minutes <= 100_000:
        raise BadFigure(field="What remains", value=remaining_minutes, right="0 to 100000 minutes")
    for operation in operations:
        _in_work(operation)
        if operation.kind == Operation.Kind.BOUGHT_OUT:
            raise BookedElsewhere(operation=operation.name)
        _past(operation, stated_at, at)
        if started_at is not None:
            _past(operation, started_at, at)
            if started_at > stated_at:
                raise ReportContradicts(
                    operation=operation.name, why="its finish is before its start."
                )
        _in_state(operation, deed, stated_at, started_at)


def _in_work(operation: Operation) -> None:
    route = operation.route
    if route.state != Route.State.RELEASED:
        raise RouteNotInWork(
            route=str(route), state=route.get_state_display(), deed="report work on it"
        )
    if operation.dropped_in is not None:
        raise RouteNotInWork(
            route=operation.name,
            state=f"no longer part of its route since revision {operation.dropped_in}",
            deed="report work on it",
        )


def _past(operation: Operation, stated: datetime, now: datetime) -> None:
    if stated > now:
        zone = Site.current().zone
        raise TimeInFuture(
            what=f"The report on {operation.name}",
            stated=f"{stated.astimezone(zone):%Y-%m-%d %H:%M}",
            now=f"{now.astimezone(zone):%Y-%m-%d %H:%M}",
        )


def _in_state(
    operation: Operation, deed: str, stated_at: datetime, started_at: datetime | None
) -> None:
    """Whether the deed can follow where the operation stands."""
    state, name = operation.state, str(operation)
    if state == State.FINISHED:
        right = "If that is wrong, correct its report."
        raise AlreadyReported(operation=name, state="finished", right=right)
    if deed == Deed.START and state != State.WAITING:
        right = "Resume it instead." if state == State.STOPPED else "Stop or finish it."
        raise AlreadyReported(operation=name, state=operation.get_state_display(), right=right)
    if deed == Deed.RESUME and state == State.STARTED:
        raise AlreadyReported(operation=name, state="in work", right="Nothing needs resuming.")
    if deed == Deed.STOP and state == State.STOPPED:
        right = "Resume it first."
        raise AlreadyReported(operation=name, state="stopped", right=right)
    if (
        state == State.WAITING
        and deed != Deed.START
        and (deed != Deed.FINISH or started_at is None)
    ):
        raise NotStarted(operation=name, deed=deed)
    if operation.started_at is not None and stated_at < operation.started_at:
        raise ReportContradicts(
            operation=name, why=f"it began at {_clock(operation.started_at)}, after that time."
        )


def _clock(at: datetime) -> str:
    return f"{at.astimezone(Site.current().zone):%Y-%m-%d %H:%M}"


def _book_again(operation: Operation) -> None:
    """Bring a bought-out's days to where its corrected reports say they are."""
    part = BoughtOut.objects.select_for_update().get(operation=operation)
    zone = Site.current().zone
    part.ordered_on, part.arrived_on = (
        None if at is None else local_date(at, zone)
        for at in (operation.started_at, operation.finished_at)
    )
    part.version += 1
    part.save(update_fields=["ordered_on", "arrived_on", "version"])


def _follow(operations: Sequence[Operation], at: datetime) -> None:
    """What time alone does goes on at once, and the forecasts move."""
    routes = {operation.route_id for operation in operations}
    pass_elapsed(route_ids=routes, now=at)
    reforecast(route_ids=routes, now=at)


def _said(row: Progress) -> dict[str, object]:
    return {
        "id": row.pk,
        "operation": row.operation_id,
        "name": str(row.operation),
        "deed": row.deed,
        "stated_at": row.stated_at.isoformat(),
        "marks": row.marks,
        "reason": row.reason,
    }
