"""What is odd about a report that is taken all the same: late, out of order, overlapping."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from django.db.models import Q

from schedule.models import Link, Operation, Progress

LATE_AFTER = timedelta(hours=4)
"""A report stated longer ago than half a shift was made from memory."""

LATE, OUT_OF_ORDER, OVERLAPPING = "late", "out of order", "overlapping"


class Marker:
    """Marks the rows of one report; every lookup covers all its operations at once."""

    def __init__(self, operations: Sequence[Operation], *, at: datetime) -> None:
        self.at = at
        self.batch = operations
        ids = [operation.pk for operation in operations]
        self.before: dict[int, list[datetime | None]] = {}
        for after, finished_at in Link.objects.filter(
            after__in=ids, before__dropped_in=None
        ).values_list("after_id", "before__finished_at"):
            self.before.setdefault(after, []).append(finished_at)
        centres = {o.work_centre_id for o in operations if o.work_centre_id is not None}
        self.running = list(
            Operation.objects.live()
            .filter(work_centre__in=centres)
            .filter(started_at__isnull=False)
            .exclude(pk__in=ids)
            .exclude(state=Operation.State.STOPPED)
            .filter(Q(finished_at=None) | Q(finished_at__gt=at - timedelta(days=30)))
            .values_list("work_centre_id", "started_at", "finished_at")
        )
        self.by_worker: dict[str, list[tuple[datetime | None, datetime | None]]] = {}

    def marks(self, operation: Operation, deed: str, stated_at: datetime, worker: str) -> list[str]:
        """The marks of one operation's row."""
        marks = []
        if self.at - stated_at > LATE_AFTER:
            marks.append(LATE)
        if deed in {Progress.Deed.START, Progress.Deed.FINISH} and any(
            finished_at is None or finished_at > stated_at
            for finished_at in self.before.get(operation.pk, ())
        ):
            marks.append(OUT_OF_ORDER)
        if deed in {Progress.Deed.START, Progress.Deed.RESUME} and self._overlaps(
            operation, stated_at, worker.strip()
        ):
            marks.append(OVERLAPPING)
        return marks

    def _overlaps(self, operation: Operation, stated_at: datetime, worker: str) -> bool:
        """More work than places at that time, or one worker at two jobs."""
        centre = operation.work_centre
        if centre is not None:
            others = sum(
                1
                for pk, started_at, finished_at in self.running
                if pk == centre.pk
                and started_at is not None
                and started_at <= stated_at
                and (finished_at is None or finished_at > stated_at)
            )
            together = sum(1 for o in self.batch if o.work_centre_id == centre.pk)
            if others + together > centre.places:
                return True
        return bool(worker) and self._busy(operation, stated_at, worker)

    def _busy(self, operation: Operation, stated_at: datetime, worker: str) -> bool:
        if sum(1 for o in self.batch if o.kind == Operation.Kind.WORKING) > 1:
            return True
        if worker not in self.by_worker:
            self.by_worker[worker] = list(
                Operation.objects.live()
                .filter(
                    reports__worker=worker,
                    reports__deed=Progress.Deed.START,
                    kind=Operation.Kind.WORKING,
                )
                .exclude(pk=operation.pk)
                .exclude(state=Operation.State.STOPPED)
                .values_list("started_at", "finished_at")
            )
        return any(
            started_at is not None
            and started_at <= stated_at
            and (finished_at is None or finished_at > stated_at)
            for started_at, finished_at in self.by_worker[worker]
        )
