"""Where an operation stands by its reports: the latest word on each, corrected ones replaced.

Pure bookkeeping over reports already read; the working minutes that passed between two of them
come from whoever knows the calendar.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import datetime

from schedule.models import Operation, Progress

Passed = Callable[[datetime, datetime], int]
State = Operation.State
Deed = Progress.Deed


@dataclass(frozen=True)
class Standing:
    """What the reports add up to.

    remaining_minutes, remaining_at : what was left and when that was so; None when nobody said
        and nothing was interrupted [min]
    trouble : why the reports contradict one another; empty when they don't
    """

    state: str = State.WAITING
    started_at: datetime | None = None
    finished_at: datetime | None = None
    remaining_minutes: int | None = None
    remaining_at: datetime | None = None
    stop_reason: str = ""
    trouble: str = ""


def effective(reports: Iterable[Progress]) -> list[Progress]:
    """Reports that still stand, by the time they state; a correction replaces what it corrects."""
    rows = list(reports)
    replaced = {row.corrects_id for row in rows if row.corrects_id is not None}
    return sorted(
        (row for row in rows if row.pk not in replaced and not row.withdraws),
        key=lambda row: (row.stated_at, row.pk),
    )


def standing(reports: Iterable[Progress], *, minutes: int, passed: Passed) -> Standing:
    """Add reports up.

    minutes : planned for the operation [min]
    passed : minutes of its kind between two instants [min]
    returns : the state; with `trouble` at the first report that cannot follow the ones before it
    """
    now = Standing()
    for report in effective(reports):
        now = _after(now, report, minutes, passed)
        if now.trouble:
            break
    return now


def _after(was: Standing, report: Progress, minutes: int, passed: Passed) -> Standing:
    at = report.stated_at
    said = report.remaining_minutes
    match report.deed:
        case Deed.START:
            if was.state != State.WAITING:
                return replace(was, trouble="it would be started twice")
            left = (said, at) if said is not None else (None, None)
            return Standing(State.STARTED, at, None, *left)
        case Deed.STOP:
            if was.state != State.STARTED:
                return replace(was, trouble="it would be stopped while it is not running")
            left_over = said if said is not None else _left(was, at, minutes, passed)
            return replace(
                was,
                state=State.STOPPED,
                remaining_minutes=left_over,
                remaining_at=at,
                stop_reason=report.reason,
            )
        case Deed.RESUME:
            if was.state != State.STOPPED:
                return replace(was, trouble="it would be resumed while it is not stopped")
            return replace(
                was,
                state=State.STARTED,
                remaining_minutes=was.remaining_minutes if said is None else said,
                remaining_at=at,
                stop_reason="",
            )
        case Deed.PART_DONE:
            if was.state not in {State.STARTED, State.STOPPED}:
                return replace(was, trouble="part of it would be done while it is not in work")
            return replace(was, remaining_minutes=said, remaining_at=at)
        case Deed.FINISH:
            if was.state not in {State.STARTED, State.STOPPED}:
                return replace(was, trouble="it would be finished without a stated start")
            return replace(
                was,
                state=State.FINISHED,
                finished_at=at,
                remaining_minutes=None,
                remaining_at=None,
                stop_reason="",
            )
    raise ValueError(f"no such deed: {report.deed}")


def _left(was: Standing, at: datetime, minutes: int, passed: Passed) -> int:
    """What is left of a running operation at an instant, as nobody said."""
    if was.remaining_minutes is not None and was.remaining_at is not None:
        return max(0, was.remaining_minutes - passed(was.remaining_at, at))
    if was.started_at is None:
        return minutes
    return max(0, minutes - passed(was.started_at, at))
