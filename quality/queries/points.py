"""Inspection points as pages show them: where each stands, and whose word is still wanting."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.db.models import Q

from quality.evidence import in_the_way
from quality.models import InspectionPoint, Part, Party, Release, Visit
from schedule.models import Gate, Operation

PARTY_WORDS = {Party.MAKER: "maker", Party.CUSTOMER: "customer", Party.THIRD_PARTY: "third party"}


@dataclass(frozen=True, kw_only=True)
class PartyRow:
    """One party's part in a point and what it said."""

    party: str
    letter: str
    part: str
    release: Release | None

    @property
    def is_wanting(self) -> bool:
        """A hold that the party has neither released nor waived."""
        return self.letter == Part.HOLD and (
            self.release is None or self.release.kind == Release.Kind.NOT_ATTENDED
        )


@dataclass(frozen=True, kw_only=True)
class PointRow:
    """One point in a list.

    state : key of the state shown
    word : says more than the state's own word, such as who is still to release
    needed_at : when work arrives at the hold, by the forecast
    stops_now : work has arrived there
    """

    pk: int
    url: str
    code: str
    characteristic: str
    timing: str
    criterion: str
    reference: str
    record_kind: str
    operation: str
    operation_pk: int
    unit: str
    route: str
    route_pk: int
    plan_pk: int
    parties: tuple[PartyRow, ...]
    state: str
    word: str
    needed_at: datetime | None
    stops_now: bool
    expected_on: date | None
    notice_days: int

    @property
    def wanting(self) -> str:
        """Parties whose release is still wanting, in words."""
        return ", ".join(row.party for row in self.parties if row.is_wanting)


def needed_at(operation: Operation, timing: str) -> datetime | None:
    """When work arrives at a hold on the operation, by progress and forecast."""
    if timing == Gate.Timing.BEFORE:
        return operation.started_at or operation.earliest_start_at
    return operation.finished_at or operation.earliest_finish_at


def has_arrived(point: InspectionPoint) -> bool:
    """Whether work waits at the hold: what comes before it is done."""
    state = point.operation.state
    if point.timing == Gate.Timing.BEFORE:
        return state == Operation.State.WAITING and not point.work_before
    if point.timing == Gate.Timing.DURING:
        return state in {Operation.State.STARTED, Operation.State.STOPPED}
    return state == Operation.State.FINISHED


def point_row(point: InspectionPoint) -> PointRow:
    """A point of `with_arrival`, its operation, unit, route, gate and releases at hand."""
    operation, gate = point.operation, point.gate
    releases = {release.party: release for release in point.releases.all()}
    parties = tuple(
        PartyRow(
            party=party,
            letter=letter,
            part=Part(letter).label,
            release=releases.get(party),
        )
        for party, letter in point.parties().items()
    )
    stops = gate is not None and gate.is_open and has_arrived(point)
    state, word = _state(point, parties, stops)
    return PointRow(
        pk=point.pk,
        url=point.get_absolute_url(),
        code=point.code,
        characteristic=point.characteristic,
        timing=point.timing,
        criterion=point.criterion,
        reference=point.reference,
        record_kind=point.record_kind,
        operation=operation.name,
        operation_pk=operation.pk,
        unit=str(operation.unit) if operation.unit else "",
        route=str(operation.route),
        route_pk=operation.route_id,
        plan_pk=point.plan_id,
        parties=parties,
        state=state,
        word=word,
        needed_at=needed_at(operation, point.timing),
        stops_now=stops,
        expected_on=gate.release_expected_on if gate else None,
        notice_days=point.notice_days,
    )


def _state(point: InspectionPoint, parties: Iterable[PartyRow], stops: bool) -> tuple[str, str]:
    gate = point.gate
    if point.withdrawn_at is not None:
        return "cancelled", "withdrawn"
    if gate is None or gate.withdrawn_at is not None:
        done = all(row.release for row in parties)
        return ("released", "done") if done else ("planned", "no hold")
    if gate.cleared_at is not None:
        return "released", ""
    if gate.at_risk_at is not None:
        return "at-own-risk", f"at risk, by {gate.at_risk_by}"
    wanting = ", ".join(row.party for row in parties if row.is_wanting)
    return ("held", f"waits for {wanting}") if stops else ("planned", f"hold of {wanting}")


def points_of(plan_id: int) -> list[PointRow]:
    """The live points of a plan in the route's order; two SQL queries."""
    found = (
        InspectionPoint.objects.with_arrival()
        .filter(plan_id=plan_id, withdrawn_at=None)
        .filter(operation__dropped_in=None)
        .select_related("operation__unit__route", "operation__route", "gate__at_risk_by")
        .prefetch_related("releases")
        .order_by("operation__unit__number", "operation__position", "pk")
    )
    return [point_row(point) for point in found]


def holds_due(*, within: timedelta = timedelta(days=5), now: datetime) -> list[PointRow]:
    """Open holds at which work has arrived or arrives soon, the most pressing first.

    within : how far ahead to look
    """
    found = (
        InspectionPoint.objects.outstanding()
        .with_arrival()
        .filter(operation__route__state="released", operation__dropped_in=None)
        .filter(
            ~Q(operation__state=Operation.State.WAITING)
            | Q(work_before=False)
            | Q(operation__earliest_start_at__lte=now + within)
        )
        .select_related("operation__unit__route", "operation__route", "gate__at_risk_by")
        .prefetch_related("releases")
    )
    rows = [point_row(point) for point in found]
    due = [
        row
        for row in rows
        if row.stops_now or (row.needed_at is not None and row.needed_at <= now + within)
    ]
    return sorted(due, key=lambda row: (not row.stops_now, row.needed_at or now, row.pk))


@dataclass(frozen=True, kw_only=True)
class PointView:
    """A point's page.

    missing : what stands in the way of its release, in sentences
    records : links to the records kept for it
    may_be_passed : its hold may be passed at somebody's risk
    """

    point: InspectionPoint
    row: PointRow
    missing: tuple[str, ...]
    visits: tuple[Visit, ...]
    may_be_passed: bool

    @property
    def gate(self) -> Gate | None:
        return self.point.gate

    @property
    def open_parties(self) -> tuple[str, ...]:
        """Parties that have not said anything yet."""
        return tuple(row.party for row in self.row.parties if row.release is None)


def point_view(point_id: int) -> PointView:
    """One point with all that its page says; a constant number of SQL queries.

    raises : InspectionPoint.DoesNotExist
    """
    point = (
        InspectionPoint.objects.with_arrival()
        .select_related(
            "plan__route",
            "operation__unit__route",
            "operation__route",
            "gate__cleared_by",
            "gate__at_risk_by",
        )
        .prefetch_related("releases__by", "visits")
        .get(pk=point_id)
    )
    gate = point.gate
    waits = gate is not None and gate.cleared_at is None and gate.withdrawn_at is None
    return PointView(
        point=point,
        row=point_row(point),
        missing=tuple(in_the_way(point)) if waits else (),
        visits=tuple(point.visits.all()),
        may_be_passed=gate is not None and gate.is_open and not gate.never_at_risk,
    )
