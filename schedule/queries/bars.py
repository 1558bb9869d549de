"""Routes as bars to a time scale: what is done, under way, to come and late, area by area."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

from schedule.models import Gate, Operation, Route
from schedule.working_time import end_of, instant
from works.drawing import Flag, RouteBar, Stretch, StretchState
from works.models import Site

State = Operation.State
MOST_LANES = 4
FAR = datetime(9999, 1, 1, tzinfo=UTC)  # for what has no date, so that it comes last


@dataclass(frozen=True)
class Segment:
    """A stretch of one area; start < end."""

    area: str
    state: StretchState
    start: datetime
    end: datetime
    lane: int = 0


@dataclass(frozen=True)
class NextHold:
    """The open hold that comes first on a route, and when the route gets there."""

    gate_id: int
    operation_id: int
    operation: str
    reason: str
    at: datetime | None


@dataclass(frozen=True)
class Bar:
    """One route for the board.

    stage : the areas being worked in, or the one that comes next
    ship_by_at : the end of the last day that it may leave
    """

    route_id: int
    label: str
    segments: tuple[Segment, ...]
    stage: str
    next_hold: NextHold | None
    open_holds: int
    done: int
    total: int
    due_on: date
    ship_by_at: datetime
    published_on: date | None
    forecast_ship_at: datetime | None
    days_in_hand: float | None

    @property
    def first(self) -> datetime:
        """Where its first segment begins, or its ship-by."""
        return min([self.ship_by_at, *(segment.start for segment in self.segments)])

    @property
    def last(self) -> datetime:
        return max([self.ship_by_at, *(segment.end for segment in self.segments)])


@dataclass(frozen=True)
class _Step:
    pk: int
    route_id: int
    area: str
    name: str
    kind: str
    state: str
    started_at: datetime | None
    finished_at: datetime | None
    earliest_start_at: datetime | None
    earliest_finish_at: datetime | None
    days_in_hand: float | None


def route_bars(route_ids: Iterable[int], *, now: datetime) -> dict[int, Bar]:
    """The bars of routes, in a constant number of queries.

    now : today's line; what is under way reaches at least to it
    """
    zone = Site.current().zone
    routes = Route.objects.in_bulk(set(route_ids))
    steps: dict[int, list[_Step]] = defaultdict(list)
    for row in (
        Operation.objects.live()
        .filter(route__in=routes)
        .order_by("route_id", "position")
        .values_list(
            "pk",
            "route_id",
            "area",
            "name",
            "kind",
            "state",
            "started_at",
            "finished_at",
            "earliest_start_at",
            "earliest_finish_at",
            "days_in_hand",
        )
    ):
        step = _Step(*row)
        steps[step.route_id].append(step)
    holds = _holds(routes)
    return {
        pk: _bar(route, steps[pk], holds.get(pk, []), zone=zone, now=now)
        for pk, route in routes.items()
    }


def drawing(
    bar: Bar,
    *,
    title: str,
    first: datetime,
    last: datetime,
    now: datetime,
    width: float = 640.0,
    zone: ZoneInfo | None = None,
) -> RouteBar:
    """A bar ready to be drawn, for a page or a sheet.

    zone : the works', given by whoever draws many, who would else ask for it each time
    """
    zone = zone or Site.current().zone
    marks = [(Flag.SHIP_BY, bar.ship_by_at)]
    if bar.published_on is not None:
        marks.append((Flag.PUBLISHED, instant(end_of(bar.published_on, zone))))
    if bar.forecast_ship_at is not None:
        marks.append((Flag.FINISH, bar.forecast_ship_at))
    if bar.next_hold is not None and bar.next_hold.at is not None:
        marks.append((Flag.HOLD, bar.next_hold.at))
    return RouteBar(
        title=title,
        description=_words(bar),
        first=first.astimezone(zone),
        last=last.astimezone(zone),
        now=now,
        stretches=tuple(
            Stretch(
                segment.area.capitalize(), segment.start, segment.end, segment.state, segment.lane
            )
            for segment in bar.segments
        ),
        marks=tuple(marks),
        width=width,
        lane_height=10.0,
    )


def _words(bar: Bar) -> str:
    hand = bar.days_in_hand
    stands = (
        "no forecast"
        if hand is None
        else f"{abs(hand):.1f} working days {'in hand' if hand >= 0 else 'late'}"
    )
    return f"{bar.done} of {bar.total} operations done, now in {bar.stage}; {stands}."


def _holds(routes: Mapping[int, Route]) -> dict[int, list[NextHold]]:
    """Open holds by route, soonest first."""
    found: dict[int, list[NextHold]] = defaultdict(list)
    for gate in (
        Gate.objects.open()
        .select_related("operation")
        .filter(operation__route__in=routes, operation__dropped_in=None)
        .order_by("operation__position", "pk")
    ):
        operation = gate.operation
        at = (
            operation.earliest_start_at
            if gate.timing == Gate.Timing.BEFORE
            else operation.earliest_finish_at
        )
        found[operation.route_id].append(
            NextHold(gate.pk, operation.pk, operation.name, gate.reason, at)
        )
    for rows in found.values():
        rows.sort(key=lambda hold: (hold.at or FAR, hold.gate_id))
    return found


def _bar(
    route: Route,
    steps: Sequence[_Step],
    holds: Sequence[NextHold],
    *,
    zone: ZoneInfo,
    now: datetime,
) -> Bar:
    by_area: dict[str, list[_Step]] = {}
    for step in steps:
        by_area.setdefault(step.area, []).append(step)
    held = {hold.operation_id for hold in holds}
    segments = [
        segment for area, its in by_area.items() for segment in _segments(area, its, held, now)
    ]
    return Bar(
        route_id=route.pk,
        label=route.label,
        segments=_in_lanes(segments),
        stage=_stage(steps),
        next_hold=holds[0] if holds else None,
        open_holds=len(holds),
        done=sum(1 for step in steps if step.state == State.FINISHED),
        total=len(steps),
        due_on=route.due_on,
        ship_by_at=instant(end_of(route.due_on, zone)),
        published_on=route.published_on,
        forecast_ship_at=route.forecast_ship_at,
        days_in_hand=route.days_in_hand,
    )


def _segments(area: str, steps: Sequence[_Step], held: set[int], now: datetime) -> list[Segment]:
    """What is done, what is under way and what is to come, one after the other."""
    done = [s for s in steps if s.finished_at is not None]
    running = [s for s in steps if s.finished_at is None and s.started_at is not None]
    coming = [s for s in steps if s.started_at is None and s.earliest_start_at is not None]
    found: list[Segment] = []

    def add(state: StretchState, starts: list[datetime], ends: list[datetime]) -> None:
        start, end = min(starts), max(ends)
        if found:
            start = max(start, found[-1].end)
        if start < end:
            found.append(Segment(area, state, start, end))

    if done:
        add(
            StretchState.DONE,
            [s.started_at for s in done if s.started_at is not None],
            [s.finished_at for s in done if s.finished_at is not None],
        )
    if running:
        stopped = all(s.state == State.STOPPED for s in running)
        add(
            StretchState.HELD if stopped else StretchState.RUNNING,
            [s.started_at for s in running if s.started_at is not None],
            [s.earliest_finish_at or now for s in running],
        )
    if coming:
        add(
            _to_come(coming, held),
            [s.earliest_start_at for s in coming if s.earliest_start_at is not None],
            [s.earliest_finish_at for s in coming if s.earliest_finish_at is not None],
        )
    return found


def _to_come(steps: Sequence[_Step], held: set[int]) -> StretchState:
    """How what is to come in an area looks: late before held before time that passes."""
    if any(step.days_in_hand is not None and step.days_in_hand < 0 for step in steps):
        return StretchState.LATE
    if any(step.pk in held for step in steps):
        return StretchState.HELD
    if all(step.kind != Operation.Kind.WORKING for step in steps):
        return StretchState.PASSING
    return StretchState.PLANNED


def _in_lanes(segments: Sequence[Segment]) -> tuple[Segment, ...]:
    """Give each area the first lane that is free when it begins, so that none covers another."""
    spans: dict[str, tuple[datetime, datetime]] = {}
    for segment in segments:
        start, end = spans.get(segment.area, (segment.start, segment.end))
        spans[segment.area] = (min(start, segment.start), max(end, segment.end))
    ends: list[datetime] = []
    lanes: dict[str, int] = {}
    for area, (start, end) in sorted(spans.items(), key=lambda item: (item[1], item[0])):
        free = next((lane for lane, until in enumerate(ends) if until <= start), None)
        if free is None and len(ends) < MOST_LANES:
            free = len(ends)
            ends.append(end)
        elif free is None:
            free = min(range(len(ends)), key=lambda lane: ends[lane])
        lanes[area] = free
        ends[free] = max(ends[free], end)
    return tuple(replace(segment, lane=lanes[segment.area]) for segment in segments)


def _stage(steps: Sequence[_Step]) -> str:
    """The areas worked in now; else the one whose work comes next; else that all is done."""
    running = dict.fromkeys(
        step.area
        for step in steps
        if step.started_at is not None
        and step.finished_at is None
        and step.kind == Operation.Kind.WORKING
    )
    if running:
        return ", ".join(running)
    coming = [
        step for step in steps if step.finished_at is None and step.kind == Operation.Kind.WORKING
    ]
    if coming:
        first = min(coming, key=lambda step: (step.earliest_start_at or FAR, step.pk))
        return first.area
    return "waiting" if any(step.finished_at is None for step in steps) else "all done"
