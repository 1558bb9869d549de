"""Read models: what a change would do to a plan, first-pass rate, questions owed."""

from dataclasses import replace

import pytest

from quality.acceptance.hydrostatic import Leak, Place
from quality.actions.nonconformances import ask_buyer
from quality.models import Nonconformance
from quality.queries.desk import first_pass
from quality.queries.nonconformances import open_questions
from quality.queries.plans import plan_view, preview
from quality.queries.points import holds_due, point_view
from quality.queries.records import records_of_route
from selection.configuration import Sealing
from tests.factories import quality as q
from tests.factories.schedule import NOW, configuration

pytestmark = pytest.mark.django_db


def test_a_change_to_packing_shows_the_seal_test_that_would_go():
    pump = configuration()
    packed = replace(pump, sealing=Sealing.PACKING, seal_static_limit_pa=None)
    found = preview(kind="pump", before=(pump, q.terms()), after=(packed, q.terms()))
    assert [point.code for point in found.dropped] == ["SEAL"]
    assert found.added == ()


def test_a_change_of_pressure_shows_in_the_points_that_name_it():
    pump = configuration()
    found = preview(
        kind="pump",
        before=(pump, q.terms()),
        after=(replace(pump, test_pressure_pa=1_600_000.0), q.terms()),
    )
    assert {after.code for _, after in found.changed} == {"HYDRO", "HYDRO-START"}
    assert "16 bar" in found.changed[0][1].criterion


def test_a_plan_is_read_in_a_constant_number_of_queries(django_assert_max_num_queries):
    one, three = q.plan(units=1), q.plan(units=3)
    with django_assert_max_num_queries(5) as few:
        plan_view(one.pk)
    with django_assert_max_num_queries(len(few)):
        view = plan_view(three.pk)
    assert view.count == three.points.count() == 3 * one.points.count()
    assert view.released == 0


def test_a_point_is_read_in_a_constant_number_of_queries(django_assert_max_num_queries):
    plan = q.plan()
    with django_assert_max_num_queries(9):
        view = point_view(q.point(plan, "FINAL").pk)
    assert len(view.missing) == 5  # the first five of many


def test_holds_of_a_route_on_hold_do_not_press():
    plan = q.plan()
    q.cast(plan)
    assert any(row.stops_now for row in holds_due(now=NOW))
    plan.route.state = "on hold"
    plan.route.save(update_fields=["state"])
    assert holds_due(now=NOW) == []


def test_a_point_says_who_is_wanting_and_whether_work_waits():
    plan = q.plan()
    q.cast(plan)
    waits = {row.code: row for row in holds_due(now=NOW) if row.stops_now}
    assert waits["IMPELLER-CASTING"].wanting == "maker"
    assert waits["HYDRO-START"].wanting == "maker, customer"
    assert "HYDRO" not in waits


def test_first_pass_counts_the_first_signed_test_of_each_operation():
    plan = q.plan(units=3)
    flange = [Leak(place=Place.FLANGE, where="discharge")]
    q.signed(q.passed_pressure_test(plan, unit=1), "hydrostatic")
    q.signed(q.passed_pressure_test(plan, unit=2, leaks=flange), "hydrostatic")
    q.signed(q.passed_pressure_test(plan, unit=2), "hydrostatic")
    q.passed_pressure_test(plan, unit=3)
    found = first_pass(since=q.TODAY)
    assert (found.tests, found.passed, found.share) == (2, 1, 0.5)


def test_no_tests_have_no_rate():
    assert first_pass(since=q.TODAY).share is None


def test_a_mistyped_record_does_not_count_as_a_failed_first_test():
    plan = q.plan()
    flange = [Leak(place=Place.FLANGE, where="discharge")]
    wrong = q.signed(q.passed_pressure_test(plan, leaks=flange), "hydrostatic")
    q.signed(q.passed_pressure_test(plan, replaces_id=wrong.pk), "hydrostatic")
    assert first_pass(since=q.TODAY).passed == 1


def test_questions_owed_by_the_buyer_of_a_route():
    plan, other = q.plan(), q.plan()
    q.passed_pressure_test(plan, leaks=[Leak(place=Place.BODY, where="foot")])
    ask_buyer(
        nonconformance_id=Nonconformance.objects.get().pk,
        proposed="repair",
        question="May we plug it?",
        by=q.inspector(),
        at=NOW,
    )
    assert [c.question for c in open_questions([plan.route_id])] == ["May we plug it?"]
    assert open_questions([other.route_id]) == []


def test_a_routes_records_leave_out_those_replaced():
    plan = q.plan()
    wrong = q.passed_pressure_test(plan, held_s=60.0)
    right = q.passed_pressure_test(plan, replaces_id=wrong.pk)
    performance = q.performance_test(plan)
    found = records_of_route(plan.route_id)
    assert wrong not in found
    assert {type(record) for record in found} == {type(right), type(performance)}
