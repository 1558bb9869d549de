"""What is known from the floor: progress reports and gates not yet cleared."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from schedule.planning.calendars import DAY_MINUTES, WorkingTime
from schedule.planning.errors import BadReport, MissingCalendar, TimeInTheFuture, UnknownOperation
from schedule.planning.network import Cause, Problem


class Position(StrEnum):
    """Where a gate stands on its operation."""

    BEFORE = "before"
    DURING = "during"
    AFTER = "after"


@dataclass(frozen=True, kw_only=True)
class Progress:
    """What has been reported on one operation.

    operation : key
    started, finished : as reported, now or before [min]
    remaining : minutes still to do from now, counted as the operation's are; None when nobody
        said, and then it is taken to go as planned from its start [min]
    expected : a promised finish (a bought-out's arrival), which overrides `remaining` [min]
    """

    operation: str
    started: int | None = None
    finished: int | None = None
    remaining: int | None = None
    expected: int | None = None


@dataclass(frozen=True, kw_only=True)
class Gate:
    """A point at which work may not go on until somebody lets it.

    operation : key
    position : a gate before or during binds the operation, one after binds what follows
    reason : for people
    expected : when it will be cleared; None when no more than the notice holds it back [min]
    notice_days : told so many days ahead; 0 for none [d]
    notice_calendar : number of the calendar whose working days count; None for days that pass
    notified : when notice was given; None when not yet, and then it is counted from now [min]
    """

    operation: str
    position: Position
    reason: str
    expected: int | None = None
    notice_days: int = 0
    notice_calendar: int | None = None
    notified: int | None = None


@dataclass(frozen=True)
class Bounds:
    """What dates and gates add to one operation.

    start : instants before which it may not start, with cause and words
    finish : it may not finish before [min]
    free : what follows may not start before, with words [min]
    """

    start: tuple[tuple[int, Cause, str], ...] = ()
    finish: int = -(1 << 60)
    free: int = -(1 << 60)
    free_note: str = ""


def reports_by_position(
    problem: Problem, progress: Iterable[Progress], now: int
) -> tuple[Progress | None, ...]:
    """Line reports up with operations, refusing what cannot be true.

    Late, overlapping and out-of-order reports are taken; the forward pass marks them.

    problem : the network
    progress : at most one an operation
    now : [min]
    returns : (n,) report or None
    raises : UnknownOperation, TimeInTheFuture, BadReport
    """
    reported: list[Progress | None] = [None] * len(problem.operations)
    for report in progress:
        key = report.operation
        if key not in problem.position:
            raise UnknownOperation(key, "progress report")
        i = problem.position[key]
        if reported[i] is not None:
            raise BadReport(key, "it is given twice; hand over the latest state only.")
        for what, at in (("started", report.started), ("finished", report.finished)):
            if at is not None and at > now:
                raise TimeInTheFuture(key, what, at, now)
        if report.finished is not None:
            if report.started is None:
                raise BadReport(key, "it is finished and was never started; state the start.")
            if report.finished < report.started:
                early = report.started - report.finished
                raise BadReport(key, f"it finished {early} minutes before it began.")
        if report.remaining is not None and report.remaining < 0:
            raise BadReport(key, f"{report.remaining} minutes remain; 0 is the least.")
        reported[i] = report
    return tuple(reported)


def notice_until(gate: Gate, calendars: tuple[WorkingTime, ...], now: int) -> int | None:
    """The first instant at which the gate's notice has run.

    gate : with its notice
    calendars : the problem's
    now : notice not yet given is counted from here [min]
    returns : None when it needs no notice [min]
    raises : BadReport, MissingCalendar, BeyondCalendar
    """
    if gate.notice_days == 0:
        return None
    if gate.notice_days < 0:
        raise BadReport(gate.operation, f"its gate wants {gate.notice_days} days of notice.")
    told = now if gate.notified is None else gate.notified
    if gate.notice_calendar is None:
        return told + gate.notice_days * DAY_MINUTES
    if not 0 <= gate.notice_calendar < len(calendars):
        raise MissingCalendar(gate.operation, gate.notice_calendar, len(calendars))
    return calendars[gate.notice_calendar].add_working_days(told, gate.notice_days)


def bounds_by_position(problem: Problem, now: int, gates: Iterable[Gate]) -> dict[int, Bounds]:
    """Dates on operations and open gates, gathered for the operations that have any.

    problem : the network
    now : [min]
    gates : those neither cleared nor passed at risk
    returns : by position
    raises : UnknownOperation, and as `notice_until`
    """
    bounds = {
        i: Bounds(start=tuple((b.at, b.cause, b.note) for b in operation.not_before))
        for i, operation in enumerate(problem.operations)
        if operation.not_before
    }
    for gate in gates:
        if gate.operation not in problem.position:
            raise UnknownOperation(gate.operation, "gate")
        i = problem.position[gate.operation]
        had = bounds.get(i, Bounds())
        notice = notice_until(gate, problem.calendars, now)
        start, finish, free, note = list(had.start), had.finish, had.free, had.free_note
        if gate.position is Position.AFTER:
            until = max(at for at in (notice, gate.expected, free) if at is not None)
            if until > free:
                free, note = until, gate.reason
        else:
            if notice is not None:
                start.append((notice, Cause.NOTICE, gate.reason))
            if gate.expected is not None and gate.position is Position.BEFORE:
                start.append((gate.expected, Cause.GATE, gate.reason))
            elif gate.expected is not None:
                finish = max(finish, gate.expected)
        bounds[i] = Bounds(tuple(start), finish, free, note)
    return bounds
