"""What a plan breaks: each rule of the problem, checked minute by minute, apart from the search."""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from schedule.planning.network import Problem
from schedule.planning.plans import Placement, Plan
from schedule.planning.reports import Gate, Progress, bounds_by_position, reports_by_position


class Broken(StrEnum):
    """The kinds of rule."""

    PRECEDENCE = "precedence"
    LONGEST_LAG = "longest lag"
    TOO_EARLY = "too early"
    CALENDAR = "calendar"
    SPLIT = "split"
    LENGTH = "length"
    PLACES = "places"
    RESOURCE = "resource"
    SETUP = "set-up"
    BATCH = "batch"
    MISSING = "missing"


@dataclass(frozen=True)
class Violation:
    """One broken rule: which operations, and what is wrong."""

    rule: Broken
    operations: tuple[str, ...]
    says: str


def check(
    problem: Problem,
    plan: Plan,
    *,
    now: int,
    progress: Iterable[Progress] = (),
    gates: Iterable[Gate] = (),
) -> tuple[Violation, ...]:
    """Everything a plan breaks; nothing for a good plan.

    What is fixed (reported, pinned) is taken as it stands and breaks nothing by itself; what
    follows it must still keep to it.

    problem, plan : the question and the answer
    now : nothing new starts before [min]
    progress, gates : from the floor
    returns : violations, in the order of the rules
    raises : as `reports_by_position`
    """
    reported = reports_by_position(problem, progress, now)
    found: list[Violation] = []
    keys = {placement.operation for placement in plan.placements}
    found += [
        Violation(Broken.MISSING, (operation.key,), "it has no place in the plan")
        for operation in problem.operations
        if operation.key not in keys
    ]
    if found:
        return tuple(found)
    at = [plan.placement(operation.key) for operation in problem.operations]
    done = [report is not None and report.finished is not None for report in reported]
    bounds = bounds_by_position(problem, now, gates)
    _links(problem, at, found)
    for i, placement in enumerate(at):
        if placement.fixed:
            continue
        _own(problem, i, placement, now, found)
        for bound, cause, note in bounds[i].start if i in bounds else ():
            if placement.start < bound:
                words = (
                    f"it starts {bound - placement.start} minutes before its {cause.value} {note}"
                )
                found.append(Violation(Broken.TOO_EARLY, (placement.operation,), words))
        for b, _ in problem.before[i]:
            if b in bounds and placement.start < bounds[b].free:
                words = f"it starts before the gate after {at[b].operation}: {bounds[b].free_note}"
                found.append(Violation(Broken.TOO_EARLY, (placement.operation,), words))
    _places(problem, at, now, done, found)
    _resources(problem, at, now, done, found)
    _setups(problem, at, found)
    _batches(problem, at, found)
    return tuple(found)


def _links(problem: Problem, at: list[Placement], found: list[Violation]) -> None:
    for a, before in enumerate(problem.before):
        for b, lag in before:
            if at[a].start < at[b].finish + lag and not (at[a].fixed and at[b].fixed):
                short = at[b].finish + lag - at[a].start
                words = f"{at[a].operation} starts {short} minutes early after {at[b].operation}"
                pair = (at[b].operation, at[a].operation)
                found.append(Violation(Broken.PRECEDENCE, pair, words))
    for b, a, most in problem.max_lags:
        if at[a].start > at[b].finish + most and not (at[a].fixed and at[b].fixed):
            over = at[a].start - at[b].finish - most
            words = f"{at[a].operation} starts {over} minutes too long after {at[b].operation}"
            pair = (at[b].operation, at[a].operation)
            found.append(Violation(Broken.LONGEST_LAG, pair, words))


def _own(problem: Problem, i: int, placement: Placement, now: int, found: list[Violation]) -> None:
    operation = problem.operations[i]
    key = (operation.key,)
    if placement.start < now:
        words = f"it starts {now - placement.start} minutes before now"
        found.append(Violation(Broken.TOO_EARLY, key, words))
    if operation.calendar is None:
        if placement.finish - placement.start != operation.minutes:
            words = f"it lasts {placement.finish - placement.start} of {operation.minutes} minutes"
            found.append(Violation(Broken.LENGTH, key, words))
        return
    calendar = problem.calendars[operation.calendar]
    worked = calendar.between(placement.start, placement.finish)
    if worked != operation.minutes:
        words = f"{worked} of its {operation.minutes} working minutes lie inside it"
        found.append(Violation(Broken.LENGTH, key, words))
    if operation.minutes and calendar.next_working(placement.start) != placement.start:
        words = f"{calendar.name} is closed when it starts"
        found.append(Violation(Broken.CALENDAR, key, words))
    if operation.minutes and not operation.splits:
        whole = calendar.fit_forward(placement.start, operation.minutes, whole=True)
        if whole[0] != placement.start:
            words = "it may not be left overnight and does not fit the shift it starts in"
            found.append(Violation(Broken.SPLIT, key, words))


def _places(
    problem: Problem, at: list[Placement], now: int, done: list[bool], found: list[Violation]
) -> None:
    for number, centre in enumerate(problem.work_centres):
        spans: dict[tuple[str, int], tuple[int, int, int, str]] = {}
        for i, placement in enumerate(at):
            operation = problem.operations[i]
            if operation.work_centre == number and not done[i]:
                # One batch takes one place.
                name = (operation.batch, 0) if operation.batch else ("", i + 1)
                start = max(placement.start, now)
                had = spans.get(name)
                finish = max(placement.finish, had[1]) if had else placement.finish
                fixed = int(placement.fixed) if had is None else had[2] & int(placement.fixed)
                spans[name] = (min(start, had[0]) if had else start, finish, fixed, operation.key)
        _crowded(list(spans.values()), centre.places, centre.key, Broken.PLACES, found)


def _resources(
    problem: Problem, at: list[Placement], now: int, done: list[bool], found: list[Violation]
) -> None:
    for number, resource in enumerate(problem.resources):
        spans = []
        for i, placement in enumerate(at):
            for need in problem.operations[i].needs:
                if need.resource == number and not done[i]:
                    start = max(placement.start, now)
                    span = (start, placement.finish, int(placement.fixed), placement.operation)
                    spans += [span] * need.amount
        for held in problem.held:
            if held.resource == number:
                first, last = problem.position[held.first], problem.position[held.last]
                if not done[last]:
                    start = max(at[first].start, now)
                    fixed = int(at[first].fixed and at[last].fixed)
                    spans += [(start, at[last].finish, fixed, held.first)] * held.amount
        _crowded(spans, resource.amount, resource.key, Broken.RESOURCE, found)


def _crowded(
    spans: list[tuple[int, int, int, str]],
    limit: int,
    name: str,
    rule: Broken,
    found: list[Violation],
) -> None:
    """Name what runs at once beyond a limit, unless only fixed work does."""
    events = []
    for k, (start, finish, _, _) in enumerate(spans):
        if finish > start:
            events += [(start, 1, k), (finish, 0, k)]
    running: set[int] = set()
    for minute, begins, k in sorted(events):
        if not begins:
            running.discard(k)
            continue
        running.add(k)
        if len(running) > limit and not all(spans[j][2] for j in running):
            names = tuple(sorted({spans[j][3] for j in running}))
            words = f"{len(running)} at once at {name} in minute {minute}, where {limit} have room"
            found.append(Violation(rule, names, words))
            return


def _setups(problem: Problem, at: list[Placement], found: list[Violation]) -> None:
    for number, centre in enumerate(problem.work_centres):
        if not centre.setup_minutes:
            continue
        row = sorted(
            (at[i].start, at[i].finish, i)
            for i, operation in enumerate(problem.operations)
            if operation.work_centre == number and operation.setup and operation.minutes
        )
        for (_, finish, i), (start, _, j) in pairwise(row):
            before, after = problem.operations[i], problem.operations[j]
            if before.setup == after.setup or (at[i].fixed and at[j].fixed):
                continue
            gap = start - finish
            if before.calendar is not None:
                gap = problem.calendars[before.calendar].between(finish, start)
            if gap < centre.setup_minutes:
                words = f"{gap} of {centre.setup_minutes} minutes to change over at {centre.key}"
                found.append(Violation(Broken.SETUP, (before.key, after.key), words))


def _batches(problem: Problem, at: list[Placement], found: list[Violation]) -> None:
    batches: dict[tuple[int | None, str], list[int]] = {}
    for i, operation in enumerate(problem.operations):
        if operation.batch and not at[i].fixed:
            batches.setdefault((operation.work_centre, operation.batch), []).append(i)
    for (_, name), members in batches.items():
        if len({at[i].start for i in members}) > 1:
            keys = tuple(at[i].operation for i in members)
            words = f"batch {name} is not begun together"
            found.append(Violation(Broken.BATCH, keys, words))
