"""Writing reports down, and bringing operations to where their reports say they stand."""

from collections.abc import Callable, Sequence
from datetime import datetime

from schedule.errors import ReportContradicts
from schedule.models import Operation, Progress
from schedule.standing import Passed, standing
from schedule.working_time import WorkingTimes, minute, working_times
from works.models import Site

FIELDS = (
    "state",
    "started_at",
    "finished_at",
    "remaining_minutes",
    "remaining_at",
    "stop_reason",
)


def write(rows: Sequence[Progress]) -> list[Progress]:
    """Insert reports; their routes are locked, so that no key comes twice meanwhile."""
    return Progress.objects.bulk_create(rows)


def restate(operations: Sequence[Operation], at: datetime) -> None:
    """Bring operations to where their reports say they stand.

    raises : ReportContradicts
    """
    times = _times(operations, at)
    by_operation: dict[int, list[Progress]] = {operation.pk: [] for operation in operations}
    for row in Progress.objects.filter(operation__in=by_operation):
        by_operation[row.operation_id].append(row)
    for operation in operations:
        found = standing(
            by_operation[operation.pk],
            minutes=operation.minutes,
            passed=_passed(operation, times),
        )
        if found.trouble:
            raise ReportContradicts(
                operation=str(operation), why=f"by its reports {found.trouble}."
            )
        for field in FIELDS:
            setattr(operation, field, getattr(found, field))
        operation.version += 1
        operation.save(update_fields=[*FIELDS, "version"])


def _times(operations: Sequence[Operation], at: datetime) -> WorkingTimes:
    ids = {o.work_centre.calendar_id for o in operations if o.work_centre is not None}
    return working_times(ids, zone=Site.current().zone, now=at)


def _passed(operation: Operation, times: WorkingTimes) -> Passed:
    """Counts minutes of the operation's kind: open ones of its calendar, or all."""
    centre = operation.work_centre
    calendar = times.by_id.get(centre.calendar_id) if centre else None
    count: Callable[[int, int], int] = (
        (lambda first, last: last - first) if calendar is None else calendar.between
    )

    def passed(first: datetime, last: datetime) -> int:
        return count(minute(first), minute(last))

    return passed
