"""Plans written by rules, their gates, and plans rewritten around what was released."""

from dataclasses import replace

import pytest

from quality.acceptance.terms import Witnessable
from quality.actions.holds import release
from quality.actions.plans import follow_route, rewrite_plan, write_plan
from quality.errors import BadRecord, PlanExists
from quality.facts import Fact
from quality.models import InspectionPoint, Party, PlanTemplate, Release
from schedule.actions.growing import regrow_route, repeat_operations
from schedule.models import Gate
from schedule.planning.conditions import Terms as RouteTerms
from selection.configuration import Sealing
from tests.factories import quality as q
from tests.factories.schedule import NOW, CalendarFactory, configuration
from works.errors import NotAllowed
from works.models import Event, Outbox
from works.people import Group

pytestmark = pytest.mark.django_db


def test_points_stand_at_their_operations_once_a_unit():
    plan = q.plan(units=3)
    hydro = plan.points.filter(code="HYDRO")
    assert [point.operation.unit.number for point in hydro] == [1, 2, 3]
    assert {point.operation.code for point in hydro} == {"ASM-HYDRO"}


def test_a_hold_opens_a_gate_and_a_review_opens_none():
    plan = q.plan()
    assert q.point(plan, "HYDRO").gate.is_open
    assert q.point(plan, "HYDRO").gate.timing == Gate.Timing.AFTER
    assert q.point(plan, "PACKING").gate is None


def test_the_pressure_test_and_dispatch_are_never_passed_at_risk():
    plan = q.plan()
    never = {p.code for p in plan.points.filter(gate__never_at_risk=True)}
    assert {"HYDRO-START", "HYDRO", "PAPERS", "FINAL"} <= never
    assert not q.point(plan, "CLEARANCES").gate.never_at_risk


def test_a_contract_may_make_every_witnessed_test_a_hold():
    plan = q.plan(contract=q.terms(witness_is_hold=True))
    assert q.point(plan, "HYDRO").customer == "H"
    assert q.point(q.plan(), "HYDRO").customer == "W"


def test_attended_points_carry_notice_by_the_inspectors_calendar():
    calendar = CalendarFactory.create()
    plan = q.plan(calendar_id=calendar.pk)
    attended, unattended = q.point(plan, "HYDRO-START"), q.point(plan, "CLEARANCES")
    assert (attended.notice_days, attended.gate.notice_days) == (10, 10)
    assert attended.gate.calendar_id == calendar.pk
    assert (unattended.gate.notice_days, unattended.gate.calendar_id) == (0, None)


def test_packing_needs_no_seal_test():
    plan = q.plan(pump=configuration(sealing=Sealing.PACKING, seal_static_limit_pa=None))
    assert not plan.points.filter(code="SEAL").exists()


def test_writing_tells_the_others_in_one_outbox_row():
    plan = q.plan()
    event = Event.objects.get(deed=Fact.PLAN_WRITTEN)
    assert event.after == {"route": plan.route_id, "points": plan.points.count()}
    assert Outbox.objects.filter(event=event).exists()


def test_a_route_has_one_plan():
    plan = q.plan()
    with pytest.raises(PlanExists):
        write_plan(route_id=plan.route_id, configuration=None, terms=q.terms(), by=None, at=NOW)


def test_a_viewer_writes_no_plan():
    plan = q.plan()
    with pytest.raises(NotAllowed):
        rewrite_plan(
            plan_id=plan.pk,
            configuration=None,
            terms=q.terms(),
            by=q.person(Group.VIEWER),
            at=NOW,
        )


def test_the_works_own_rules_go_before_those_kept_with_the_program():
    rule = {
        "code": "LOOK",
        "operation": "ASM-BUILD",
        "timing": "during",
        "characteristic": "Cleanliness inside",
        "method": "visual",
        "extent": "each",
        "criterion": "no sand",
        "reference": "works practice",
        "record": "visual",
        "maker": "H",
        "test": "",
        "witnessed": "",
        "inspected": "",
        "only_when": "",
        "marks": "",
    }
    PlanTemplate.objects.create(name="own", kind="pump", rows=[rule])
    assert [point.code for point in q.plan().points.all()] == ["LOOK"]


def test_own_rules_that_cannot_be_read_are_refused_with_the_row():
    PlanTemplate.objects.create(name="own", kind="pump", rows=[{"code": "LOOK"}])
    with pytest.raises(BadRecord, match="LOOK"):
        q.plan()


def test_rewriting_with_the_same_facts_changes_nothing():
    plan = q.plan()
    difference = follow_route(route_id=plan.route_id, by=None, at=NOW)
    plan.refresh_from_db()
    assert difference.changes_nothing
    assert plan.revision == 1
    assert not Event.objects.filter(deed=Fact.PLAN_REWRITTEN).exists()


def test_another_contract_changes_unreleased_points_and_their_gates():
    plan = q.plan(contract=q.terms(witnessed=()))
    before = q.point(plan, "HYDRO-START")
    assert (before.customer, before.notice_days) == ("", 0)
    difference = rewrite_plan(
        plan_id=plan.pk,
        configuration=configuration(casing_metal="GJL-250"),
        terms=q.terms(witnessed=(Witnessable.HYDROSTATIC,)),
        by=None,
        at=NOW,
    )
    after = q.point(plan, "HYDRO-START")
    assert before.pk in {point.pk for point in difference.changed}
    assert (after.customer, after.notice_days, after.gate.notice_days) == ("H", 10, 10)
    assert not Gate.objects.get(pk=before.gate_id).is_open


def test_a_released_point_stays_as_it_was_released():
    plan = q.plan()
    point = q.point(plan, "IMPELLER-CASTING")
    release(point_id=point.pk, party=Party.MAKER, signed_by="A. Reis", by=q.inspector(), at=NOW)
    pump = replace(configuration(casing_metal="GJL-250"), impeller_metal="CC480K")
    difference = rewrite_plan(
        plan_id=plan.pk,
        configuration=pump,
        terms=q.terms(customer_inspects=False, witnessed=()),
        by=None,
        at=NOW,
    )
    kept = q.point(plan, "IMPELLER-CASTING")
    assert kept.customer == "R"
    assert kept.pk in {point.pk for point in difference.kept}


def test_dropping_the_mechanical_seal_withdraws_its_point():
    plan = q.plan()
    seal = q.point(plan, "SEAL")
    packed = configuration(
        casing_metal="GJL-250", sealing=Sealing.PACKING, seal_static_limit_pa=None
    )
    regrow_route(
        route_id=plan.route_id,
        configuration=packed,
        terms=RouteTerms(),
        reason="gland packing wanted",
        by=None,
        at=NOW,
    )
    follow_route(route_id=plan.route_id, by=None, at=NOW)
    seal.refresh_from_db()
    assert seal.withdrawn_at == NOW
    assert not seal.gate.is_open


def test_work_done_again_is_inspected_again_behind_the_gates_the_schedule_put_there():
    plan = q.plan()
    casting = q.point(plan, "IMPELLER-CASTING")
    q.cast(plan)
    release(point_id=casting.pk, party=Party.MAKER, signed_by="A. Reis", by=q.inspector(), at=NOW)
    pour = q.operation(plan, "FDY-I-POUR")
    repeat_operations(operation_ids=[pour.pk], reason="sand inclusions", by=None, at=NOW)
    follow_route(route_id=plan.route_id, by=None, at=NOW)
    again = InspectionPoint.objects.get(
        plan=plan, code="IMPELLER-CASTING", operation__repeat=1, withdrawn_at=None
    )
    assert again.gate.is_open
    assert again.gate.repeats_id == casting.gate_id
    assert Release.objects.filter(point=casting).exists()
    assert Gate.objects.filter(operation=again.operation).count() == 1
