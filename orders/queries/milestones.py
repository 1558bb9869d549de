"""Milestones of an item: as contracted, as told to the customer, as forecast, as reached."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from orders.milestones import Step, reached
from orders.models import Item, Milestone, PublishedDate
from schedule.models import Operation, Unit
from schedule.working_time import local_date


@dataclass(frozen=True)
class PublishedRow:
    """A milestone: as contracted, as told, as forecast by the works, as reached."""

    milestone: str
    name: str
    contract_on: date | None
    published_on: date | None
    reason: str
    by: str
    moves: int
    forecast_on: date | None
    actual_on: date | None

    @property
    def look(self) -> str:
        """Key of the state shown."""
        if self.actual_on is not None:
            return "done"
        if self.published_on is None or self.forecast_on is None:
            return "planned"
        return "late" if self.forecast_on > self.published_on else "on-time"


def published_rows(
    item: Item,
    operations: Sequence[Operation],
    units: Sequence[Unit],
    published: Sequence[PublishedDate],
    forecast: tuple[date | None, date | None],
    zone: ZoneInfo,
) -> tuple[PublishedRow, ...]:
    """Each milestone of an item, published beside live.

    operations : live ones of its route
    published : every date ever told, oldest first
    forecast : of shipping and of arriving on site
    """
    told: dict[str, list[PublishedDate]] = defaultdict(list)
    for row in published:
        told[row.milestone].append(row)
    found = {
        each.milestone: each
        for each in reached(
            Step(op.code, op.finished_at, op.latest_finish_at, op.earliest_finish_at)
            for op in operations
        )
    }
    shipped = [unit.shipped_on for unit in units]
    left = max(day for day in shipped if day) if shipped and all(shipped) else None
    contract = {
        Milestone.SHIPPED: item.order.ship_by_on,
        Milestone.ON_SITE: item.order.promised_on,
    }
    ships, on_site = forecast
    rows = []
    for milestone in Milestone:
        own = told.get(milestone, [])
        live = found.get(milestone)
        if not own and live is None:
            continue
        actual = left if milestone == Milestone.SHIPPED else None
        expected = ships if milestone == Milestone.SHIPPED else None
        if milestone == Milestone.ON_SITE:
            expected = on_site
        if live is not None:
            actual = local_date(live.reached_at, zone) if live.reached_at else None
            expected = local_date(live.earliest_at, zone) if live.earliest_at else None
        rows.append(
            PublishedRow(
                milestone=milestone.value,
                name=milestone.label,
                contract_on=contract.get(milestone),
                published_on=own[-1].on if own else None,
                reason=own[-1].reason if own else "",
                by=str(own[-1].by or "") if own else "",
                moves=max(0, len(own) - 1),
                forecast_on=None if actual else expected,
                actual_on=actual,
            )
        )
    return tuple(rows)
