"""What time alone does: elapsed operations begin and end by themselves.

Those that concern safety (a mould that cools, a furnace) begin by themselves, and a person says
that they are over.
"""

from collections.abc import Collection
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from django.db import transaction

from schedule.actions.forecast import reforecast
from schedule.actions.locks import lock_routes
from schedule.actions.restating import restate, write
from schedule.facts import Fact
from schedule.models import Gate, Link, Operation, Progress, Route
from works.events import record

BATCH = 25
State = Operation.State


def finish_elapsed(*, now: datetime) -> int:
    """Begin and end what time has done on every route in work.

    returns : how many operations began or ended
    """
    ids = list(
        Route.objects.filter(
            state=Route.State.RELEASED,
            operations__kind=Operation.Kind.ELAPSED,
            operations__dropped_in=None,
            operations__finished_at=None,
        )
        .distinct()
        .order_by("pk")
        .values_list("pk", flat=True)
    )
    count = 0
    for start in range(0, len(ids), BATCH):
        with transaction.atomic():
            batch = ids[start : start + BATCH]
            lock_routes(batch)
            moved = pass_elapsed(route_ids=batch, now=now)
            reforecast(route_ids=moved, now=now)
            count += sum(moved.values())
    return count


@dataclass
class _Waits:
    """What an elapsed operation waits for."""

    finishes: list[datetime | None] = field(default_factory=list)
    lets_go: list[datetime] = field(default_factory=list)
    held: bool = False
    held_during: bool = False


def pass_elapsed(*, route_ids: Collection[int], now: datetime) -> dict[int, int]:
    """Begin and end what time has done, on routes already locked.

    returns : by route, how many operations began or ended
    """
    operations = list(
        Operation.objects.open()
        .select_related("route", "unit", "work_centre")
        .filter(
            route_id__in=route_ids,
            route__state=Route.State.RELEASED,
            kind=Operation.Kind.ELAPSED,
        )
        .order_by("route_id", "position")
    )
    if not operations:
        return {}
    waits = _waits(operations)
    by_pk = {operation.pk: operation for operation in operations}
    followers: dict[int, list[tuple[int, int]]] = {}
    for before, after, lag in Link.objects.filter(before__in=by_pk, after__in=by_pk).values_list(
        "before_id", "after_id", "lag_minutes"
    ):
        followers.setdefault(before, []).append((after, lag))
    rows: list[Progress] = []
    waiting = list(operations)
    for operation in waiting:  # grows as chains of elapsed operations follow one another
        its = waits[operation.pk]
        began, ended = _passed(operation, its, now)
        if began is not None:
            rows.append(_row(operation, Progress.Deed.START, began, now))
            operation.state, operation.started_at = State.STARTED, began
        if ended is not None:
            rows.append(_row(operation, Progress.Deed.FINISH, ended, now))
            operation.state, operation.finished_at = State.FINISHED, ended
            for after, lag in followers.get(operation.pk, ()):
                told = waits[after].finishes
                told.remove(None)
                told.append(ended + timedelta(minutes=lag))
                waiting.append(by_pk[after])
    if not rows:
        return {}
    write(rows)
    restate(list({row.operation_id: row.operation for row in rows}.values()), now)
    moved: dict[int, int] = {}
    for row in rows:
        moved[row.operation.route_id] = moved.get(row.operation.route_id, 0) + 1
    for route_id in moved:
        its_rows = [row for row in rows if row.operation.route_id == route_id]
        passed = [
            {"operation": row.operation_id, "name": str(row.operation), "deed": row.deed}
            for row in its_rows
        ]
        record(
            Fact.ELAPSED_PASSED,
            about=its_rows[0].operation.route,
            by=None,
            at=now,
            after={"route": route_id, "reports": passed},
        )
    return moved


def _waits(operations: Collection[Operation]) -> dict[int, _Waits]:
    """Predecessors' finishes with their lags, and gates, in two queries."""
    waits = {operation.pk: _Waits() for operation in operations}
    befores: dict[int, list[int]] = {}
    for before, after, finished_at, lag in Link.objects.filter(
        after__in=waits, before__dropped_in=None
    ).values_list("before_id", "after_id", "before__finished_at", "lag_minutes"):
        befores.setdefault(before, []).append(after)
        waits[after].finishes.append(finished_at and finished_at + timedelta(minutes=lag))
    for operation_id, timing, cleared_at, at_risk_at in Gate.objects.filter(
        operation__in={*waits, *befores}, withdrawn_at=None
    ).values_list("operation_id", "timing", "cleared_at", "at_risk_at"):
        passed_at = min((at for at in (cleared_at, at_risk_at) if at is not None), default=None)
        if timing == Gate.Timing.DURING:
            if operation_id in waits and passed_at is None:
                waits[operation_id].held_during = True
            continue
        held = befores.get(operation_id, []) if timing == Gate.Timing.AFTER else [operation_id]
        for pk in held:
            if pk not in waits:
                continue
            if passed_at is None:
                waits[pk].held = True
            else:
                waits[pk].lets_go.append(passed_at)
    return waits


def _passed(
    operation: Operation, waits: _Waits, now: datetime
) -> tuple[datetime | None, datetime | None]:
    """When it began and when it ended, where that is past and not yet written."""
    began = None
    if operation.state == State.WAITING:
        finishes = [at for at in waits.finishes if at is not None]
        if waits.held or not finishes or len(finishes) < len(waits.finishes):
            return None, None
        began = max([*finishes, *waits.lets_go])
        if began > now:
            return None, None
    elif operation.state != State.STARTED:
        return None, None
    since = began or operation.started_at
    if since is None or operation.safety_related or waits.held_during:
        return began, None
    ends = since + timedelta(minutes=operation.minutes)
    return began, ends if ends <= now else None


def _row(operation: Operation, deed: str, stated_at: datetime, now: datetime) -> Progress:
    return Progress(operation=operation, deed=deed, stated_at=stated_at, reported_at=now, by=None)
