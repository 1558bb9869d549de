"""Reports from the floor: taken, marked, refused, corrected."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.db import DatabaseError, transaction

from schedule.actions.elapsed import finish_elapsed
from schedule.actions.gates import clear_gate, open_gate
from schedule.actions.progress import correct_report, report
from schedule.actions.routes import cancel_route, hold_route, issue_drawing
from schedule.errors import (
    AlreadyReported,
    BadFigure,
    ConfirmationMissing,
    GateOpen,
    Mismatch,
    NotStarted,
    ReportContradicts,
    RouteNotInWork,
)
from schedule.models import Gate, Operation, Progress, Route
from selection.models import Pattern
from tests.factories.schedule import NOW, GateFactory, grown, person, step
from works.errors import NotAllowed, ReasonMissing, TimeInFuture
from works.models import Event, Outbox
from works.people import Group

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)
TURNING = {"rotation": "clockwise"}


def say(operation: Operation, deed: str, stated_at: datetime = NOW, **more: Any) -> Progress:
    """One report on one operation, made a minute after what it states unless told otherwise."""
    at = more.pop("at", stated_at + timedelta(minutes=1))
    by = more.pop("by", None)
    confirmed = {operation.pk: more.pop("confirmed", {})}
    return report(
        operation_ids=[operation.pk],
        deed=deed,
        stated_at=stated_at,
        by=by,
        at=at,
        confirmed=confirmed,
        **more,
    )[-1]


def finish(route: Route, *codes: str, at: datetime = NOW) -> None:
    """Finish operations that confirm nothing, start and end an hour apart."""
    for code in codes:
        operation = step(route, code)
        right = {"pattern": "P-IMPELLER rev B", "rotation": "clockwise"}
        say(operation, "finish", at, started_at=at - HOUR, confirmed=right)


def test_a_start_and_a_finish_are_kept_with_who_and_when() -> None:
    ana = person(Group.SUPERVISOR, areas=("engineering",))
    operation = step(grown(), "ENG-REVIEW")
    say(operation, "start", NOW, by=ana)
    say(operation, "finish", NOW + 3 * HOUR, by=ana)
    operation.refresh_from_db()
    assert operation.state == Operation.State.FINISHED
    assert (operation.started_at, operation.finished_at) == (NOW, NOW + 3 * HOUR)
    assert [row.by for row in operation.reports.all()] == [ana, ana]


def test_a_report_moves_the_forecast_at_once() -> None:
    route = grown()
    before = route.forecast_ship_at
    say(step(route, "ENG-REVIEW"), "start", NOW)
    late = NOW + timedelta(days=7)
    say(step(route, "ENG-REVIEW"), "finish", late)
    route.refresh_from_db()
    assert before is not None and route.forecast_ship_at is not None
    assert route.forecast_ship_at - before > timedelta(days=5)


def test_a_report_commits_its_event_and_outbox_row() -> None:
    route = grown()
    say(step(route, "ENG-REVIEW"), "start")
    event = Event.objects.get(deed="schedule.progress_reported")
    assert event.after["route"] == route.pk
    assert event.after["reports"][0]["deed"] == "start"
    assert Outbox.objects.filter(event=event).exists()


def test_several_operations_are_reported_at_once() -> None:
    route = grown(quantity=3)
    pours = [step(route, "FDY-I-POUR", unit) for unit in (1, 2, 3)]
    report(operation_ids=[o.pk for o in pours], deed="start", stated_at=NOW, by=None, at=NOW)
    assert {step(route, "FDY-I-POUR", unit).state for unit in (1, 2, 3)} == {"started"}
    assert Event.objects.filter(deed="schedule.progress_reported").count() == 1


def test_one_refused_operation_leaves_all_of_the_report_unwritten() -> None:
    route = grown(quantity=2)
    first, second = step(route, "FDY-I-POUR", 1), step(route, "FDY-I-POUR", 2)
    GateFactory.create(operation=second)
    with pytest.raises(GateOpen):
        report(operation_ids=[first.pk, second.pk], deed="start", stated_at=NOW, by=None, at=NOW)
    assert not Progress.objects.exists()


def test_a_finish_without_a_stated_start_is_refused() -> None:
    with pytest.raises(NotStarted, match="state when it began"):
        say(step(grown(), "ENG-REVIEW"), "finish")


def test_a_finish_may_state_its_start_too() -> None:
    operation = step(grown(), "ENG-REVIEW")
    say(operation, "finish", NOW, started_at=NOW - 2 * HOUR)
    operation.refresh_from_db()
    assert operation.started_at == NOW - 2 * HOUR
    assert [row.deed for row in operation.reports.all()] == ["start", "finish"]


def test_a_finish_before_its_start_is_refused() -> None:
    operation = step(grown(), "ENG-REVIEW")
    with pytest.raises(ReportContradicts, match="before its start"):
        say(operation, "finish", NOW, started_at=NOW + HOUR, at=NOW + 2 * HOUR)
    say(operation, "start", NOW)
    with pytest.raises(ReportContradicts, match="after that time"):
        say(operation, "finish", NOW - HOUR, at=NOW + HOUR)


def test_a_time_in_the_future_is_refused() -> None:
    with pytest.raises(TimeInFuture, match="2026-03-04 11:00"):
        say(step(grown(), "ENG-REVIEW"), "start", NOW + HOUR, at=NOW)


def test_the_database_refuses_a_report_of_the_future() -> None:
    operation = step(grown(), "ENG-REVIEW")
    with pytest.raises(DatabaseError, match="progress_is_of_the_past"), transaction.atomic():
        Progress.objects.create(
            operation=operation, deed="start", stated_at=NOW + HOUR, reported_at=NOW
        )


def test_a_second_start_is_told_that_somebody_was_first() -> None:
    operation = step(grown(), "ENG-REVIEW")
    say(operation, "start")
    with pytest.raises(AlreadyReported, match="Stop or finish it"):
        say(operation, "start")


def test_a_finished_operation_takes_no_more_reports() -> None:
    operation = step(grown(), "ENG-REVIEW")
    say(operation, "finish", NOW, started_at=NOW - HOUR)
    with pytest.raises(AlreadyReported, match="correct its report"):
        say(operation, "stop", NOW, reason="machine down")


def test_the_same_key_sent_twice_is_one_report() -> None:
    operation = step(grown(), "ENG-REVIEW")
    once = say(operation, "start", key="tablet-7-0001")
    again = say(operation, "start", key="tablet-7-0001")
    assert once.pk == again.pk
    assert Progress.objects.count() == 1


def test_a_stop_needs_a_reason_from_the_list() -> None:
    operation = step(grown(), "ENG-REVIEW")
    say(operation, "start")
    with pytest.raises(ReasonMissing):
        say(operation, "stop", NOW + HOUR)
    say(operation, "stop", NOW + HOUR, reason="machine down")
    operation.refresh_from_db()
    assert (operation.state, operation.stop_reason) == ("stopped", "machine down")


def test_a_stop_counts_what_is_left_in_working_time() -> None:
    operation = step(grown(), "ENG-REVIEW")  # 8 h; begun at 10:00, dinner from 12:00 to 13:00
    say(operation, "start", NOW)
    say(operation, "stop", NOW + 4 * HOUR, reason="power cut")
    operation.refresh_from_db()
    assert operation.remaining_minutes == 5 * 60
    say(operation, "resume", NOW + 6 * HOUR)
    operation.refresh_from_db()
    assert (operation.state, operation.remaining_minutes) == ("started", 5 * 60)


def test_a_stopped_operation_waits_in_the_forecast_with_what_is_left() -> None:
    route = grown()
    operation = step(route, "ENG-REVIEW")
    say(operation, "start", NOW)
    say(operation, "stop", NOW + HOUR, reason="machine down")  # 7 h left at 11:00
    say(step(route, "MCH-I-TURN"), "start", NOW + 24 * HOUR, confirmed=TURNING)
    operation.refresh_from_db()
    # A day later, at 10:01 on Thursday: 7 h from then end on Friday morning.
    assert operation.earliest_finish_at == datetime(2026, 3, 6, 9, 1, tzinfo=UTC)


def test_a_part_done_says_what_remains() -> None:
    operation = step(grown(), "ENG-REVIEW")
    with pytest.raises(NotStarted):
        say(operation, "part done", remaining_minutes=30)
    say(operation, "start")
    with pytest.raises(BadFigure, match="What remains"):
        say(operation, "part done", NOW + HOUR)
    with pytest.raises(BadFigure, match="0 to 100000"):
        say(operation, "part done", NOW + HOUR, remaining_minutes=-5)
    say(operation, "part done", NOW + HOUR, remaining_minutes=90)
    operation.refresh_from_db()
    assert operation.earliest_finish_at == datetime(2026, 3, 4, 13, 30, tzinfo=UTC)


def test_a_late_report_is_taken_and_marked() -> None:
    row = say(step(grown(), "ENG-REVIEW"), "start", NOW - 6 * HOUR, at=NOW)
    assert row.marks == ["late"]


def test_an_out_of_order_report_is_taken_and_marked() -> None:
    route = grown()
    row = say(step(route, "MCH-I-TURN"), "start", confirmed=TURNING)
    assert row.marks == ["out of order"]


def test_work_beyond_the_places_of_its_work_centre_is_taken_and_marked() -> None:
    first, second = grown(), grown()
    assert say(step(first, "ENG-REVIEW"), "start").marks == []
    assert say(step(second, "ENG-REVIEW"), "start", NOW + HOUR).marks == ["overlapping"]


def test_one_worker_at_two_jobs_is_taken_and_marked() -> None:
    route = grown()
    say(step(route, "ENG-REVIEW"), "start", worker="Rui Faria")
    row = say(step(route, "DSP-PACK"), "start", NOW + HOUR, worker="Rui Faria")
    assert "overlapping" in row.marks
    other = say(step(grown(), "DSP-PACK"), "start", NOW + HOUR, worker="Ana Sousa")
    assert "overlapping" in other.marks  # the one place is taken
    assert say(step(route, "FDY-I-POUR"), "start", worker="Ana Melo").marks == ["out of order"]


def test_work_past_an_open_gate_before_it_is_refused() -> None:
    operation = step(grown(), "ENG-REVIEW")
    gate = open_gate(
        operation_id=operation.pk, timing="before", reason="Data frozen", by=None, at=NOW
    )
    with pytest.raises(GateOpen, match="held by Data frozen"):
        say(operation, "start")
    clear_gate(gate_id=gate.pk, by=person(Group.QUALITY_ENGINEER), at=NOW)
    say(operation, "start")


def test_work_past_an_open_gate_after_its_predecessor_is_refused() -> None:
    route = grown()
    GateFactory.create(operation=step(route, "ASM-HYDRO"), timing="after", reason="No leak")
    with pytest.raises(GateOpen, match=r"No leak \(after Casing hydrostatic test\)"):
        say(step(route, "ASM-BUILD"), "start", confirmed=TURNING)


def test_a_finish_past_an_open_gate_during_it_is_refused() -> None:
    operation = step(grown(), "ASM-HYDRO")
    GateFactory.create(operation=operation, timing="during", reason="Witnessed")
    say(operation, "start")
    with pytest.raises(GateOpen, match="may not finish: held by Witnessed"):
        say(operation, "finish", NOW + HOUR)


def test_the_database_itself_refuses_a_start_past_an_open_gate() -> None:
    operation = step(grown(), "ENG-REVIEW")
    GateFactory.create(operation=operation)
    with pytest.raises(DatabaseError, match="may not start: gate open"), transaction.atomic():
        Operation.objects.filter(pk=operation.pk).update(state="started", started_at=NOW)


def test_the_database_itself_refuses_a_start_past_an_open_gate_after_a_predecessor() -> None:
    route = grown()
    GateFactory.create(operation=step(route, "ASM-HYDRO"), timing="after")
    after = step(route, "ASM-BUILD")
    with pytest.raises(DatabaseError, match="may not start: gate open"), transaction.atomic():
        Operation.objects.filter(pk=after.pk).update(state="started", started_at=NOW)


def test_the_database_itself_refuses_a_finish_past_an_open_gate() -> None:
    operation = step(grown(), "ENG-REVIEW")
    say(operation, "start")
    GateFactory.create(operation=operation, timing=Gate.Timing.DURING)
    with pytest.raises(DatabaseError, match="may not finish: gate open"), transaction.atomic():
        Operation.objects.filter(pk=operation.pk).update(state="finished", finished_at=NOW)


def test_the_database_refuses_to_change_a_report() -> None:
    row = say(step(grown(), "ENG-REVIEW"), "start")
    with pytest.raises(DatabaseError, match="never change"), transaction.atomic():
        Progress.objects.filter(pk=row.pk).update(note="made better")


def test_a_start_confirms_pattern_and_drawing() -> None:
    route = grown()
    issue_drawing(route_id=route.pk, drawing="IM-1042", revision="B", by=None, at=NOW)
    moulding = step(route, "FDY-I-MOULD")
    with pytest.raises(ConfirmationMissing, match="drawing revision, pattern"):
        say(moulding, "start")
    right = {"drawing revision": "im-1042 B", "pattern": "P-Impeller revision b"}
    row = say(moulding, "start", confirmed=right)
    assert row.confirmed == right


def test_the_old_sheet_is_refused() -> None:
    route = grown()
    issue_drawing(route_id=route.pk, drawing="IM-1042", revision="C", by=None, at=NOW)
    wrong = {"drawing revision": "IM-1042 B", "pattern": "P-IMPELLER B"}
    with pytest.raises(Mismatch, match="drawing revision is IM-1042 B, ordered is IM-1042 rev C"):
        say(step(route, "FDY-I-MOULD"), "start", confirmed=wrong)
    assert not Progress.objects.exists()


def test_a_pattern_at_an_old_revision_is_refused() -> None:
    route = grown()
    Pattern.objects.filter(number="P-IMPELLER").update(revision="C")
    with pytest.raises(Mismatch, match="ordered is P-IMPELLER rev C"):
        say(step(route, "FDY-I-MOULD"), "start", confirmed={"pattern": "P-IMPELLER B"})


def test_the_wrong_hand_of_rotation_is_refused() -> None:
    with pytest.raises(Mismatch, match="rotation is counter-clockwise, ordered is clockwise"):
        say(step(grown(), "MCH-I-TURN"), "start", confirmed={"rotation": "counter-clockwise"})


def test_nobody_reports_on_a_route_on_hold_or_cancelled() -> None:
    route = grown()
    hold_route(route_id=route.pk, reason="not paid", by=None, at=NOW)
    with pytest.raises(RouteNotInWork, match="on hold"):
        say(step(route, "ENG-REVIEW"), "start")
    cancel_route(route_id=route.pk, reason="customer withdrew", by=None, at=NOW)
    with pytest.raises(RouteNotInWork, match="cancelled"):
        say(step(route, "ENG-REVIEW"), "start")


def test_nobody_reports_on_a_route_that_is_not_released() -> None:
    with pytest.raises(RouteNotInWork, match="not released"):
        say(step(grown(released=False), "ENG-REVIEW"), "start")


def test_a_supervisor_reports_on_their_own_area_only() -> None:
    operation = step(grown(), "ENG-REVIEW")
    with pytest.raises(NotAllowed, match="supervisor of the engineering"):
        say(operation, "start", by=person(Group.SUPERVISOR, areas=("foundry",)))
    with pytest.raises(NotAllowed):
        say(operation, "start", by=person(Group.VIEWER))
    say(operation, "start", by=person(Group.PLANNER))


def test_whoever_does_the_work_at_a_desk_reports_it_too() -> None:
    route = grown()
    engineer, quality = person(Group.APPLICATION_ENGINEER), person(Group.QUALITY_ENGINEER)
    say(step(route, "ENG-REVIEW"), "start", by=engineer)
    with pytest.raises(NotAllowed):
        say(step(route, "FDY-I-POUR"), "start", by=engineer)
    say(step(route, "FDY-I-POUR"), "start", by=quality)


def test_a_correction_replaces_the_mistaken_report() -> None:
    operation = step(grown(), "ENG-REVIEW")
    wrong = say(operation, "start", NOW)
    say(operation, "finish", NOW + 2 * HOUR)
    right = correct_report(
        report_id=wrong.pk, stated_at=NOW - HOUR, by=None, at=NOW + 3 * HOUR, note="clock wrong"
    )
    operation.refresh_from_db()
    assert operation.started_at == NOW - HOUR
    assert right.corrects == wrong
    wrong.refresh_from_db()
    assert wrong.stated_at == NOW


def test_a_withdrawn_finish_puts_the_operation_back_in_work() -> None:
    operation = step(grown(), "ENG-REVIEW")
    say(operation, "start", NOW)
    done = say(operation, "finish", NOW + HOUR)
    correct_report(report_id=done.pk, withdraws=True, by=None, at=NOW + 2 * HOUR)
    operation.refresh_from_db()
    assert (operation.state, operation.finished_at) == ("started", None)


def test_a_withdrawn_start_under_a_finish_is_refused() -> None:
    operation = step(grown(), "ENG-REVIEW")
    start = say(operation, "start", NOW)
    say(operation, "finish", NOW + HOUR)
    with pytest.raises(ReportContradicts, match="finished without a stated start"):
        correct_report(report_id=start.pk, withdraws=True, by=None, at=NOW + 2 * HOUR)


def test_a_report_is_corrected_once_and_then_its_correction() -> None:
    operation = step(grown(), "ENG-REVIEW")
    first = say(operation, "start", NOW)
    second = correct_report(report_id=first.pk, stated_at=NOW - HOUR, by=None, at=NOW + HOUR)
    with pytest.raises(AlreadyReported, match="Correct the newer report"):
        correct_report(report_id=first.pk, stated_at=NOW, by=None, at=NOW + HOUR)
    correct_report(report_id=second.pk, stated_at=NOW - 2 * HOUR, by=None, at=NOW + HOUR)
    operation.refresh_from_db()
    assert operation.started_at == NOW - 2 * HOUR


def test_a_correction_into_the_future_is_refused() -> None:
    row = say(step(grown(), "ENG-REVIEW"), "start", NOW)
    with pytest.raises(TimeInFuture):
        correct_report(report_id=row.pk, stated_at=NOW + HOUR, by=None, at=NOW + HOUR / 2)


def test_cooling_begins_when_the_pour_is_over_and_a_person_ends_it() -> None:
    route = grown()
    finish(route, "FDY-I-POUR")
    cooling = step(route, "FDY-I-COOL")
    assert (cooling.state, cooling.started_at) == ("started", NOW)
    finish_elapsed(now=NOW + timedelta(days=3))
    assert step(route, "FDY-I-COOL").state == "started"
    say(cooling, "finish", NOW + timedelta(days=2))
    assert step(route, "FDY-I-COOL").state == "finished"


def test_curing_begins_and_ends_by_itself() -> None:
    route = grown()
    finish(route, "FDY-I-POUR")
    say(step(route, "FDY-I-COOL"), "finish", NOW + 20 * HOUR)
    assert finish_elapsed(now=NOW + 30 * HOUR) == 0
    assert finish_elapsed(now=NOW + 33 * HOUR) == 1
    curing = step(route, "FDY-I-CURE")
    assert curing.state == "finished"
    assert curing.finished_at == NOW + 32 * HOUR
    assert curing.reports.filter(by=None).count() == 2
    assert finish_elapsed(now=NOW + 34 * HOUR) == 0


def test_time_alone_does_not_pass_an_open_gate() -> None:
    route = grown()
    finish(route, "FDY-I-POUR")
    GateFactory.create(operation=step(route, "FDY-I-CURE"), timing="before")
    say(step(route, "FDY-I-COOL"), "finish", NOW + 20 * HOUR)
    assert step(route, "FDY-I-CURE").state == "waiting"
    assert finish_elapsed(now=NOW + 60 * HOUR) == 0


def test_an_unknown_deed_is_refused_with_the_known_ones() -> None:
    with pytest.raises(BadFigure, match="start, stop, resume, part done, finish"):
        say(step(grown(), "ENG-REVIEW"), "begin")


def test_a_report_on_nothing_is_refused() -> None:
    with pytest.raises(BadFigure, match="at least one"):
        report(operation_ids=[], deed="start", stated_at=NOW, by=None, at=NOW)
