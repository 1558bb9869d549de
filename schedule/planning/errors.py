"""What planning refuses, each error carrying its data and saying what would be right.

A missed date or a late start is a result, never an error: an error here means that the question
itself could not be asked.
"""

from datetime import date


class PlanningError(Exception):
    """Base of every refusal by the planning package."""


class Cycle(PlanningError):
    """Operations wait for one another in a ring."""

    def __init__(self, operations: tuple[str, ...]) -> None:
        self.operations = operations
        ring = " → ".join((*operations, operations[0]))
        super().__init__(
            f"These operations wait for one another: {ring}. Take out one of these links."
        )


class UnknownPredecessor(PlanningError):
    """A link names an operation that is not in the network."""

    def __init__(self, operation: str, predecessor: str) -> None:
        self.operation = operation
        self.predecessor = predecessor
        super().__init__(
            f"{operation} waits for {predecessor}, which is not in the network. "
            "Add that operation or take out the link."
        )


class UnknownOperation(PlanningError):
    """A report, gate or pin names an operation that is not in the network."""

    def __init__(self, operation: str, told_by: str) -> None:
        self.operation = operation
        self.told_by = told_by
        super().__init__(f"The {told_by} names {operation}, which is not in the network.")


class DuplicateOperation(PlanningError):
    """Two operations carry the same key."""

    def __init__(self, operation: str) -> None:
        self.operation = operation
        super().__init__(f"Two operations are called {operation}. Give each its own key.")


class DuplicateLink(PlanningError):
    """The same two operations are linked twice."""

    def __init__(self, before: str, after: str) -> None:
        self.before = before
        self.after = after
        super().__init__(
            f"{after} is linked twice to {before}. Keep one link, with the longer lag."
        )


class NegativeDuration(PlanningError):
    """An operation lasts less than nothing."""

    def __init__(self, operation: str, minutes: int) -> None:
        self.operation = operation
        self.minutes = minutes
        super().__init__(f"{operation} lasts {minutes} minutes. A duration is 0 minutes or more.")


class BadLag(PlanningError):
    """A lag is negative, or the longest allowed is shorter than the shortest."""

    def __init__(self, before: str, after: str, lag: int, longest: int | None) -> None:
        self.before = before
        self.after = after
        self.lag = lag
        self.longest = longest
        bounds = f"{lag} minutes" if longest is None else f"{lag} to {longest} minutes"
        super().__init__(
            f"The lag from {before} to {after} is {bounds}. "
            "A lag is 0 minutes or more, and the longest is not below the shortest."
        )


class MaximumLagCannotHold(PlanningError):
    """An operation cannot follow another as soon as it must."""

    def __init__(self, before: str, after: str, longest: int) -> None:
        self.before = before
        self.after = after
        self.longest = longest
        super().__init__(
            f"{after} must start within {longest} minutes of the finish of {before}, and the other "
            "links and calendars never let it. Lengthen that limit or move the calendars together."
        )


class MissingCalendar(PlanningError):
    """A working operation has no calendar, or one that is not there."""

    def __init__(self, operation: str, calendar: int | None, calendars: int) -> None:
        self.operation = operation
        self.calendar = calendar
        self.calendars = calendars
        said = "no calendar" if calendar is None else f"calendar {calendar}"
        super().__init__(
            f"{operation} is counted in working time and has {said}; "
            f"there are {calendars} calendars, numbered from 0."
        )


class UnknownPlace(PlanningError):
    """An operation names a work centre, resource or route that is not there."""

    def __init__(self, operation: str, what: str, number: int, count: int) -> None:
        self.operation = operation
        self.what = what
        self.number = number
        self.count = count
        super().__init__(f"{operation} names {what} {number}; there are {count}, numbered from 0.")


class NotEnoughPlaces(PlanningError):
    """An operation asks for more of a resource than there is."""

    def __init__(self, operation: str, resource: str, wanted: int, there: int) -> None:
        self.operation = operation
        self.resource = resource
        self.wanted = wanted
        self.there = there
        super().__init__(f"{operation} needs {wanted} of {resource} at once and there are {there}.")


class NoOpenHours(PlanningError):
    """A calendar never opens."""

    def __init__(self, calendar: str, first: date | None = None, last: date | None = None) -> None:
        self.calendar = calendar
        self.first = first
        self.last = last
        span = f" between {first} and {last}" if first and last else ""
        super().__init__(
            f"The calendar {calendar} has no open hours{span}. Give it a shift or overtime."
        )


class OperationTooLong(PlanningError):
    """An operation that may not be split is longer than any shift."""

    def __init__(self, operation: str, minutes: int, longest: int, calendar: str) -> None:
        self.operation = operation
        self.minutes = minutes
        self.longest = longest
        self.calendar = calendar
        super().__init__(
            f"{operation} takes {minutes} minutes and may not be left overnight, but the longest "
            f"shift of the calendar {calendar} is {longest} minutes. Let it be split, "
            "lengthen the shift or plan overtime."
        )


class BeyondCalendar(PlanningError):
    """A date falls outside the days for which a calendar is known."""

    def __init__(self, calendar: str, minutes: int, begins: int, ends: int) -> None:
        self.calendar = calendar
        self.minutes = minutes
        self.begins = begins
        self.ends = ends
        side = "before it begins" if minutes < begins else "after it ends"
        super().__init__(
            f"The calendar {calendar} would have to reach minute {minutes}, {side} "
            f"(it is known from {begins} to {ends}). Lay the calendar out over more years."
        )


class UnknownZone(PlanningError):
    """A time zone is not in the zone list."""

    def __init__(self, zone: str) -> None:
        self.zone = zone
        super().__init__(f"{zone!r} is no time zone. Write it as in 'Europe/Lisbon'.")


class UnknownCountry(PlanningError):
    """No public holidays are known for a country or region."""

    def __init__(self, country: str, region: str | None) -> None:
        self.country = country
        self.region = region
        place = country if region is None else f"{country}, region {region}"
        super().__init__(
            f"No public holidays are known for {place}. "
            "Use the two-letter country code of ISO 3166, or type the days in."
        )


class BadShift(PlanningError):
    """A shift, window or shutdown ends before it begins, or names a day that is none."""

    def __init__(self, what: str, why: str) -> None:
        self.what = what
        self.why = why
        super().__init__(f"{what}: {why}")


class TimeInTheFuture(PlanningError):
    """A report claims that something has happened later than now."""

    def __init__(self, operation: str, what: str, at: int, now: int) -> None:
        self.operation = operation
        self.what = what
        self.at = at
        self.now = now
        super().__init__(
            f"{operation} is reported {what} {at - now} minutes after now. "
            "A report tells what has happened, so its time is now or before."
        )


class BadReport(PlanningError):
    """A progress report contradicts itself."""

    def __init__(self, operation: str, why: str) -> None:
        self.operation = operation
        self.why = why
        super().__init__(f"The report on {operation} cannot be right: {why}")


class BadLane(PlanningError):
    """A freight lane cannot be reckoned with."""

    def __init__(self, lane: str, why: str) -> None:
        self.lane = lane
        self.why = why
        super().__init__(f"The lane {lane} cannot be used: {why}")


class NoSailing(PlanningError):
    """No departure of the lane serves the date."""

    def __init__(
        self, lane: str, what: str, *, by: date | None, after: date | None, nearest: date | None
    ) -> None:
        self.lane = lane
        self.by = by
        self.after = after
        self.nearest = nearest
        needed = f"on or before {by}" if by else f"on or after {after}"
        known = f"the nearest known is {nearest}" if nearest else "none is known"
        super().__init__(
            f"The lane {lane} has no {what} for this date: one {needed} would be needed; {known}."
        )


class BadTemplate(PlanningError):
    """A route template cannot be read."""

    def __init__(self, template: str, where: str, why: str) -> None:
        self.template = template
        self.where = where
        self.why = why
        super().__init__(f"The route template {template}, {where}: {why}")


class BadTerms(PlanningError):
    """The contract's terms hold a number that cannot be."""

    def __init__(self, field: str, value: object, right: str) -> None:
        self.field = field
        self.value = value
        self.right = right
        super().__init__(f"{field} is {value!r}; it must be {right}.")


class BadProblem(PlanningError):
    """Some other number at the door of the problem cannot be."""

    def __init__(self, what: str, why: str) -> None:
        self.what = what
        self.why = why
        super().__init__(f"{what}: {why}")
