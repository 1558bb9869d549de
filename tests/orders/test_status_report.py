"""The status report: where the order stands, for the customer's eyes; kept as it was issued."""

import dataclasses
from datetime import timedelta
from io import BytesIO
from typing import Any

import pytest
from django.db import DatabaseError, transaction
from pypdf import PdfReader

from orders.actions.orders import hold_order
from orders.actions.published import publish_date
from orders.actions.reports import issue_status_report, issue_weekly_reports
from orders.documents import sketch_chart, status_report
from orders.errors import WrongState
from orders.models import StatusReport
from orders.queries.status import Status, status_of
from quality.actions.visits import plan_visit
from quality.models import InspectionPoint
from selection.queries.choices import Sketch
from tests.factories.orders import (
    NOW,
    TODAY,
    customer,
    enquiry,
    only_item,
    ordered,
    planner,
    spares,
    taken,
    viewer,
)
from works.errors import NotAllowed

pytestmark = pytest.mark.django_db


def text_of(paper: bytes) -> str:
    reader = PdfReader(BytesIO(paper))
    return " ".join(" ".join(page.extract_text().split()) for page in reader.pages)


def pages_of(paper: bytes) -> int:
    return len(PdfReader(BytesIO(paper)).pages)


def read(order: Any) -> Status:
    return status_of(order, now=NOW)


def test_the_report_says_where_the_order_stands() -> None:
    order = ordered(quantity=2)
    text = text_of(status_report(read(order), number=1, issued="2026-03-04 10:00, A. Moreira"))
    for words in (
        f"Order {order.number}: where it stands on 2026-03-04",
        "Lagarosa Irrigation Scheme",
        "PO 4711",
        "CIF Walvis Bay (Incoterms 2020)",
        "2 not begun",
        "Published ship date: 2026-08-11",
        "540 m³/h at 62.0 m",
        "Pressure tested",
        f"{order.number}-1-02",
        "Casing hydrostatic test",
        "Nothing waits for an answer.",
        "No published date moved.",
        "Page 1 of",
        "they do not replace it",
    ):
        assert words in text, words


def test_the_report_tells_nothing_internal() -> None:
    other = ordered(of=customer("Fjellvik Kraftlag", "NO"), project="Tunnel 5")
    order = ordered()
    route = only_item(order).route
    assert route is not None and route.forecast_ship_at is not None
    report = issue_status_report(order_id=order.pk, by=planner(), at=NOW)
    told = text_of(bytes(report.paper.content)) + str(report.contents)
    for secret_word in (
        "margin is thin",
        "pays late",
        "1 % a week",
        "214000",
        "Fjellvik",
        "Tunnel",
        other.number,
        route.forecast_ship_at.date().isoformat(),
        "hand",
    ):
        assert secret_word not in told, secret_word


def test_the_same_status_gives_the_same_bytes() -> None:
    status = read(ordered())
    one = status_report(status, number=3, issued="2026-03-04")
    assert one == status_report(status, number=3, issued="2026-03-04")
    assert one != status_report(status, number=4, issued="2026-03-04")


def test_long_names_and_an_empty_order_are_set_whole() -> None:
    status = read(ordered())
    long = "Consorcio Internacional de Riegos y Abastecimientos del Valle Alto y Anexos S. A. " * 2
    wide = dataclasses.replace(
        status,
        customer=long,
        project=long,
        items=tuple(dataclasses.replace(item, what=long, tag="T" * 60) for item in status.items),
    )
    paper = status_report(wide, number=128, issued=f"2026-03-04, {long}")
    assert " ".join(long.split()) in text_of(paper)
    bare = dataclasses.replace(
        status, items=(), attend=(), open=(), moved=(), stands=(), project="", customer_reference=""
    )
    paper = status_report(bare, number=1, issued="2026-03-04")
    assert pages_of(paper) == 1
    assert "Nothing is in work yet." in text_of(paper)


def test_units_of_one_inspection_stand_on_one_line() -> None:
    order = ordered(quantity=3)
    lines = [line for line in read(order).attend if line.what == "Casing hydrostatic test"]
    assert [line.units for line in lines] == [tuple(f"{order.number}-1-0{n}" for n in (1, 2, 3))]
    assert (lines[0].party, lines[0].part, lines[0].state) == ("you", "witness", "to be agreed")
    point = InspectionPoint.objects.get(
        code="HYDRO", operation__unit__number=2, plan__route__item__order=order
    )
    day = TODAY + timedelta(days=60)
    plan_visit(point_ids=[point.pk], party="customer", on=day, by=planner(), at=NOW)
    lines = [line for line in read(order).attend if line.what == "Casing hydrostatic test"]
    assert {(line.units, line.on) for line in lines} == {
        ((f"{order.number}-1-01", f"{order.number}-1-03"), None),
        ((f"{order.number}-1-02",), day),
    }


def test_what_moved_since_the_last_report_is_told_once() -> None:
    order = ordered()
    issue_status_report(order_id=order.pk, by=planner(), at=NOW)
    later = NOW + timedelta(days=2)
    publish_date(
        item_id=only_item(order).pk,
        milestone="cast",
        on=TODAY + timedelta(days=90),
        reason="the pattern is on another order",
        by=planner(),
        at=later,
    )
    second = issue_status_report(order_id=order.pk, by=planner(), at=later + timedelta(hours=1))
    assert [row["reason"] for row in second.contents["moved"]] == [
        "the pattern is on another order"
    ]
    third = issue_status_report(order_id=order.pk, by=planner(), at=later + timedelta(days=7))
    assert third.contents["moved"] == []
    assert [report.number for report in order.status_reports.all()] == [3, 2, 1]


def test_spares_and_held_orders_are_reported() -> None:
    order = enquiry()
    spares(order, "spares shaft")
    taken(order)
    hold_order(order_id=order.pk, reason="internal: awaiting payment", by=planner(), at=NOW)
    order.refresh_from_db()
    text = text_of(status_report(read(order), number=1, issued="2026-03-04"))
    assert "spare shaft" in text
    assert "on hold" in text
    assert "payment" not in text


def test_an_issued_report_never_changes() -> None:
    order = ordered()
    report = issue_status_report(order_id=order.pk, by=None, at=NOW)
    with pytest.raises(DatabaseError), transaction.atomic():
        StatusReport.objects.filter(pk=report.pk).update(number=9)
    with pytest.raises(DatabaseError), transaction.atomic():
        type(report.paper).objects.filter(pk=report.paper_id).update(file_name="other.pdf")


def test_a_viewer_issues_no_report_and_an_enquiry_has_none() -> None:
    with pytest.raises(NotAllowed):
        issue_status_report(order_id=ordered().pk, by=viewer(), at=NOW)
    with pytest.raises(WrongState):
        issue_status_report(order_id=enquiry().pk, by=planner(), at=NOW)


def test_the_weekly_reports_are_issued_once_a_day_however_often_they_are_asked_for() -> None:
    one, other = ordered(), ordered()
    enquiry()
    issue_status_report(order_id=one.pk, by=planner(), at=NOW)
    assert issue_weekly_reports(at=NOW + timedelta(hours=1)) == 1
    assert issue_weekly_reports(at=NOW + timedelta(hours=2)) == 0
    assert issue_weekly_reports(at=NOW + timedelta(days=7)) == 2
    assert other.status_reports.count() == 2


def test_the_read_model_takes_the_same_queries_for_one_item_and_for_three(
    django_assert_num_queries: Any, django_assert_max_num_queries: Any
) -> None:
    small = ordered()
    with django_assert_max_num_queries(16) as one:
        read(small)
    large = enquiry()
    for _ in range(3):
        spares(large, "spares shaft", 2)
    taken(large)
    with django_assert_num_queries(len(one)):
        assert len(read(large).items) == 3


@pytest.mark.parametrize(("pumps", "label"), [(1, "system"), (3, "system, 3 pumps running")])
def test_the_small_curve_shows_the_system_as_one_of_the_pumps_meets_it(
    pumps: int, label: str
) -> None:
    flows = tuple(0.05 * n for n in range(11))
    sketch = Sketch(
        pump_flow_m3s=(0.0, 0.1, 0.2),
        pump_head_m=(74.0, 68.0, 50.0),
        system_flow_m3s=flows,
        system_head_m=tuple(46 + 16 * (flow / (0.15 * pumps)) ** 2 for flow in flows),
        duty_flow_m3s=0.15,
        duty_head_m=62.0,
    )
    pump, system = sketch_chart(sketch).panels[0].curves
    assert system.label == label
    assert max(system.x) <= max(pump.x) * 1.05
    # Where the curve passes the duty's flow it passes the duty's head: 540 m³/h, 62 m.
    near = min(zip(system.x, system.y, strict=True), key=lambda point: abs(point[0] - 540))
    expected = 46 + 16 * (near[0] / 540) ** 2
    assert near[1] == pytest.approx(expected, abs=1e-6)
