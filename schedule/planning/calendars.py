"""Working time: when a work centre is open, as half-open stretches of integer minutes.

Shifts are written as people read the clock on the wall, in a named time zone; here they become
minutes of UTC counted from an origin, so that a night shift across a clock change is as long as
it really is. Everything else is a bisection of those stretches.

A shift belongs to the day on which it opens: a holiday takes away the shifts that open on it, and
the night shift that began the evening before is worked to its end.
"""

import hashlib
from bisect import bisect_left, bisect_right
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from functools import cached_property, lru_cache
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from schedule.planning.errors import BadShift, BeyondCalendar, NoOpenHours, UnknownZone

DAY_MINUTES = 24 * 60
# Closed stretches up to this long are breaks, over which work that may not be left can go on.
BREAK_MINUTES = 90
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")


@dataclass(frozen=True, kw_only=True)
class Shift:
    """Open hours on one weekday; a break is the gap between two shifts.

    weekday : 0 is Monday
    opens, closes : clock on the wall; closes at or before opens means the next day
    first_day, last_day : the shift is worked from and to these days, both included
    """

    weekday: int
    opens: time
    closes: time
    first_day: date | None = None
    last_day: date | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.weekday <= 6:
            raise BadShift(f"Shift on weekday {self.weekday}", "weekdays run from 0 to 6")
        if self.first_day and self.last_day and self.last_day < self.first_day:
            raise BadShift(
                f"Shift on {WEEKDAYS[self.weekday]}",
                f"it is worked from {self.first_day} to {self.last_day}, which is backwards",
            )


@dataclass(frozen=True, kw_only=True)
class Window:
    """One stretch of wall-clock time: overtime that opens, or an outage that closes.

    opens, closes : naive, clock on the wall in the calendar's zone
    """

    opens: datetime
    closes: datetime
    reason: str = ""

    def __post_init__(self) -> None:
        if self.opens.tzinfo or self.closes.tzinfo:
            raise BadShift(
                f"Window {self.opens} to {self.closes}",
                "write the clock on the wall, without an offset",
            )
        if self.closes <= self.opens:
            raise BadShift(
                f"Window from {self.opens}", f"it ends at {self.closes}, before it opens"
            )


@dataclass(frozen=True, kw_only=True)
class Shutdown:
    """Whole days on which nothing opens, both ends included."""

    first: date
    last: date
    reason: str = ""

    def __post_init__(self) -> None:
        if self.last < self.first:
            raise BadShift(
                f"Shutdown from {self.first}", f"it ends on {self.last}, before it begins"
            )


@dataclass(frozen=True, kw_only=True)
class WorkingTime:
    """A calendar laid out: when work goes on, from `begins` to `ends`.

    name, zone : for messages and for showing times
    origin : minute 0, in UTC
    begins, ends : the span laid out; nothing is known outside it [min]
    opens, closes : (n,) open stretches, half-open, apart and rising [min]
    worked_before : (n,) working minutes before each stretch [min]
    total, longest : working minutes in all, and in the longest shift over its breaks [min]
    shift_of, shift_ends : each stretch's shift, and working minutes by each shift's end
    """

    name: str
    zone: str
    origin: datetime
    begins: int
    ends: int
    opens: tuple[int, ...]
    closes: tuple[int, ...]
    worked_before: tuple[int, ...] = field(init=False, repr=False, compare=False)
    total: int = field(init=False, repr=False, compare=False)
    longest: int = field(init=False, repr=False, compare=False)
    shift_of: tuple[int, ...] = field(init=False, repr=False, compare=False)
    shift_ends: tuple[int, ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        if not self.opens:
            raise NoOpenHours(self.name)
        worked: list[int] = []
        shift_of: list[int] = []
        shift_ends: list[int] = []  # working minutes by the end of each shift, breaks included
        total, longest, edge, begun = 0, 0, self.begins, 0
        for opens, closes in zip(self.opens, self.closes, strict=True):
            if not edge <= opens < closes <= self.ends:
                raise BadShift(
                    f"Open stretch {opens} to {closes} of {self.name}",
                    f"stretches lie apart, rise, and stay within {self.begins} to {self.ends}",
                )
            if not shift_ends or opens - edge >= BREAK_MINUTES:
                shift_ends.append(total)
                begun = total
            shift_of.append(len(shift_ends) - 1)
            worked.append(total)
            total += closes - opens
            shift_ends[-1] = total
            longest = max(longest, total - begun)
            edge = closes + 1
        object.__setattr__(self, "worked_before", tuple(worked))
        object.__setattr__(self, "total", total)
        object.__setattr__(self, "longest", longest)
        object.__setattr__(self, "shift_of", tuple(shift_of))
        object.__setattr__(self, "shift_ends", tuple(shift_ends))

    @cached_property
    def version(self) -> str:
        """A name for exactly these open hours, for tables kept from one plan to the next."""
        digest = hashlib.sha256(repr((self.begins, self.ends, self.opens, self.closes)).encode())
        return digest.hexdigest()[:16]

    # Instants and minutes

    def minute(self, at: datetime) -> int:
        """Minutes from the origin to an aware instant, rounded down."""
        return minute_of(at, self.origin)

    def instant(self, minute: int) -> datetime:
        """The instant of a minute, shown in the calendar's zone."""
        return (self.origin + timedelta(minutes=minute)).astimezone(zone_named(self.zone))

    # Working minutes

    def worked(self, at: int) -> int:
        """Working minutes from the calendar's beginning to an instant [min]."""
        if not self.begins <= at <= self.ends:
            raise BeyondCalendar(self.name, at, self.begins, self.ends)
        i = bisect_right(self.opens, at) - 1
        if i < 0:
            return 0
        return self.worked_before[i] + min(at, self.closes[i]) - self.opens[i]

    def between(self, first: int, last: int) -> int:
        """Working minutes from one instant to another, negative if they are the other way round."""
        return self.worked(last) - self.worked(first)

    def next_working(self, at: int) -> int:
        """The first instant from `at` on at which work can go on [min]."""
        return self.fit_forward(at, 1)[0]

    def previous_working(self, at: int) -> int:
        """The last instant up to `at` before which work was going on [min]."""
        return self.fit_backward(at, 1)[1]

    def add(self, at: int, minutes: int) -> int:
        """The instant by which so many working minutes from `at` on are done [min]."""
        return self.fit_forward(at, minutes)[1]

    def subtract(self, at: int, minutes: int) -> int:
        """The last instant at which so many working minutes must begin to be done by `at` [min]."""
        return self.fit_backward(at, minutes)[0]

    def fit_forward(self, ready: int, minutes: int, *, whole: bool = False) -> tuple[int, int]:
        """Start and finish of work begun as early as possible.

        ready : not before this [min]
        minutes : working time, >= 0; 0 needs no open hours [min]
        whole : the work may not be left over a night, only over breaks
        returns : start and finish [min]
        raises : BeyondCalendar
        """
        if ready < self.begins:
            raise BeyondCalendar(self.name, ready, self.begins, self.ends)
        if minutes == 0:
            return ready, ready
        opens, closes = self.opens, self.closes
        i = bisect_right(closes, ready)
        if whole:
            while i < len(opens) and self._left_in_shift(i, ready) < minutes:
                i += 1
        if i == len(opens):
            raise BeyondCalendar(self.name, self.ends + 1, self.begins, self.ends)
        start = max(ready, opens[i])
        if closes[i] - start >= minutes:
            return start, start + minutes
        done = self.worked_before[i] + start - opens[i] + minutes
        if done > self.total:
            raise BeyondCalendar(self.name, self.ends + done - self.total, self.begins, self.ends)
        j = bisect_left(self.worked_before, done, i) - 1
        return start, opens[j] + done - self.worked_before[j]

    def fit_backward(self, due: int, minutes: int, *, whole: bool = False) -> tuple[int, int]:
        """Start and finish of work finished as late as possible.

        due : not after this [min]
        minutes : working time, >= 0; 0 needs no open hours [min]
        whole : the work may not be left over a night, only over breaks
        returns : start and finish [min]
        raises : BeyondCalendar
        """
        if due > self.ends:
            raise BeyondCalendar(self.name, due, self.begins, self.ends)
        if minutes == 0:
            return due, due
        opens, closes = self.opens, self.closes
        i = bisect_left(opens, due) - 1
        if whole:
            while i >= 0 and self._done_in_shift(i, due) < minutes:
                i -= 1
        if i < 0:
            raise BeyondCalendar(self.name, self.begins - 1, self.begins, self.ends)
        finish = min(due, closes[i])
        if finish - opens[i] >= minutes:
            return finish - minutes, finish
        done = self.worked_before[i] + finish - opens[i] - minutes
        if done < 0:
            raise BeyondCalendar(self.name, self.begins + done, self.begins, self.ends)
        j = bisect_right(self.worked_before, done, 0, i + 1) - 1
        return opens[j] + done - self.worked_before[j], finish

    def _left_in_shift(self, i: int, at: int) -> int:
        """Working minutes of a stretch's shift from an instant, no earlier than the stretch."""
        begun = self.worked_before[i] + max(at, self.opens[i]) - self.opens[i]
        return self.shift_ends[self.shift_of[i]] - begun

    def _done_in_shift(self, i: int, at: int) -> int:
        """Working minutes of a stretch's shift by an instant, no later than the stretch."""
        shift = self.shift_of[i]
        begun = self.shift_ends[shift - 1] if shift else 0
        return self.worked_before[i] + min(at, self.closes[i]) - self.opens[i] - begun

    # Working days

    @cached_property
    def day_starts(self) -> tuple[int, ...]:
        """Local midnights of the days on which work begins [min]."""
        zone = zone_named(self.zone)
        days = sorted({self.instant(opens).date() for opens in self.opens})
        return tuple(minute_of(on_the_wall(d, time(), zone), self.origin) for d in days)

    @cached_property
    def day_minutes(self) -> int:
        """Open minutes of the middlemost working day, for saying minutes as days [min]."""
        worked = [self.worked(max(at, self.begins)) for at in self.day_starts]
        lengths = sorted(
            after - before for before, after in zip(worked, [*worked[1:], self.total], strict=True)
        )
        return lengths[len(lengths) // 2]

    def days_between(self, first: int, last: int) -> float:
        """Working days from one instant to another, negative if the other way round [d]."""
        return self.between(first, last) / self.day_minutes

    def add_working_days(self, at: int, days: int) -> int:
        """The start of work on the n-th working day after the day of `at`.

        A day told on a closed day counts from the working day before it, so that ten working days
        from a Saturday are ten from the Friday.
        """
        today = bisect_right(self.day_starts, at) - 1
        i = today + days
        if today < 0 or not 0 <= i < len(self.day_starts):
            raise BeyondCalendar(
                self.name, at + days * DAY_MINUTES * 7 // 5, self.begins, self.ends
            )
        return self.opens[bisect_left(self.opens, self.day_starts[i])]


def laid_out(
    name: str,
    shifts: Iterable[Shift],
    *,
    zone: str,
    first_day: date,
    last_day: date,
    origin: datetime,
    holidays: Iterable[date] = (),
    shutdowns: Iterable[Shutdown] = (),
    overtime: Iterable[Window] = (),
    outages: Iterable[Window] = (),
) -> WorkingTime:
    """Lay a calendar out over whole days, first and last included.

    Holidays and shutdowns take shifts away, overtime opens even then, and an outage closes all.

    name : for messages
    shifts : the week's open hours
    zone : IANA name, as in Europe/Lisbon
    first_day, last_day : days laid out
    origin : minute 0, aware
    holidays, shutdowns : days without shifts
    overtime, outages : stretches that open and that close
    returns : the working time
    raises : UnknownZone, BadShift, NoOpenHours
    """
    where = zone_named(zone)
    if last_day < first_day:
        raise BadShift(f"Calendar {name}", f"it would run from {first_day} to {last_day}")
    closed_days = set(holidays)
    spans = [(shutdown.first, shutdown.last) for shutdown in shutdowns]
    by_weekday: dict[int, list[Shift]] = {}
    for shift in shifts:
        by_weekday.setdefault(shift.weekday, []).append(shift)

    stretches = []
    for number in range((last_day - first_day).days + 1):
        day = first_day + timedelta(days=number)
        if day in closed_days or any(first <= day <= last for first, last in spans):
            continue
        for shift in by_weekday.get(day.weekday(), ()):
            if (shift.first_day and day < shift.first_day) or (
                shift.last_day and day > shift.last_day
            ):
                continue
            closing_day = day if shift.closes > shift.opens else day + timedelta(days=1)
            stretches.append(
                (
                    minute_of(on_the_wall(day, shift.opens, where), origin),
                    minute_of(on_the_wall(closing_day, shift.closes, where), origin),
                )
            )
    stretches += [_minutes(window, where, origin) for window in overtime]
    begins = minute_of(on_the_wall(first_day, time(), where), origin)
    ends = minute_of(on_the_wall(last_day + timedelta(days=1), time(), where), origin)
    open_ = _clipped(_merged(stretches), begins, ends)
    open_ = _without(open_, _merged(_minutes(window, where, origin) for window in outages))
    if not open_:
        raise NoOpenHours(name, first_day, last_day)
    return WorkingTime(
        name=name,
        zone=zone,
        origin=origin.astimezone(UTC),
        begins=begins,
        ends=ends,
        opens=tuple(opens for opens, _ in open_),
        closes=tuple(closes for _, closes in open_),
    )


def around_the_clock(name: str, *, origin: datetime, begins: int, ends: int) -> WorkingTime:
    """A calendar that never closes, for furnaces, stores and suppliers that count every hour."""
    return WorkingTime(
        name=name,
        zone="UTC",
        origin=origin.astimezone(UTC),
        begins=begins,
        ends=ends,
        opens=(begins,),
        closes=(ends,),
    )


@lru_cache(maxsize=64)
def zone_named(zone: str) -> ZoneInfo:
    """The zone of an IANA name.

    raises : UnknownZone
    """
    try:
        return ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, IsADirectoryError):
        raise UnknownZone(zone) from None


def on_the_wall(day: date, clock: time, zone: ZoneInfo) -> datetime:
    """The instant at which the clock on the wall shows a time, in UTC.

    A time that comes twice, when clocks go back, is its first; a time that never comes, when they
    go forward, is the moment of the change. Shifts that meet on the wall so meet in truth.
    """
    wall = datetime.combine(day, clock)
    at = wall.replace(tzinfo=zone).astimezone(UTC)
    if at.astimezone(zone).replace(tzinfo=None) == wall:
        return at
    # Skipped: before the change the clock shows less than `wall`, from it on more. Halve between.
    early, late = wall.replace(tzinfo=zone, fold=1).astimezone(UTC), at
    while late - early > timedelta(minutes=1):
        middle = early + (late - early) // 2
        middle = middle.replace(second=0, microsecond=0)
        if middle.astimezone(zone).replace(tzinfo=None) < wall:
            early = middle
        else:
            late = middle
    return late


def minute_of(at: datetime, origin: datetime) -> int:
    """Minutes from the origin to an aware instant, rounded down."""
    if at.tzinfo is None:
        raise BadShift(f"The instant {at}", "give it a time zone")
    return (at - origin) // timedelta(minutes=1)


def _minutes(window: Window, zone: ZoneInfo, origin: datetime) -> tuple[int, int]:
    return (
        minute_of(on_the_wall(window.opens.date(), window.opens.time(), zone), origin),
        minute_of(on_the_wall(window.closes.date(), window.closes.time(), zone), origin),
    )


def _merged(stretches: Iterable[tuple[int, int]]) -> list[tuple[int, int]]:
    """Union of stretches, touching ones joined, empty ones dropped."""
    merged: list[tuple[int, int]] = []
    for opens, closes in sorted(stretches):
        if closes <= opens:
            continue
        if merged and opens <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], closes))
        else:
            merged.append((opens, closes))
    return merged


def _clipped(stretches: list[tuple[int, int]], begins: int, ends: int) -> list[tuple[int, int]]:
    return _merged((max(opens, begins), min(closes, ends)) for opens, closes in stretches)


def _without(
    stretches: list[tuple[int, int]], outages: list[tuple[int, int]]
) -> list[tuple[int, int]]:
    left = []
    for opens, closes in stretches:
        at = opens
        for out, back in outages:
            if back <= at or out >= closes:
                continue
            if out > at:
                left.append((at, out))
            at = max(at, back)
        if at < closes:
            left.append((at, closes))
    return left
