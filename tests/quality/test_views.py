"""Pages of the inspection desk: the page, the stranger, bad input, and nothing typed lost."""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from quality.acceptance.hydrostatic import Leak, Place
from quality.actions.nonconformances import ask_buyer
from quality.actions.visits import plan_visit
from quality.models import (
    Concession,
    Instrument,
    MaterialCertificate,
    Measurement,
    Nonconformance,
    Party,
    PerformanceTest,
    PressureTest,
    Release,
    SealTest,
    Visit,
)
from tests.factories import quality as q
from tests.factories.schedule import NOW
from works.people import Group

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def works_clock(monkeypatch):
    """The pages' own clock stands where the factories' does."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: NOW)


@pytest.fixture
def engineer():
    return q.inspector()


@pytest.fixture
def desk(engineer) -> Client:
    client = Client()
    client.force_login(engineer)
    return client


@pytest.fixture
def plan():
    return q.plan(units=2)


def said(response) -> str:
    return response.content.decode()


def test_a_stranger_is_sent_to_sign_in(plan):
    response = Client().get(reverse("quality:desk"))
    assert response.status_code == 302
    assert reverse("login") in response["Location"]


@pytest.mark.parametrize(
    "name", ["desk", "visits", "nonconformances", "instruments", "certificates"]
)
def test_every_list_opens_in_an_empty_works(desk, name):
    q.SiteFactory.create()
    assert desk.get(reverse(f"quality:{name}")).status_code == 200


def test_the_desk_shows_a_hold_at_which_work_waits(desk, plan):
    q.cast(plan)
    page = said(desk.get(reverse("quality:desk")))
    assert "Impeller casting" in page
    assert "waits for maker" in page


def test_the_desk_asks_a_constant_number_of_queries(desk, django_assert_max_num_queries):
    q.plan(units=1)
    url = reverse("quality:desk")
    desk.get(url)
    with django_assert_max_num_queries(22) as few:
        desk.get(url)
    q.plan(units=3)
    with django_assert_max_num_queries(len(few)):
        desk.get(url)


def test_a_plan_shows_its_points_by_unit(desk, plan, django_assert_max_num_queries):
    with django_assert_max_num_queries(14):
        page = said(desk.get(plan.get_absolute_url()))
    assert "T-0000/1 unit 1" in page
    assert page.count("Casing hydrostatic test</a>") == 2


def test_what_is_not_there_is_404(desk):
    q.SiteFactory.create()
    for name in ("plan", "point", "nonconformance", "pressure_test", "visit", "instrument"):
        assert desk.get(reverse(f"quality:{name}", args=[404])).status_code == 404


def release(desk, point, **changes):
    fields = {
        "party": "maker",
        "kind": "released",
        "signed_by": "A. Reis",
        "record": "sound",
        **changes,
    }
    return desk.post(reverse("quality:release_point", args=[point.pk]), fields)


def test_releasing_from_the_page_keeps_the_word(desk, plan, engineer):
    q.cast(plan)
    point = q.point(plan, "IMPELLER-CASTING")
    response = release(desk, point)
    assert response.status_code == 302
    done = Release.objects.get(point=point)
    assert (done.signed_by, done.record, done.by) == ("A. Reis", "sound", engineer)


def test_a_refused_release_keeps_what_was_typed(desk, plan):
    point = q.point(plan, "HYDRO")
    response = release(desk, point, record="held for half an hour")
    page = said(response)
    assert response.status_code == 422
    assert "no hydrostatic record is kept yet" in page
    assert "held for half an hour" in page
    assert 'value="A. Reis"' in page


def test_the_page_says_what_is_in_the_way_before_anybody_tries(desk, plan):
    page = said(desk.get(q.point(plan, "HYDRO").get_absolute_url()))
    assert "Not to be released yet" in page
    assert "nobody may pass it at risk" in page


def test_a_supervisor_sees_the_point_and_no_release(plan):
    client = Client()
    client.force_login(q.person(Group.SUPERVISOR))
    page = said(client.get(q.point(plan, "CLEARANCES").get_absolute_url()))
    assert "A quality engineer releases this point" in page


def test_a_supervisors_post_is_refused_on_the_page(plan):
    client = Client()
    client.force_login(q.person(Group.SUPERVISOR))
    response = release(client, q.point(plan, "CLEARANCES"))
    assert response.status_code == 422
    assert not Release.objects.filter(point__code="CLEARANCES").exists()


def test_going_on_at_risk_needs_scope_and_limit(desk, plan):
    point = q.point(plan, "CLEARANCES")
    url = reverse("quality:pass_point", args=[point.pk])
    response = desk.post(url, {"scope": "build of unit 1", "limit": ""})
    assert response.status_code == 422
    assert "build of unit 1" in said(response)
    assert desk.post(url, {"scope": "build", "limit": "not to the bed"}).status_code == 302
    assert q.point(plan, "CLEARANCES").gate.at_risk_limit == "not to the bed"


def pressure_sheet(**changes):
    first, second = q.gauges()
    sheet = {
        "tested_on": str(q.TODAY),
        "gauge_1": first.pk,
        "gauge_1_start": "13,6",
        "gauge_1_start_unit": "bar",
        "gauge_1_end": "13.55",
        "gauge_1_end_unit": "bar",
        "gauge_2": second.pk,
        "gauge_2_start": "13.6",
        "gauge_2_start_unit": "bar",
        "gauge_2_end": "13,5",
        "gauge_2_end_unit": "bar",
        "held": "30",
        "held_unit": "min",
        "water_temperature": "",
        "water_temperature_unit": "c",
    }
    return {**sheet, **changes}


def test_the_pressure_sheet_shows_pressure_steps_and_caution_first(desk, plan):
    url = reverse("quality:new_pressure_test", args=[q.operation(plan, "ASM-HYDRO").pk])
    page = said(desk.get(url))
    assert "13.5" in page
    assert "let down slowly, vent, drain" in page
    assert "Never test with air or gas" in page


def test_pressures_are_taken_with_comma_or_point(desk, plan):
    url = reverse("quality:new_pressure_test", args=[q.operation(plan, "ASM-HYDRO").pk])
    response = desk.post(url, pressure_sheet())
    test = PressureTest.objects.get()
    assert response.status_code == 302
    assert test.verdict == "pass"
    assert test.inputs["record"]["gauges"][0]["start_pa"] == pytest.approx(1.36e6)
    assert "Passed" in said(desk.get(test.get_absolute_url()))


def test_a_leak_through_the_body_shows_its_nonconformance(desk, plan):
    url = reverse("quality:new_pressure_test", args=[q.operation(plan, "ASM-HYDRO").pk])
    leak = {
        "leak_1_place": "body",
        "leak_1_kind": "sweating",
        "leak_1_where": "lower half, near the foot",
    }
    desk.post(url, pressure_sheet(**leak))
    found = Nonconformance.objects.get()
    page = said(desk.get(PressureTest.objects.get().get_absolute_url()))
    assert found.number in page
    assert "No repair before the buyer has agreed in writing" in page


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"gauge_1_start": "abc"}, "no figure that can be read"),
        ({"gauge_1_start": "1.000"}, "can be read in two ways"),
        ({"held": "0"}, "It must be more than"),
        ({"held": ""}, "Give the duration"),
        ({"gauge_1_start": "-3"}, "It must be 0 bar or more"),
        ({"tested_on": "2026-03-05"}, "has not come yet"),
        ({"tested_on": "soon"}, "year-month-day"),
        ({"leak_1_place": "flange", "leak_1_where": ""}, "Say where it is"),
        ({"leak_1_where": "at the foot"}, "Choose what leaked"),
    ],
)
def test_bad_input_says_what_would_be_right_and_loses_nothing(desk, plan, changes, says):
    url = reverse("quality:new_pressure_test", args=[q.operation(plan, "ASM-HYDRO").pk])
    response = desk.post(url, pressure_sheet(note="second try, new gasket", **changes))
    page = said(response)
    assert response.status_code == 422
    assert says in page
    assert "second try, new gasket" in page
    assert "13,6" in page or "gauge_1_start" in changes
    assert not PressureTest.objects.exists()


def test_one_gauge_twice_is_refused(desk, plan):
    first, _ = q.gauges()
    url = reverse("quality:new_pressure_test", args=[q.operation(plan, "ASM-HYDRO").pk])
    response = desk.post(url, pressure_sheet(gauge_2=first.pk))
    assert response.status_code == 422
    assert "stands twice" in said(response)


def test_an_overdue_gauge_is_refused_on_the_sheet(desk, plan):
    late = q.gauge(
        "PG-9",
        calibrated_on=q.TODAY - timedelta(days=400),
        due_on=q.TODAY - timedelta(days=35),
    )
    url = reverse("quality:new_pressure_test", args=[q.operation(plan, "ASM-HYDRO").pk])
    response = desk.post(url, pressure_sheet(gauge_2=late.pk))
    assert response.status_code == 422
    assert "PG-9 was due for calibration" in said(response)


def test_the_wrong_operation_is_refused_as_a_page(desk, plan):
    url = reverse("quality:new_pressure_test", args=[q.operation(plan, "ASM-BUILD").pk])
    response = desk.get(url)
    assert response.status_code == 422
    assert "asks for no hydrostatic record" in said(response)


def test_signing_freezes_and_offers_the_point(desk, plan):
    test = q.passed_pressure_test(plan)
    response = desk.post(reverse("quality:sign", args=["hydrostatic", test.pk]), follow=True)
    page = said(response)
    assert "To be released on this record" in page
    assert q.point(plan, "HYDRO").get_absolute_url() in page


def test_signing_twice_says_who_signed(desk, plan):
    test = q.passed_pressure_test(plan)
    url = reverse("quality:sign", args=["hydrostatic", test.pk])
    desk.post(url)
    response = desk.post(url)
    assert response.status_code == 409
    assert "was signed by" in said(response)


def test_a_correction_begins_with_the_record_as_it_stands(desk, plan):
    test = q.passed_pressure_test(plan, held_s=600.0, note="clock stopped")
    url = reverse("quality:new_pressure_test", args=[test.operation_id])
    page = said(desk.get(f"{url}?corrects={test.pk}"))
    assert "clock stopped" in page
    assert 'value="10"' in page
    desk.post(f"{url}?corrects={test.pk}", pressure_sheet())
    assert PressureTest.objects.get(replaces=test).verdict == "pass"
    assert "A correction replaces this record" in said(desk.get(test.get_absolute_url()))


def bed_sheet(rows=None, **changes):
    sheet = {
        "tested_on": str(q.TODAY),
        "instruments": [q.flow_meter().pk],
        "flow": "540",
        "flow_unit": "m3h",
        "head": "62",
        "head_unit": "m",
        "speed": "1485",
        "speed_unit": "rpm",
        "efficiency": "84",
        "power": "",
        "power_unit": "kw",
        "density": "998,2",
        "density_unit": "kgm3",
        "water_temperature": "20",
        "water_temperature_unit": "c",
        "head_by": "head",
        "power_by": "shaft",
        "suction_bore_unit": "mm",
        "suction_height_unit": "m",
        "discharge_bore_unit": "mm",
        "discharge_height_unit": "m",
        "pressure_unit": "bar",
    }
    for number, (flow, head, power) in enumerate(q.READINGS if rows is None else rows, 1):
        sheet |= {
            f"r{number}_flow": f"{flow:g}",
            f"r{number}_speed": "1485",
            f"r{number}_head": f"{head:g}".replace(".", ","),
            f"r{number}_power": f"{power:g}",
        }
    return {**sheet, **changes}


def bed(plan):
    return reverse("quality:new_performance_test", args=[q.operation(plan, "TST-PERFORM").pk])


def test_the_bed_sheet_begins_with_the_guarantee_of_the_choice(desk, plan):
    page = said(desk.get(bed(plan)))
    assert 'value="540"' in page
    assert 'value="62"' in page
    assert "Guards on before starting" in page


def test_readings_typed_in_are_judged_and_drawn(desk, plan):
    response = desk.post(bed(plan), bed_sheet())
    assert response.status_code == 302, said(response)
    test = PerformanceTest.objects.get()
    page = said(desk.get(test.get_absolute_url()))
    assert test.verdict == "pass"
    assert "<svg" in page
    assert "tolerance on flow" in page
    assert "62.0" in page
    assert "unchecked" in page


def test_pasted_readings_give_the_same_verdict(desk, plan):
    desk.post(bed(plan), bed_sheet())
    pasted = "Flow;Speed;Head;Power\n" + "\n".join(
        f"{flow:g};1485;{head:.2f};{power:.2f}".replace(".", ",")
        for flow, head, power in q.READINGS
    )
    response = desk.post(bed(plan), bed_sheet(rows=(), pasted=pasted))
    assert response.status_code == 302, said(response)
    typed, from_paste = PerformanceTest.objects.order_by("pk")
    assert from_paste.result["quantities"] == typed.result["quantities"]


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"r5_head": ""}, "Reading 5 has no total head"),
        ({"r5_head": "6x"}, "Reading 5, total head"),
        ({"r5_head": "1.000"}, "can be read in two ways"),
        ({"r5_speed": "0"}, "Reading 5"),
        ({"r5_flow": "-520"}, "Reading 5"),
        ({"instruments": []}, "This field is required"),
        ({"efficiency": "840"}, "percentage below 100"),
        ({"head_by": "gauges"}, "Heads from gauges need it"),
        ({"power_by": "electric"}, "needs the motor"),
        ({"flow": "0"}, "It must be more than"),
        ({"pasted": "1;2;3;4"}, "empty one of them"),
    ],
)
def test_bad_readings_say_where_and_lose_nothing(desk, plan, changes, says):
    response = desk.post(bed(plan), bed_sheet(note="bed 2, motor of the works", **changes))
    page = said(response)
    assert response.status_code == 422
    assert says in page
    assert "bed 2, motor of the works" in page
    assert 'value="62,9"' in page or "r5_head" in changes
    assert not PerformanceTest.objects.exists()


@pytest.mark.parametrize(
    ("pasted", "says"),
    [
        ("540;1485;62", "Line 1 has 3 figures; 4 are wanted"),
        ("540;1485;62,5;108.2", "decimal mark"),
        ("\n".join(["540;1485;62;108"] * 19), "room for 18"),
        ("abc", "No readings were given"),
    ],
)
def test_a_paste_that_does_not_fit_is_refused_with_its_line(desk, plan, pasted, says):
    response = desk.post(bed(plan), bed_sheet(rows=(), pasted=pasted))
    assert response.status_code == 422
    assert says in said(response)
    assert pasted.splitlines()[0] in said(response)


def test_an_empty_sheet_asks_for_readings(desk, plan):
    response = desk.post(bed(plan), bed_sheet(rows=()))
    assert response.status_code == 422
    assert "No reading was given" in said(response)


def test_heads_from_gauges_use_heights_and_bores(desk, plan):
    # H = (p2 − p1)/ρg + (z2 − z1) + (v2² − v1²)/2g, Hydraulic Institute data 1.A.3 (confirmed).
    rows = {
        "head_by": "gauges",
        "suction_bore": "300",
        "suction_height": "0",
        "discharge_bore": "250",
        "discharge_height": "0,5",
    }
    for number, (flow, head, _) in enumerate(q.READINGS, 1):
        q_m3s = flow / 3600
        velocity = (q_m3s / 0.0490874) ** 2 - (q_m3s / 0.0706858) ** 2
        bar = (head - 0.5 - velocity / (2 * 9.80665)) * 998.2 * 9.80665 / 1e5
        rows |= {
            f"r{number}_head": "",
            f"r{number}_suction": "0",
            f"r{number}_discharge": f"{bar:.4f}",
        }
    response = desk.post(bed(plan), bed_sheet(**rows))
    assert response.status_code == 302, said(response)
    heads = [p["head_m"] for p in PerformanceTest.objects.get().result["points"]]
    assert heads == pytest.approx([head for _, head, _ in q.READINGS], abs=0.01)


def test_going_on_with_a_test_keeps_the_readings_as_typed(desk, plan):
    desk.post(bed(plan), bed_sheet(rows=q.READINGS[:3]))
    test = PerformanceTest.objects.get()
    assert test.verdict == "unclear"
    page = said(desk.get(f"{bed(plan)}?corrects={test.pk}"))
    assert 'value="73"' in page
    desk.post(f"{bed(plan)}?corrects={test.pk}", bed_sheet())
    assert PerformanceTest.objects.get(replaces=test).verdict == "pass"


def test_the_seal_test_is_refused_before_the_performance_test(desk, plan):
    url = reverse("quality:new_seal_test", args=[q.operation(plan, "TST-SEAL").pk])
    response = desk.get(url)
    assert response.status_code == 422
    assert "performance test comes first" in said(response)


def test_the_seal_test_is_kept(desk, plan):
    q.signed(q.performance_test(plan), "performance")
    url = reverse("quality:new_seal_test", args=[q.operation(plan, "TST-SEAL").pk])
    assert "highest box pressure" in said(desk.get(url))
    sheet = {
        "tested_on": str(q.TODAY),
        "gauge": q.gauges()[0].pk,
        "start": "3,05",
        "start_unit": "bar",
        "end": "3.0",
        "end_unit": "bar",
        "held": "10",
        "held_unit": "min",
        "drive_end": "0",
        "free_end": "0",
    }
    assert desk.post(url, sheet).status_code == 302
    test = SealTest.objects.get()
    assert test.verdict == "pass"
    assert desk.get(test.get_absolute_url()).status_code == 200


def test_measured_values_are_kept_from_their_point(desk, plan):
    caliper = q.gauge("MM-1", kind="length", unit="mm", range_high=500.0, resolution=0.01)
    point = q.point(plan, "CLEARANCES")
    url = reverse("quality:new_measurement", args=[point.pk])
    row = {
        "tested_on": str(q.TODAY),
        "instruments": [caliper.pk],
        "v1_what": "drive end",
        "v1_unit": "mm",
        "v1_lowest": "0,43",
        "v1_highest": "0.60",
        "v1_measured": "0,52",
    }
    assert desk.post(url, {**row, "v1_measured": ""}).status_code == 422
    assert desk.post(url, row).status_code == 302
    record = Measurement.objects.get()
    assert record.result["values"][0]["instrument"] == "MM-1"
    assert desk.get(record.get_absolute_url()).status_code == 200
    assert "drive end" in said(desk.get(f"{url}?corrects={record.pk}"))


def test_a_nonconformance_from_first_word_to_last(desk, plan):
    operation = q.operation(plan, "ASM-HYDRO")
    url = reverse("quality:new_nonconformance", args=[operation.pk])
    assert desk.get(url).status_code == 200
    assert desk.post(url, {"severity": "major", "cause": "core"}).status_code == 422
    desk.post(url, {"defect": "porous wall", "severity": "major", "cause": "core"})
    found = Nonconformance.objects.get()
    page = reverse("quality:nonconformance", args=[found.pk])
    assert "may start" in said(desk.get(page))

    decide = reverse("quality:dispose", args=[found.pk])
    blocked = desk.post(decide, {"version": 1, "disposition": "repair", "note": "plug the spot"})
    assert blocked.status_code == 422
    assert "accepted that in" in said(blocked)
    assert "plug the spot" in said(blocked)

    question = {"proposed": "repair", "question": "May we plug it?"}
    assert desk.post(reverse("quality:ask_buyer", args=[found.pk]), question).status_code == 302
    answer = reverse("quality:answer", args=[Concession.objects.get().pk])
    half = desk.post(answer, {"answer": "accepted", "words": "", "answered_by": "E. Amadhila"})
    assert half.status_code == 422
    desk.post(
        answer,
        {"answer": "accepted", "words": "Letter 12: agreed.", "answered_by": "E. Amadhila"},
    )
    assert desk.post(decide, {"version": 1, "disposition": "repair"}).status_code == 302
    found.refresh_from_db()
    assert found.disposition == "repair"
    closing = reverse("quality:close_nonconformance", args=[found.pk])
    desk.post(closing, {"version": found.version})
    assert "Letter 12: agreed." in said(desk.get(page))
    assert found.number in said(desk.get(reverse("quality:nonconformances") + "?show=all"))
    assert found.number not in said(desk.get(reverse("quality:nonconformances")))


def test_the_list_asks_a_constant_number_of_queries(desk, plan, django_assert_max_num_queries):
    q.passed_pressure_test(plan, leaks=[Leak(place=Place.BODY, where="foot")])
    url = reverse("quality:nonconformances")
    with django_assert_max_num_queries(12) as few:
        desk.get(url)
    q.passed_pressure_test(plan, unit=2, leaks=[Leak(place=Place.BODY, where="rib")])
    with django_assert_max_num_queries(len(few)):
        desk.get(url)


def test_two_people_on_one_question_the_second_is_told(desk, plan):
    q.passed_pressure_test(plan, leaks=[Leak(place=Place.BODY, where="foot")])
    found = Nonconformance.objects.get()
    concession = ask_buyer(
        nonconformance_id=found.pk, proposed="repair", question="?", by=q.inspector(), at=NOW
    )
    url = reverse("quality:answer", args=[concession.pk])
    fields = {"answer": "refused", "words": "no", "answered_by": "E. Amadhila"}
    desk.post(url, fields)
    response = desk.post(url, {**fields, "answer": "accepted"})
    assert response.status_code == 422
    assert "was refused by" in said(response)


def test_a_visit_is_planned_noticed_and_missed(desk, plan):
    points = plan.points.filter(code="HYDRO-START")
    url = reverse("quality:new_visit", args=[plan.pk])
    assert desk.get(url).status_code == 200
    fields = {"party": "customer", "on": "2026-03-25", "points": [p.pk for p in points]}
    early = desk.post(url, {**fields, "on": "2026-03-06", "inspector": "E. Amadhila"})
    assert early.status_code == 422
    assert "earliest day is now" in said(early)
    assert 'value="E. Amadhila"' in said(early)
    assert desk.post(url, fields).status_code == 302
    visit = Visit.objects.get()
    notice = reverse("quality:give_notice", args=[visit.pk])
    assert desk.post(notice, {"version": 1, "on": "2026-03-04"}).status_code == 302
    stale = desk.post(notice, {"version": 1, "on": "2026-03-04"})
    assert stale.status_code == 422
    assert "changed by somebody else" in said(stale)
    assert "2026-03-25" in said(desk.get(reverse("quality:visits")))


@pytest.mark.parametrize(
    ("came", "state"), [("yes", "came"), ("no", "did not come"), ("off", "cancelled")]
)
def test_what_came_of_a_visit(desk, plan, came, state):
    visit = plan_visit(
        point_ids=[q.point(plan, "HYDRO").pk],
        party=Party.CUSTOMER,
        on=q.TODAY,
        note="agreed",
        by=q.inspector(),
        at=NOW,
    )
    url = reverse("quality:visit_outcome", args=[visit.pk])
    desk.post(url, {"version": 1, "came": came, "note": "word by telephone"})
    visit.refresh_from_db()
    assert visit.state == state


def test_an_instrument_is_added_calibrated_and_withdrawn(desk):
    q.SiteFactory.create()
    fields = {
        "tag": "PG-3",
        "kind": "pressure",
        "unit": "bar",
        "range_low": "0",
        "range_high": "40",
        "resolution": "0,1",
        "calibrated_on": "2026-02-01",
        "due_on": "2027-02-01",
        "uncertainty_percent": "0,6",
    }
    url = reverse("quality:new_instrument")
    wrong = desk.post(url, {**fields, "due_on": "2026-01-01"})
    assert wrong.status_code == 422
    assert "not after" in said(wrong)
    assert desk.post(url, fields).status_code == 302
    instrument = Instrument.objects.get()
    assert instrument.uncertainty_percent == 0.6
    desk.post(
        instrument.get_absolute_url(),
        {
            "calibrated_on": "2026-03-01",
            "due_on": "2027-03-01",
            "uncertainty_percent": "0.5",
            "within_limits": "on",
        },
    )
    instrument.refresh_from_db()
    assert str(instrument.due_on) == "2027-03-01"
    desk.post(reverse("quality:withdraw_instrument", args=[instrument.pk]), {"why": "dropped"})
    assert "withdrawn" in said(desk.get(reverse("quality:instruments")))


def test_a_certificate_is_received_and_accepted(desk):
    q.SiteFactory.create()
    url = reverse("quality:new_certificate")
    fields = {
        "heat": "H-9",
        "metal": "GJL-250",
        "type": "3.1",
        "received_on": "2026-03-03",
        "chemistry": "C 3,35\nSi 1.9",
        "mechanicals": "tensile MPa 262",
    }
    wrong = desk.post(url, {**fields, "chemistry": "C 3,35\nSi lots"})
    assert wrong.status_code == 422
    assert "Line 2" in said(wrong)
    assert desk.post(url, fields).status_code == 302
    certificate = MaterialCertificate.objects.get()
    assert certificate.chemistry == {"C": 3.35, "Si": 1.9}
    assert certificate.mechanicals == {"tensile MPa": 262.0}
    desk.post(reverse("quality:accept_certificate", args=[certificate.pk]))
    assert "accepted" in said(desk.get(reverse("quality:certificates")))
