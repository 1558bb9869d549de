"""The smallest valid calendars and networks, for the planning tests."""

from collections.abc import Iterable
from datetime import UTC, date, datetime, time
from functools import cache

from schedule.planning import (
    Kind,
    Link,
    Operation,
    Problem,
    Route,
    Shift,
    WorkingTime,
    around_the_clock,
    laid_out,
    minute_of,
)

ORIGIN = datetime(2026, 1, 1, tzinfo=UTC)
DAY = 24 * 60


def minute(year: int, month: int, day: int, hour: int = 0, past: int = 0) -> int:
    """Minutes from the origin to a UTC time."""
    return minute_of(datetime(year, month, day, hour, past, tzinfo=UTC), ORIGIN)


@cache
def _plain_day_shift() -> WorkingTime:
    return day_shift(last_day=date(2027, 12, 31))


def day_shift(**options: object) -> WorkingTime:
    """Monday to Friday 08:00 to 12:00 and 13:00 to 17:00 in Lisbon, for two years."""
    if not options:
        return _plain_day_shift()
    shifts = [
        Shift(weekday=day, opens=time(opens), closes=time(closes))
        for day in range(5)
        for opens, closes in ((8, 12), (13, 17))
    ]
    values = {
        "zone": "Europe/Lisbon",
        "first_day": date(2026, 1, 1),
        "last_day": date(2027, 12, 31),
        "origin": ORIGIN,
        **options,
    }
    return laid_out("day shift", shifts, **values)


def always() -> WorkingTime:
    """Open at every minute, from well before the origin."""
    return around_the_clock("always", origin=ORIGIN, begins=-1000 * DAY, ends=1000 * DAY)


def elapsed(
    durations: dict[str, int], waits: Iterable[tuple[str, str]], *, due: int = 0
) -> Problem:
    """A network of operations that just take time."""
    return Problem(
        operations=tuple(
            Operation(key=key, minutes=minutes, kind=Kind.ELAPSED)
            for key, minutes in durations.items()
        ),
        links=tuple(Link(before=before, after=after) for before, after in waits),
        routes=(Route(key="order", due=due),),
    )
