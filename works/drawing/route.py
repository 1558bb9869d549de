"""The model of a route bar: an order's route drawn to a time scale, small enough for a row."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum


class StretchState(StrEnum):
    """What a stretch of the route is in."""

    DONE = "done"
    RUNNING = "running"
    PLANNED = "planned"
    PASSING = "passing"  # time that passes without hours: cooling, curing, approval, delivery
    HELD = "held"
    LATE = "late"


@dataclass(frozen=True)
class Stretch:
    """A piece of the route.

    label : what it is, e.g. "Casing boring"
    start, end : instants, aware, start < end
    lane : 0 is the top one
    """

    label: str
    start: datetime
    end: datetime
    state: StretchState
    lane: int = 0


class Flag(StrEnum):
    """Kinds of dates marked on a bar."""

    SHIP_BY = "ship-by"
    PUBLISHED = "published"
    FINISH = "forecast"
    HOLD = "hold"


@dataclass(frozen=True)
class RouteBar:
    """A route between two instants.

    title : says whose it is, e.g. "Order 26-0412, item 1"
    description : what the bar shows in words: the state and the date
    first, last : ends of the scale, aware; what lies outside is cut and marked
    now : today's line
    marks : dates with their kind; a forecast after the ship-by shows itself late
    resting : spans without work, shaded
    lane_height : [px]
    """

    title: str
    description: str
    first: datetime
    last: datetime
    now: datetime
    stretches: tuple[Stretch, ...]
    marks: tuple[tuple[Flag, datetime], ...] = ()
    resting: tuple[tuple[datetime, datetime], ...] = ()
    width: float = 640.0
    lane_height: float = 16.0

    @property
    def lanes(self) -> int:
        return max((stretch.lane for stretch in self.stretches), default=0) + 1


@dataclass(frozen=True)
class TimeRuler:
    """The time scale that stands once above the bars, with the same ends and width."""

    first: datetime
    last: datetime
    now: datetime
    width: float = 640.0
