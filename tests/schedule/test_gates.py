"""Holds: opened, cleared, passed at risk by a name, withdrawn; and what the database holds to."""

import pytest
from django.db import DatabaseError, transaction

from schedule.actions.gates import (
    NewGate,
    clear_gate,
    expect_release,
    give_notice,
    open_gate,
    open_gates,
    pass_at_risk,
    withdraw_gate,
)
from schedule.actions.progress import report
from schedule.errors import BadFigure, GateNotOpen, GateTooLate, NeverAtRisk, NoSuchThing
from schedule.models import Gate
from tests.factories.schedule import NOW, GateFactory, grown, person, step
from works.errors import NotAllowed, ReasonMissing
from works.models import Event
from works.people import Group

pytestmark = pytest.mark.django_db


def start(pk: int) -> None:
    report(operation_ids=[pk], deed="start", stated_at=NOW, by=None, at=NOW)


def test_several_holds_are_opened_with_one_event_a_route() -> None:
    first, second = grown(), grown()
    made = open_gates(
        gates=[
            NewGate(operation_id=step(first, "DSP-PACK").pk, timing="before", reason="Papers"),
            NewGate(operation_id=step(first, "ASM-HYDRO").pk, timing="after", reason="No leak"),
            NewGate(operation_id=step(second, "DSP-PACK").pk, timing="before", reason="Papers"),
        ],
        by=None,
        at=NOW,
    )
    assert [gate.reason for gate in made] == ["Papers", "No leak", "Papers"]
    events = Event.objects.filter(deed="schedule.gates_opened")
    assert {event.after["route"] for event in events} == {first.pk, second.pk}


def test_a_hold_before_what_has_begun_is_refused() -> None:
    operation = step(grown(), "ENG-REVIEW")
    start(operation.pk)
    with pytest.raises(GateTooLate, match="would hold nothing"):
        open_gate(operation_id=operation.pk, timing="before", reason="late", by=None, at=NOW)
    open_gate(operation_id=operation.pk, timing="during", reason="in time", by=None, at=NOW)
    open_gate(operation_id=operation.pk, timing="after", reason="in time", by=None, at=NOW)


def test_a_hold_during_what_is_finished_is_refused() -> None:
    operation = step(grown(), "ENG-REVIEW")
    report(
        operation_ids=[operation.pk],
        deed="finish",
        started_at=NOW,
        stated_at=NOW,
        by=None,
        at=NOW,
    )
    with pytest.raises(GateTooLate, match="is finished"):
        open_gate(operation_id=operation.pk, timing="during", reason="late", by=None, at=NOW)


def test_a_hold_needs_a_reason_a_place_and_a_plausible_notice() -> None:
    pk = step(grown(), "ENG-REVIEW").pk
    with pytest.raises(ReasonMissing):
        open_gate(operation_id=pk, timing="before", reason=" ", by=None, at=NOW)
    with pytest.raises(BadFigure, match="before, during or after"):
        open_gate(operation_id=pk, timing="meanwhile", reason="x", by=None, at=NOW)
    with pytest.raises(BadFigure, match="The notice is 999"):
        open_gate(operation_id=pk, timing="before", reason="x", notice_days=999, by=None, at=NOW)
    with pytest.raises(NoSuchThing, match="no operation 0"):
        open_gate(operation_id=0, timing="before", reason="x", by=None, at=NOW)


def test_the_floor_may_not_put_holds() -> None:
    pk = step(grown(), "ENG-REVIEW").pk
    with pytest.raises(NotAllowed):
        open_gate(operation_id=pk, timing="before", reason="x", by=person(Group.SUPERVISOR), at=NOW)


def test_clearing_names_the_person_and_happens_once() -> None:
    grown()
    gate = GateFactory.create(operation=step(grown(), "ENG-REVIEW"))
    quality = person(Group.QUALITY_ENGINEER)
    clear_gate(gate_id=gate.pk, by=quality, at=NOW)
    gate.refresh_from_db()
    assert (gate.cleared_by, gate.cleared_at) == (quality, NOW)
    with pytest.raises(GateNotOpen, match=f"cleared by {quality} on 2026-03-04"):
        clear_gate(gate_id=gate.pk, by=quality, at=NOW)


def test_a_viewer_may_not_clear() -> None:
    gate = GateFactory.create(operation=step(grown(), "ENG-REVIEW"))
    with pytest.raises(NotAllowed):
        clear_gate(gate_id=gate.pk, by=person(Group.VIEWER), at=NOW)


@pytest.mark.parametrize("group", [Group.WORKS_MANAGER, Group.QUALITY_ENGINEER])
def test_a_named_person_lets_work_go_on_at_risk(group: Group) -> None:
    operation = step(grown(), "ENG-REVIEW")
    gate = GateFactory.create(operation=operation)
    who = person(group)
    pass_at_risk(gate_id=gate.pk, scope="drawing only", limit="until Friday", by=who, at=NOW)
    gate.refresh_from_db()
    assert (gate.at_risk_by, gate.at_risk_scope) == (who, "drawing only")
    start(operation.pk)


@pytest.mark.parametrize("group", [Group.PLANNER, Group.SUPERVISOR, Group.BUYER])
def test_others_may_not_let_work_go_on_at_risk(group: Group) -> None:
    gate = GateFactory.create(operation=step(grown(), "ENG-REVIEW"))
    with pytest.raises(NotAllowed, match="quality engineer or works manager"):
        pass_at_risk(gate_id=gate.pk, scope="s", limit="l", by=person(group), at=NOW)


def test_proceeding_at_risk_states_scope_and_limit() -> None:
    gate = GateFactory.create(operation=step(grown(), "ENG-REVIEW"))
    manager = person(Group.WORKS_MANAGER)
    with pytest.raises(ReasonMissing, match="scope"):
        pass_at_risk(gate_id=gate.pk, scope=" ", limit="l", by=manager, at=NOW)
    with pytest.raises(ReasonMissing, match="limit"):
        pass_at_risk(gate_id=gate.pk, scope="s", limit="", by=manager, at=NOW)


def test_nobody_passes_the_pressure_test_or_dispatch_at_risk() -> None:
    gate = GateFactory.create(operation=step(grown(), "ASM-HYDRO"), never_at_risk=True)
    with pytest.raises(NeverAtRisk, match="nobody may pass it at risk"):
        pass_at_risk(gate_id=gate.pk, scope="s", limit="l", by=person(Group.WORKS_MANAGER), at=NOW)


def test_the_database_refuses_the_pressure_test_passed_at_risk() -> None:
    gate = GateFactory.create(operation=step(grown(), "ASM-HYDRO"), never_at_risk=True)
    with pytest.raises(DatabaseError, match="never_passed_at_risk"), transaction.atomic():
        Gate.objects.filter(pk=gate.pk).update(
            at_risk_by=person(Group.WORKS_MANAGER),
            at_risk_at=NOW,
            at_risk_scope="s",
            at_risk_limit="l",
        )


def test_the_database_refuses_a_clearance_without_a_name() -> None:
    gate = GateFactory.create(operation=step(grown(), "ASM-HYDRO"))
    with pytest.raises(DatabaseError, match="gate_cleared_names_person"), transaction.atomic():
        Gate.objects.filter(pk=gate.pk).update(cleared_at=NOW)


def test_what_was_passed_at_risk_is_cleared_later_and_not_passed_again() -> None:
    gate = GateFactory.create(operation=step(grown(), "ENG-REVIEW"))
    quality = person(Group.QUALITY_ENGINEER)
    pass_at_risk(gate_id=gate.pk, scope="s", limit="l", by=quality, at=NOW)
    with pytest.raises(GateNotOpen, match="passed at risk by"):
        pass_at_risk(gate_id=gate.pk, scope="s", limit="l", by=quality, at=NOW)
    clear_gate(gate_id=gate.pk, by=quality, at=NOW)
    event = Event.objects.get(deed="schedule.gate_cleared")
    assert event.after["at_risk_before"] is True


def test_a_withdrawn_hold_holds_nothing_and_is_not_withdrawn_twice() -> None:
    operation = step(grown(), "ENG-REVIEW")
    gate = GateFactory.create(operation=operation)
    withdraw_gate(gate_id=gate.pk, by=None, at=NOW)
    start(operation.pk)
    with pytest.raises(GateNotOpen, match="withdrawn on 2026-03-04"):
        withdraw_gate(gate_id=gate.pk, by=None, at=NOW)
    with pytest.raises(GateNotOpen):
        clear_gate(gate_id=gate.pk, by=person(Group.QUALITY_ENGINEER), at=NOW)


def test_an_expected_release_can_be_taken_back() -> None:
    gate = GateFactory.create(operation=step(grown(), "ENG-REVIEW"))
    planner = person(Group.PLANNER)
    expect_release(gate_id=gate.pk, on=NOW.date(), by=planner, at=NOW)
    assert expect_release(gate_id=gate.pk, on=None, by=planner, at=NOW).release_expected_on is None


def test_notice_on_a_hold_that_is_not_there_is_refused() -> None:
    with pytest.raises(NoSuchThing, match="no hold 0"):
        give_notice(gate_ids=[0], on=NOW.date(), by=None, at=NOW)
