"""Which operations make a milestone that a customer is told of.

A milestone is reached when every live operation of its codes is finished. To tell customers of
another one, add it to `orders.models.Milestone` and give its operations here.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from orders.models import Milestone

OPERATIONS: dict[Milestone, tuple[str, ...]] = {
    Milestone.APPROVAL: ("ENG-APPROVAL", "ENG-PLAN-APPROVAL"),
    Milestone.CAST: ("FDY-U-DIMENSIONS", "FDY-L-DIMENSIONS", "FDY-I-DIMENSIONS"),
    Milestone.MACHINED: ("MCH-CONCENTRIC", "MCH-I-BALANCE", "MCH-SHAFT", "MCH-SLEEVES"),
    Milestone.PRESSURE_TESTED: ("ASM-HYDRO",),
    Milestone.PERFORMANCE_TESTED: ("TST-PERFORM",),
}


@dataclass(frozen=True)
class Step:
    """What of an operation decides its milestone."""

    code: str
    finished_at: datetime | None
    latest_finish_at: datetime | None
    earliest_finish_at: datetime | None


@dataclass(frozen=True)
class Reached:
    """A milestone of a route.

    reached_at : when the last of its operations was finished; None while one is open
    latest_at : by which it must be reached to keep the ship-by
    earliest_at : when it is reached by the forecast
    """

    milestone: Milestone
    reached_at: datetime | None
    latest_at: datetime | None
    earliest_at: datetime | None


def milestone_of(code: str) -> Milestone | None:
    """The milestone that an operation belongs to; approval rounds carry their round's number."""
    for milestone, codes in OPERATIONS.items():
        if any(code == wanted or code.startswith(f"{wanted}-") for wanted in codes):
            return milestone
    return None


def reached(steps: Iterable[Step]) -> tuple[Reached, ...]:
    """Each milestone that the route has operations for, in their order."""
    of: dict[Milestone, list[Step]] = {}
    for step in steps:
        if (milestone := milestone_of(step.code)) is not None:
            of.setdefault(milestone, []).append(step)
    return tuple(_reached(milestone, of[milestone]) for milestone in OPERATIONS if milestone in of)


def _reached(milestone: Milestone, steps: list[Step]) -> Reached:
    done = [step.finished_at for step in steps if step.finished_at is not None]
    latest = [step.latest_finish_at for step in steps if step.latest_finish_at is not None]
    earliest = [step.earliest_finish_at for step in steps if step.earliest_finish_at is not None]
    return Reached(
        milestone=milestone,
        reached_at=max(done) if len(done) == len(steps) else None,
        latest_at=max(latest, default=None),
        earliest_at=max(earliest, default=None),
    )


def first_day(found: Reached, *, ship_by_on: date, zone: ZoneInfo) -> date | None:
    """The day first told for a milestone: the last one that keeps the ship-by.

    Where work should have begun already, that day is past or cannot be met: then the day it is
    forecast for, but none after the ship-by that was agreed.
    """
    days = [
        at.astimezone(zone).date() for at in (found.latest_at, found.earliest_at) if at is not None
    ]
    return min(max(days), ship_by_on) if days else None
