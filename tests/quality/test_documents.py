"""Test sheets: what an inspector signs says what was found, how, and how sure the rules are."""

from io import BytesIO

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from quality.acceptance.hydrostatic import Leak, Place
from quality.actions.measurements import record_measurement
from quality.actions.seal_tests import record_seal_test
from quality.documents import sheet_of
from quality.judging.measurement import Value
from quality.models import Nonconformance, PerformanceTest
from quality.queries.records import record_view
from tests.factories import quality as q
from tests.factories.schedule import NOW
from works.models import Site

pytestmark = pytest.mark.django_db


def text(record) -> str:
    pages = PdfReader(BytesIO(sheet_of(record_view(record), Site.current()))).pages
    return " ".join(" ".join(page.extract_text().split()) for page in pages)


@pytest.fixture
def plan():
    return q.plan()


def test_the_pressure_sheet_says_pressure_time_gauges_and_verdict(plan):
    words = text(q.passed_pressure_test(plan))
    for said in ("Passed", "13.5 bar", "30 min", "PG-1", "C-PG-1", "No leak was seen"):
        assert said in words


def test_an_unsigned_sheet_says_so_and_a_signed_one_names_who(plan):
    test = q.passed_pressure_test(plan)
    assert "Not signed" in text(test)
    signed = q.signed(test, "hydrostatic")
    words = text(signed)
    assert "Not signed" not in words
    assert f"2026-03-04 10:00, signed by {signed.signed_by}" in words


def test_a_leak_through_the_body_names_its_nonconformance(plan):
    words = text(q.passed_pressure_test(plan, leaks=[Leak(place=Place.BODY, where="rib 3")]))
    found = Nonconformance.objects.get()
    assert found.number in words
    assert "rib 3" in words
    assert "No repair before the buyer has agreed in writing" in words


def test_every_sheet_carries_its_cautions_and_places_to_sign(plan):
    words = text(q.passed_pressure_test(plan))
    assert "Never test with air or gas" in words
    assert "It is no permission to pressurise" in words
    assert "do not replace it, the contract or local codes" in words
    for party in ("Maker", "Customer", "Third party", "Signature"):
        assert party in words


def test_the_certificate_says_what_was_guaranteed_read_and_judged(plan):
    words = text(q.performance_test(plan))
    for said in (
        "540 m³/h",
        "62.0 m",
        "1485 rev/min",
        "ISO 9906:2012 grade 2B",
        "either bar",
        "As read, and at rated speed",
        "FM-1",
    ):
        assert said in words
    for reading in ("Shaft power [kW]", "500.0", "63.80", "104.5"):
        assert reading in words


def test_a_verdict_that_rests_on_memory_says_so_on_the_sheet(plan):
    words = text(q.performance_test(plan))
    assert "from memory: to be checked against a bought copy" in words
    assert "have not been checked against the works' own copy" in words


def test_no_chance_or_bound_stands_on_a_certificate(plan):
    words = text(q.performance_test(plan)).lower()
    assert "chance" not in words
    assert "probability" not in words


def test_the_same_record_gives_the_same_bytes(plan):
    test = q.performance_test(plan)
    site = Site.current()
    first = sheet_of(record_view(test), site)
    again = sheet_of(record_view(PerformanceTest.objects.get(pk=test.pk)), site)
    assert first == again


def test_a_replaced_record_says_which_one_counts(plan):
    wrong = q.passed_pressure_test(plan, held_s=180.0)
    right = q.passed_pressure_test(plan, replaces_id=wrong.pk)
    wrong.refresh_from_db()
    assert f"Replaced by record {right.pk}" in text(wrong)
    assert f"record {wrong.pk}" in text(right)


def test_demonstration_data_are_said_to_be_invented(plan):
    Site.objects.update(is_demonstration=True)
    assert "invented" in text(q.signed(q.passed_pressure_test(plan), "hydrostatic"))


def test_seal_and_measured_records_have_their_sheets(plan):
    q.signed(q.performance_test(plan), "performance")
    seal = record_seal_test(
        operation_id=q.operation(plan, "TST-SEAL").pk,
        tested_on=q.TODAY,
        instrument_id=q.gauges()[0].pk,
        start_pa=305_000.0,
        end_pa=303_000.0,
        held_s=600.0,
        drops_per_min={"drive end": 0.0, "free end": 2.0},
        by=q.inspector(),
        at=NOW,
    )
    assert "2 drops a minute at the free end" in text(seal)
    caliper = q.gauge("MM-1", kind="length", unit="mm", range_high=500.0, resolution=0.01)
    measured = record_measurement(
        operation_id=q.operation(plan, "ASM-BUILD").pk,
        kind="measured: clearance",
        tested_on=q.TODAY,
        values=[
            Value(
                what="ring clearance",
                unit="mm",
                lowest=0.43,
                highest=0.6,
                measured=0.52,
                instrument="MM-1",
            )
        ],
        instrument_ids=[caliper.pk],
        by=q.inspector(),
        at=NOW,
    )
    words = text(measured)
    assert "ring clearance" in words
    assert "0.520" in words


def test_the_sheet_is_served_as_pdf_to_those_signed_in(plan):
    test = q.passed_pressure_test(plan)
    url = reverse("quality:sheet", args=["hydrostatic", test.pk])
    assert Client().get(url).status_code == 302
    client = Client()
    client.force_login(q.inspector())
    response = client.get(url)
    assert response["Content-Type"] == "application/pdf"
    assert response.content.startswith(b"%PDF-")
    assert client.get(reverse("quality:sheet", args=["other", 1])).status_code == 404
