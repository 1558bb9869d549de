"""Which operations make a milestone that a customer is told of.

A milestone is reached when every live operation of its codes is finished. To tell customers of
another one, add it to `orders.models.Milestone` and give its operations here.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

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


@dataclass(frozen=True)
class Reached:
    """A milestone of a route: when it was reached, or the last day that keeps the ship-by."""

    milestone: Milestone
    reached_at: datetime | None
    latest_at: datetime | None


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
    return Reached(
        milestone=milestone,
        reached_at=max(done) if len(done) == len(steps) else None,
        latest_at=max(latest, default=None),
    )
