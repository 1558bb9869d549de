"""One route as a page shows it: operations by unit and area, holds, binding chain, reports."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import QuerySet

from schedule.models import Gate, Link, Operation, Progress, Route, RouteRevision, Unit
from schedule.queries.sentences import first_line
from works.models import Site


@dataclass(frozen=True)
class GateRow:
    """A hold on an operation.

    state : open, released, at-own-risk or withdrawn
    """

    pk: int
    timing: str
    reason: str
    state: str
    notice_days: int
    notified_on: date | None
    expected_on: date | None
    never_at_risk: bool
    by: str
    at: datetime | None
    scope: str
    limit: str


@dataclass(frozen=True)
class OperationRow:
    """An operation with its dates."""

    pk: int
    code: str
    name: str
    area: str
    work_centre: str
    kind: str
    minutes: int
    state: str
    look: str
    started_at: datetime | None
    finished_at: datetime | None
    earliest_start_at: datetime | None
    earliest_finish_at: datetime | None
    latest_start_at: datetime | None
    latest_finish_at: datetime | None
    days_in_hand: float | None
    binds: bool
    waits_for: str
    stop_reason: str
    drawing: str
    repeat: int
    late_start: bool
    gates: tuple[GateRow, ...]
    after: tuple[str, ...]

    @property
    def duration(self) -> str:
        """Worked hours, or days that pass."""
        if self.kind == Operation.Kind.WORKING:
            return f"{self.minutes / 60:g} h"
        return f"{self.minutes / 1440:g} d"

    @property
    def is_held(self) -> bool:
        return any(gate.state == "open" for gate in self.gates)


@dataclass(frozen=True)
class AreaGroup:
    area: str
    rows: tuple[OperationRow, ...]


@dataclass(frozen=True)
class UnitGroup:
    """Operations of one unit, or those that all units share (number 0)."""

    number: int
    title: str
    serial: str
    due_on: date | None
    shipped_on: date | None
    forecast_ship_at: datetime | None
    days_in_hand: float | None
    unit_id: int | None
    areas: tuple[AreaGroup, ...]


@dataclass(frozen=True)
class ReportRow:
    """A report from the floor, and what became of it."""

    pk: int
    operation_id: int
    operation: str
    unit: int | None
    deed: str
    stated_at: datetime
    reported_at: datetime
    by: str
    worker: str
    reason: str
    note: str
    marks: tuple[str, ...]
    confirmed: tuple[tuple[str, str], ...]
    corrects: int | None
    withdrawn: bool
    corrected: bool

    @property
    def marks_words(self) -> str:
        return ", ".join(self.marks)


@dataclass(frozen=True)
class RevisionRow:
    """A revision of the route, with how many operations it touched."""

    number: int
    at: datetime
    by: str
    reason: str
    added: int
    dropped: int
    repeated: int


@dataclass(frozen=True)
class RouteView:
    """Everything that a route's page shows."""

    route: Route
    first_line: str
    units: tuple[UnitGroup, ...]
    chain: tuple[OperationRow, ...]
    left: tuple[OperationRow, ...]
    reports: tuple[ReportRow, ...]
    revisions: tuple[RevisionRow, ...]
    done: int
    total: int


def route_view(route: Route, *, now: datetime) -> RouteView:
    """A route's page, in a constant number of queries."""
    operations = list(
        Operation.objects.filter(route=route)
        .select_related("unit", "work_centre")
        .order_by("position", "repeat", "pk")
    )
    live = [operation for operation in operations if operation.dropped_in is None]
    gates = gates_by_operation([operation.pk for operation in operations])
    names = {operation.pk: operation.name for operation in live}
    before: dict[int, list[str]] = defaultdict(list)
    for before_id, after_id in Link.objects.filter(
        before__route=route, before__dropped_in=None
    ).values_list("before_id", "after_id"):
        before[after_id].append(names[before_id])
    rows = {
        operation.pk: _row(operation, gates.get(operation.pk, ()), before[operation.pk], now)
        for operation in operations
    }
    units = list(route.units.filter(dropped_in=None).order_by("number"))
    groups = [_group(None, live, rows)] + [_group(unit, live, rows) for unit in units]
    chain = sorted(
        (rows[operation.pk] for operation in live if operation.binds),
        key=lambda row: (row.earliest_start_at or now, row.pk),
    )
    return RouteView(
        route=route,
        first_line=first_line(route, live, now=now, zone=Site.current().zone),
        units=tuple(group for group in groups if group.areas),
        chain=tuple(chain),
        left=tuple(rows[o.pk] for o in operations if o.dropped_in is not None),
        reports=reports(Progress.objects.filter(operation__route=route)),
        revisions=tuple(_revision(row) for row in route.revisions.select_related("by")),
        done=sum(1 for operation in live if operation.finished_at is not None),
        total=len(live),
    )


def _revision(row: RouteRevision) -> RevisionRow:
    counts = {name: len(row.difference.get(name, ())) for name in ("added", "dropped", "repeated")}
    return RevisionRow(
        number=row.number,
        at=row.at,
        by=str(row.by) if row.by else "by itself",
        reason=row.reason,
        **counts,
    )


def reports(rows: QuerySet[Progress]) -> tuple[ReportRow, ...]:
    """Reports with what corrects them, newest first."""
    found = list(rows.select_related("by", "operation__unit").order_by("-reported_at", "-pk"))
    corrected = {row.corrects_id for row in found if row.corrects_id is not None}
    return tuple(
        ReportRow(
            pk=row.pk,
            operation_id=row.operation_id,
            operation=row.operation.name,
            unit=row.operation.unit.number if row.operation.unit else None,
            deed=row.deed,
            stated_at=row.stated_at,
            reported_at=row.reported_at,
            by=str(row.by) if row.by else "by itself",
            worker=row.worker,
            reason=row.reason,
            note=row.note,
            marks=tuple(row.marks),
            confirmed=tuple(row.confirmed.items()),
            corrects=row.corrects_id,
            withdrawn=row.withdraws,
            corrected=row.pk in corrected,
        )
        for row in found
    )


def gates_by_operation(operation_ids: Iterable[int]) -> Mapping[int, tuple[GateRow, ...]]:
    """Holds that were not withdrawn, by operation."""
    found: dict[int, list[GateRow]] = defaultdict(list)
    for gate in (
        Gate.objects.filter(operation__in=set(operation_ids), withdrawn_at=None)
        .select_related("cleared_by", "at_risk_by")
        .order_by("pk")
    ):
        found[gate.operation_id].append(gate_row(gate))
    return {pk: tuple(rows) for pk, rows in found.items()}


def gate_row(gate: Gate) -> GateRow:
    """A hold as pages show it."""
    if gate.cleared_at is not None:
        state, by, at = "released", str(gate.cleared_by), gate.cleared_at
    elif gate.at_risk_at is not None:
        state, by, at = "at-own-risk", str(gate.at_risk_by), gate.at_risk_at
    else:
        state, by, at = "open", "", None
    return GateRow(
        pk=gate.pk,
        timing=gate.timing,
        reason=gate.reason,
        state=state,
        notice_days=gate.notice_days,
        notified_on=gate.notified_on,
        expected_on=gate.release_expected_on,
        never_at_risk=gate.never_at_risk,
        by=by,
        at=at,
        scope=gate.at_risk_scope,
        limit=gate.at_risk_limit,
    )


def operation_row(operation: Operation, *, now: datetime) -> OperationRow:
    """One operation as pages show it; its work centre must be at hand."""
    gates = gates_by_operation([operation.pk])
    before = Link.objects.filter(after=operation, before__dropped_in=None)
    names = list(before.order_by("before__position").values_list("before__name", flat=True))
    return _row(operation, gates.get(operation.pk, ()), names, now)


def _row(
    operation: Operation, gates: tuple[GateRow, ...], before: list[str], now: datetime
) -> OperationRow:
    overdue = (
        operation.state == Operation.State.WAITING
        and operation.latest_start_at is not None
        and operation.latest_start_at < now
    )
    return OperationRow(
        pk=operation.pk,
        code=operation.code,
        name=operation.name,
        area=operation.area,
        work_centre=operation.work_centre.name if operation.work_centre else "",
        kind=operation.kind,
        minutes=operation.minutes,
        state=operation.state,
        look=_look(operation, gates, overdue=overdue),
        started_at=operation.started_at,
        finished_at=operation.finished_at,
        earliest_start_at=operation.earliest_start_at,
        earliest_finish_at=operation.earliest_finish_at,
        latest_start_at=operation.latest_start_at,
        latest_finish_at=operation.latest_finish_at,
        days_in_hand=operation.days_in_hand,
        binds=operation.binds,
        waits_for=operation.waits_for,
        stop_reason=operation.stop_reason,
        drawing=(
            f"{operation.drawing} rev {operation.drawing_revision}" if operation.drawing else ""
        ),
        repeat=operation.repeat,
        late_start=overdue,
        gates=gates,
        after=tuple(before),
    )


def _look(operation: Operation, gates: tuple[GateRow, ...], *, overdue: bool) -> str:
    """The state's key among those of the pages."""
    if operation.state == Operation.State.FINISHED:
        return "done"
    if operation.state == Operation.State.STARTED:
        return "running"
    if operation.state == Operation.State.STOPPED:
        return "blocked"
    if any(gate.state == "open" and gate.timing == Gate.Timing.BEFORE for gate in gates):
        return "held"
    return "overdue" if overdue else "planned"


def _group(
    unit: Unit | None, operations: Iterable[Operation], rows: Mapping[int, OperationRow]
) -> UnitGroup:
    by_area: dict[str, list[OperationRow]] = {}
    for operation in operations:
        if operation.unit_id == (unit.pk if unit else None):
            by_area.setdefault(operation.area, []).append(rows[operation.pk])
    areas = tuple(AreaGroup(area, tuple(its)) for area, its in by_area.items())
    if unit is None:
        title = "All units share"
        return UnitGroup(0, title, "", None, None, None, None, None, areas)
    return UnitGroup(
        number=unit.number,
        title=f"Unit {unit.number}",
        serial=unit.serial or "",
        due_on=unit.due_on,
        shipped_on=unit.shipped_on,
        forecast_ship_at=unit.forecast_ship_at,
        days_in_hand=unit.days_in_hand,
        unit_id=unit.pk,
        areas=areas,
    )
