"""Both passes over one order's network, in exact working time.

Backward from the due dates: the latest that each operation may start. Forward from now and what
has been reported: the earliest that it will. Plain Python with bisection: for one order it beats
arrays several times over. The whole works in one sweep is in `sweep`.
"""

from bisect import bisect_right
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from schedule.planning.calendars import WorkingTime
from schedule.planning.errors import BadProblem, MaximumLagCannotHold
from schedule.planning.network import Cause, Operation, Problem
from schedule.planning.reports import (
    Bounds,
    Gate,
    Progress,
    bounds_by_position,
    reports_by_position,
)

Reported = tuple[Progress | None, ...]


@dataclass(frozen=True)
class Backward:
    """Latest dates from the due dates. starts, finishes : (n,) [min]."""

    starts: tuple[int, ...]
    finishes: tuple[int, ...]


@dataclass(frozen=True)
class Forward:
    """Earliest dates from now and progress, and what set each.

    starts, finishes : (n,) [min]
    frees : (n,) when what follows may go on: the finish, or later by a gate [min]
    causes, by, at, notes : (n,) what set the start, the predecessor's position or -1, the instant
        from which that cause would have let it start [min], and its words
    marks : what is odd about the reports, as (key, words)
    """

    starts: tuple[int, ...]
    finishes: tuple[int, ...]
    frees: tuple[int, ...]
    causes: tuple[Cause, ...]
    by: tuple[int, ...]
    at: tuple[int, ...]
    notes: tuple[str, ...]
    marks: tuple[tuple[str, str], ...]


def forward(
    problem: Problem,
    *,
    now: int,
    progress: Iterable[Progress] = (),
    gates: Iterable[Gate] = (),
) -> Forward:
    """Earliest dates from now and what has been reported.

    A finished operation keeps its reported times. A started one goes on from now, whatever it
    should have waited for, but does not finish before what it waits for does. Ties between causes
    go to now, then to the predecessor that stands first, then to dates and gates.

    problem : the network
    now : [min]
    progress : at most one an operation
    gates : those neither cleared nor passed at risk
    returns : dates and causes
    raises : TimeInTheFuture, BadReport, UnknownOperation, MaximumLagCannotHold, BeyondCalendar
    """
    return forward_of(problem, now, reports_by_position(problem, progress, now), gates)


def backward(problem: Problem, *, now: int = 0, progress: Iterable[Progress] = ()) -> Backward:
    """Latest dates from the due dates of routes and operations.

    What is begun needs only its remaining minutes. What is finished keeps its planned length.

    problem : with at least one route
    now : for the reports' times [min]
    progress : at most one an operation
    returns : dates
    raises : BadProblem, BadReport, TimeInTheFuture, MaximumLagCannotHold, BeyondCalendar
    """
    return backward_of(problem, reports_by_position(problem, progress, now))


def forward_of(
    problem: Problem, now: int, reported: Reported, gates: Iterable[Gate] = ()
) -> Forward:
    """The forward pass over reports already lined up."""
    bounds = bounds_by_position(problem, now, gates)
    if not problem.max_lags:
        return _forward_once(problem, now, reported, bounds)
    # A limit that fails pushes the earlier operation later. Each round settles at least one more
    # operation of a chain of such limits: more rounds than operations never settle.
    for _ in range(len(problem.operations) + 1):
        found = _forward_once(problem, now, reported, bounds)
        late = [
            (b, a, most)
            for b, a, most in problem.max_lags
            if reported[a] is None and found.starts[a] > found.frees[b] + most
        ]
        movable = [(b, a, most) for b, a, most in late if reported[b] is None]
        if not movable:
            marks = tuple(
                (
                    problem.operations[a].key,
                    f"comes later than the {most} minutes allowed "
                    f"after {problem.operations[b].key}",
                )
                for b, a, most in late
            )
            return replace(found, marks=found.marks + marks)
        for b, a, most in movable:
            key = problem.operations[a].key
            start = _start_for_finish(problem, b, found.starts[a] - most)
            had = bounds.get(b, Bounds())
            pushed = (start, Cause.MAXIMUM_LAG, f"{key} must follow within {most} minutes")
            bounds[b] = replace(had, start=(*had.start, pushed))
    b, a, most = movable[0]
    raise MaximumLagCannotHold(problem.operations[b].key, problem.operations[a].key, most)


def backward_of(problem: Problem, reported: Reported) -> Backward:
    """The backward pass over reports already lined up."""
    if not problem.routes:
        raise BadProblem("Problem", "no route gives a due date; name at least one route")
    caps: dict[int, int] = {}
    if not problem.max_lags:
        return _backward_once(problem, reported, caps)
    for _ in range(len(problem.operations) + 1):
        found = _backward_once(problem, reported, caps)
        late = [
            (b, a, most)
            for b, a, most in problem.max_lags
            if found.starts[a] > found.finishes[b] + most
        ]
        if not late:
            return found
        for b, a, most in late:
            caps[a] = found.finishes[b] + most
    b, a, most = late[0]
    raise MaximumLagCannotHold(problem.operations[b].key, problem.operations[a].key, most)


def _forward_once(
    problem: Problem, now: int, reported: Reported, bounds: Mapping[int, Bounds]
) -> Forward:
    count = len(problem.operations)
    starts, finishes, frees, at = [0] * count, [0] * count, [0] * count, [now] * count
    causes, by, notes = [Cause.NOW] * count, [-1] * count, [""] * count
    marks: list[tuple[str, str]] = []
    operations, calendars, before = problem.operations, problem.calendars, problem.before
    for i in problem.topological:
        operation = operations[i]
        ready, source = now, -1
        for b, lag in before[i]:
            free = frees[b] + lag
            if free > ready:
                ready, source = free, b
        if source >= 0:
            causes[i], by[i] = Cause.PREDECESSOR, source
            if frees[source] > finishes[source]:
                causes[i], notes[i] = Cause.GATE, bounds[source].free_note
        own = bounds.get(i)
        if own is not None:
            for bound, why, words in own.start:
                if bound > ready:
                    ready, causes[i], by[i], notes[i] = bound, why, -1, words
        report = reported[i]
        if report is None:
            at[i] = ready
            calendar = operation.calendar
            if calendar is None:
                start, finish = ready, ready + operation.minutes
            else:
                start, finish = calendars[calendar].fit_forward(
                    ready, operation.minutes, whole=not operation.splits
                )
        else:
            start, finish = as_reported(operation, calendars, report, ready, now)
            at[i] = start if report.started is not None else ready
            if report.started is not None:
                causes[i], by[i], notes[i] = Cause.PROGRESS, -1, "in work"
                if report.finished is not None:
                    notes[i] = "finished"
                else:
                    # It goes on, yet cannot end before what it waits for does.
                    for b, _ in before[i]:
                        if frees[b] > finish:
                            finish, by[i], notes[i] = frees[b], b, "begun before it"
                            causes[i] = Cause.PREDECESSOR
            marks += _odd(problem, i, report, reported, now)
        if own is not None:
            if report is None or report.finished is None:
                finish = max(finish, own.finish)
            frees[i] = max(finish, own.free)
        else:
            frees[i] = finish
        starts[i], finishes[i] = start, finish
    return Forward(
        tuple(starts),
        tuple(finishes),
        tuple(frees),
        tuple(causes),
        tuple(by),
        tuple(at),
        tuple(notes),
        tuple(marks),
    )


def _backward_once(problem: Problem, reported: Reported, caps: Mapping[int, int]) -> Backward:
    count = len(problem.operations)
    starts, finishes = [0] * count, [0] * count
    operations, calendars, after = problem.operations, problem.calendars, problem.after
    dues = [route.due for route in problem.routes]
    for i in reversed(problem.topological):
        operation = operations[i]
        due = dues[operation.route]
        if operation.due is not None and operation.due < due:
            due = operation.due
        for a, lag in after[i]:
            bound = starts[a] - lag
            if bound < due:
                due = bound
        minutes = operation.minutes
        report = reported[i]
        if report is not None and report.finished is None and report.remaining is not None:
            minutes = report.remaining
        calendar = operation.calendar
        if calendar is None:
            start, finish = due - minutes, due
        else:
            start, finish = calendars[calendar].fit_backward(
                due, minutes, whole=not operation.splits
            )
        if caps and i in caps and start > caps[i]:
            start, finish = _start_by(operation, calendars, caps[i], minutes)
        starts[i], finishes[i] = start, finish
    return Backward(tuple(starts), tuple(finishes))


def as_reported(
    operation: Operation,
    calendars: tuple[WorkingTime, ...],
    report: Progress,
    ready: int,
    now: int,
) -> tuple[int, int]:
    """Start and finish of an operation on which something has been reported.

    operation, calendars : of the problem
    report : what was said
    ready : when what it waits for lets it start [min]
    now : [min]
    returns : start and finish [min]
    """
    started = report.started
    if started is not None and report.finished is not None:
        return started, report.finished
    calendar = None if operation.calendar is None else calendars[operation.calendar]
    if report.expected is not None:
        finish = max(now, report.expected)
        return (started if started is not None else min(ready, finish)), finish
    minutes = operation.minutes if report.remaining is None else report.remaining
    begin = ready if started is None else now
    if started is not None and report.remaining is None:
        begin = started  # nobody said what remains: as planned from its start
    if calendar is None:
        start, finish = begin, begin + minutes
    else:
        # What is left of a started operation may be taken up in any open hours.
        whole = not operation.splits and started is None
        start, finish = calendar.fit_forward(begin, minutes, whole=whole)
    return (start, finish) if started is None else (started, max(now, finish))


def _odd(
    problem: Problem, i: int, report: Progress, reported: Reported, now: int
) -> list[tuple[str, str]]:
    """What is odd about a report that is taken all the same."""
    operation = problem.operations[i]
    marks = []
    if report.started is not None:
        early = []
        for b, _ in problem.before[i]:
            told = reported[b]
            if told is None or told.finished is None or told.finished > report.started:
                early.append(problem.operations[b].key)
        if early:
            marks.append((operation.key, f"started before the finish of {', '.join(early)}"))
    if report.finished is None and report.expected is not None and report.expected < now:
        marks.append((operation.key, "promised for a time that is past"))
    unsaid = report.remaining is None and report.expected is None and report.finished is None
    if report.started is not None and unsaid:
        planned = as_reported(operation, problem.calendars, report, now, report.started)[1]
        if planned < now:
            marks.append((operation.key, "should be done by now; say what remains"))
    return marks


def _start_for_finish(problem: Problem, i: int, until: int) -> int:
    """The earliest start that finishes no earlier than `until` [min]."""
    operation = problem.operations[i]
    if operation.calendar is None or not operation.splits:
        return until - operation.minutes
    hours = problem.calendars[operation.calendar]
    if hours.previous_working(until) < until:
        until = hours.next_working(until) + 1
    return hours.subtract(until, operation.minutes)


def _start_by(
    operation: Operation, calendars: tuple[WorkingTime, ...], cap: int, minutes: int
) -> tuple[int, int]:
    """Start and finish of the latest start no later than `cap` [min]."""
    if operation.calendar is None:
        return cap, cap + minutes
    hours = calendars[operation.calendar]
    if not operation.splits:
        return hours.fit_backward(cap + minutes, minutes, whole=True)
    i = bisect_right(hours.opens, cap) - 1
    start = cap if i >= 0 and cap < hours.closes[i] else hours.closes[i] - 1
    return hours.fit_forward(start, minutes)
