"""How far a route is, area by area, and the chain that sets its forecast."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from schedule.models import Operation
from works.people import Area


@dataclass(frozen=True)
class AreaRow:
    """One area of a route: how much is done, what is next, and when it is through."""

    area: str
    done: int
    total: int
    running: tuple[str, ...]
    next: str
    next_at: datetime | None
    through_at: datetime | None
    late: bool


@dataclass(frozen=True)
class ChainRow:
    """One operation of the chain that sets the forecast."""

    pk: int
    name: str
    unit: int | None
    area: str
    starts_at: datetime | None
    finishes_at: datetime | None
    waits_for: str
    state: str
    days_in_hand: float | None


def areas_of(operations: Sequence[Operation], now: datetime) -> tuple[AreaRow, ...]:
    """A route's areas in the order of the works."""
    by_area: dict[str, list[Operation]] = {}
    for operation in operations:
        by_area.setdefault(operation.area, []).append(operation)
    order = list(Area.values)
    return tuple(_area(area, by_area[area], now) for area in sorted(by_area, key=order.index))


def _area(area: str, rows: list[Operation], now: datetime) -> AreaRow:
    state = Operation.State
    waiting = [row for row in rows if row.state == state.WAITING]
    running = [row for row in rows if row.state in {state.STARTED, state.STOPPED}]
    next_ = min(waiting, key=lambda row: (row.earliest_start_at or now, row.position), default=None)
    ends = [row.finished_at or row.earliest_finish_at for row in rows]
    known = [at for at in ends if at is not None]
    return AreaRow(
        area=area,
        done=sum(row.state == state.FINISHED for row in rows),
        total=len(rows),
        running=tuple(dict.fromkeys(row.name for row in running)),
        next=next_.name if next_ else "",
        next_at=next_.earliest_start_at if next_ else None,
        through_at=max(known) if len(known) == len(ends) else None,
        late=any(row.latest_start_at is not None and row.latest_start_at < now for row in waiting),
    )


def chain_of(operations: Sequence[Operation], now: datetime) -> tuple[ChainRow, ...]:
    """What is still to be done of the chain that sets the forecast, first to last."""
    rows = sorted(
        (row for row in operations if row.binds and row.state != Operation.State.FINISHED),
        key=lambda row: (row.earliest_start_at or now, row.position),
    )
    return tuple(
        ChainRow(
            pk=row.pk,
            name=row.name,
            unit=row.unit.number if row.unit else None,
            area=row.area,
            starts_at=row.started_at or row.earliest_start_at,
            finishes_at=row.earliest_finish_at,
            waits_for=row.waits_for,
            state=row.state,
            days_in_hand=row.days_in_hand,
        )
        for row in rows
    )
