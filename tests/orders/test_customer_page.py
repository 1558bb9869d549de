"""The customer's page behind a private link: one order, nothing internal, no change by looking."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from http.cookies import Morsel

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from orders.actions.links import revoke_link
from orders.actions.papers import file_paper
from orders.actions.published import publish_date
from orders.actions.reports import issue_status_report
from orders.models import CustomerLink, Order
from orders.views.customer import COOKIE
from quality.actions.nonconformances import ask_buyer, open_nonconformance
from quality.models import Concession, Nonconformance
from tests.factories.orders import (
    NOW,
    customer,
    link,
    only_item,
    ordered,
    planner,
    step,
)
from tests.factories.quality import inspector
from works.models import Event, Revision

pytestmark = pytest.mark.django_db

DEAD = "This link is not valid, has expired or was withdrawn."
PDF = b"%PDF-1.4\n1 0 obj<<>>endobj\ntrailer<<>>\n%%EOF"


@pytest.fixture(autouse=True)
def at_now() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


def entered(client: Client, secret: str) -> str:
    """Follow the link as a browser does; the clean address it leads to."""
    answer = client.get(reverse("orders:customer_enter", args=[secret]))
    assert answer.status_code == 302
    return answer["Location"]


def asked(order: Order) -> Concession:
    """A question to the buyer about the order."""
    by = inspector()
    found = open_nonconformance(
        operation_id=step(order, "ASM-HYDRO").pk,
        defect="sand in the volute, a welder's mistake that cost us a week",
        severity="major",
        by=by,
        at=NOW,
    )
    return ask_buyer(
        nonconformance_id=found.pk,
        proposed=Nonconformance.Disposition.REPAIR,
        question="A surface defect at the volute tongue. We propose to dress it. May we?",
        by=by,
        at=NOW,
    )


def test_the_secret_leaves_the_address_at_once(client: Client) -> None:
    made, secret = link(ordered())
    answer = client.get(reverse("orders:customer_enter", args=[secret]))
    page = reverse("orders:customer_page", args=[made.pk])
    assert answer["Location"] == page
    assert answer["Referrer-Policy"] == "no-referrer"
    assert "no-store" in answer["Cache-Control"]
    cookie: Morsel[str] = answer.cookies[COOKIE]
    assert cookie["httponly"]
    assert cookie["path"] == page
    assert cookie["samesite"] == "Lax"


def test_over_tls_the_cookie_is_secure(client: Client) -> None:
    _, secret = link(ordered())
    answer = client.get(reverse("orders:customer_enter", args=[secret]), secure=True)
    assert answer.cookies[COOKIE]["secure"]


def test_the_page_needs_no_login_and_shows_the_order(client: Client) -> None:
    order = ordered(quantity=2)
    publish_date(
        item_id=only_item(order).pk,
        milestone="shipped",
        on=order.ship_by_on + timedelta(days=7),
        reason="a casting was poured anew",
        by=planner(),
        at=NOW,
    )
    _, secret = link(order)
    answer = client.get(entered(client, secret))
    text = answer.content.decode()
    assert answer.status_code == 200
    for words in (
        "Your order PO 4711",
        order.number,
        f"{order.number}-1-02",
        "a casting was poured anew",
        "Casing hydrostatic test",
        "10 working days",
        "Duty, each pump",
    ):
        assert words in text
    assert "no-store" in answer["Cache-Control"]
    assert answer["Referrer-Policy"] == "same-origin"
    assert answer["X-Robots-Tag"] == "noindex"


def test_the_page_tells_nothing_internal(client: Client) -> None:
    other = ordered(of=customer("Fjellvik Kraftlag", "NO"), project="Tunnel 5")
    order = ordered()
    concession = asked(order)
    route = only_item(order).route
    assert route is not None and route.forecast_ship_at is not None
    _, secret = link(order)
    text = client.get(entered(client, secret)).content.decode()
    assert concession.question in text
    for secret_word in (
        "welder",  # of the nonconformance as the works wrote it
        "margin is thin",
        "pays late",
        "1 % a week",
        "214000",
        "214 000",
        "Fjellvik",
        other.number,
        route.forecast_ship_at.date().isoformat(),
        "days in hand",
        "riority",
        "Nonconformances",  # the house's navigation
    ):
        assert secret_word not in text, secret_word


def test_looking_changes_nothing(client: Client) -> None:
    order = ordered()
    made, secret = link(order)
    before = Event.objects.count(), CustomerLink.objects.values().get(pk=made.pk)
    page = entered(client, secret)
    client.get(page)
    client.head(page)
    assert (Event.objects.count(), CustomerLink.objects.values().get(pk=made.pk)) == before


def test_an_altered_or_invented_link_leads_nowhere(client: Client) -> None:
    _, secret = link(ordered())
    for wrong in (secret[:-1] + ("A" if secret[-1] != "A" else "B"), "x", secret.lower()):
        answer = client.get(reverse("orders:customer_enter", args=[wrong]))
        assert answer.status_code == 404
        assert DEAD in answer.content.decode()
        assert COOKIE not in answer.cookies


def test_an_expired_link_leads_nowhere_even_with_its_cookie(client: Client) -> None:
    made, secret = link(ordered(), expires_at=NOW + timedelta(hours=1))
    page = entered(client, secret)
    with time_machine.travel(NOW + timedelta(hours=2), tick=False):
        client.cookies[COOKIE] = secret  # a browser that keeps it longer than it should
        assert client.get(page).status_code == 404
        assert client.get(reverse("orders:customer_enter", args=[secret])).status_code == 404
    assert made.pk


def test_a_withdrawn_link_leads_nowhere_at_once(client: Client) -> None:
    made, secret = link(ordered())
    page = entered(client, secret)
    assert client.get(page).status_code == 200
    revoke_link(link_id=made.pk, by=planner(), at=NOW)
    answer = client.get(page)
    assert answer.status_code == 404
    assert DEAD in answer.content.decode()


def test_without_the_cookie_the_clean_address_leads_nowhere(client: Client) -> None:
    made, secret = link(ordered())
    page = reverse("orders:customer_page", args=[made.pk])
    assert client.get(page).status_code == 404
    assert secret  # known to nobody in this browser


def test_the_cookie_of_one_order_does_not_open_another(client: Client) -> None:
    _, secret = link(ordered())
    other, _ = link(ordered(of=customer("Fjellvik Kraftlag", "NO")))
    client.cookies[COOKIE] = secret
    answer = client.get(reverse("orders:customer_page", args=[other.pk]))
    assert answer.status_code == 404
    assert "Fjellvik" not in answer.content.decode()


def paper(order: Order, *, for_customer: bool, title: str = "Arrangement") -> Revision:
    return file_paper(
        order_id=order.pk,
        title=title,
        kind="drawing",
        file_name="a.pdf",
        content=PDF,
        for_customer=for_customer,
        by=planner(),
        at=NOW,
    )


def test_papers_for_the_customer_are_served_as_attachments(client: Client) -> None:
    order = ordered()
    mine = paper(order, for_customer=True)
    made, secret = link(order)
    page = entered(client, secret)
    assert "Arrangement" in client.get(page).content.decode()
    answer = client.get(reverse("orders:customer_paper", args=[made.pk, mine.pk]))
    assert answer.content == PDF
    assert answer["Content-Disposition"].startswith("attachment")
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "no-store" in answer["Cache-Control"]


def test_internal_papers_and_those_of_other_orders_are_refused(client: Client) -> None:
    order, other = ordered(), ordered(of=customer("Fjellvik Kraftlag", "NO"))
    internal = paper(order, for_customer=False)
    theirs = paper(other, for_customer=True)
    made, secret = link(order)
    entered(client, secret)
    for refused in (internal, theirs):
        address = reverse("orders:customer_paper", args=[made.pk, refused.pk])
        assert client.get(address).status_code == 404
    assert client.get(reverse("works:revision", args=[internal.pk])).status_code == 302


def test_issued_reports_of_this_order_alone_are_served_as_they_were(client: Client) -> None:
    order, other = ordered(), ordered(of=customer("Fjellvik Kraftlag", "NO"))
    report = issue_status_report(order_id=order.pk, by=None, at=NOW)
    issue_status_report(order_id=other.pk, by=None, at=NOW)
    issue_status_report(order_id=other.pk, by=None, at=NOW + timedelta(days=1))
    made, secret = link(order)
    page = entered(client, secret)
    assert "Status report 1 (PDF)" in client.get(page).content.decode()
    answer = client.get(reverse("orders:customer_report", args=[made.pk, 1]))
    assert answer.content == bytes(report.paper.content)
    assert client.get(reverse("orders:customer_report", args=[made.pk, 2])).status_code == 404


def answer_to(client: Client, made: CustomerLink, concession: Concession, **fields: str) -> int:
    prefix = f"answer-{concession.pk}"
    address = reverse("orders:customer_answer", args=[made.pk, concession.pk])
    return client.post(
        address, {f"{prefix}-{name}": value for name, value in fields.items()}
    ).status_code


def test_a_concession_is_answered_once_in_writing(client: Client) -> None:
    order = ordered()
    concession = asked(order)
    made, secret = link(order)
    page = entered(client, secret)
    assert "Send this answer" in client.get(page).content.decode()
    right = {"answer": "accepted", "words": "Yes, to our drawing.", "answered_by": "H. Amupolo"}
    assert answer_to(client, made, concession, **{**right, "words": ""}) == 422
    assert answer_to(client, made, concession, **{**right, "answer": "perhaps"}) == 422
    assert answer_to(client, made, concession, **right) == 302
    concession.refresh_from_db()
    assert (concession.answer, concession.answered_by) == ("accepted", "H. Amupolo")
    assert concession.answered_at == NOW
    assert concession.recorded_by is None
    assert answer_to(client, made, concession, **{**right, "answer": "refused"}) == 422
    concession.refresh_from_db()
    assert concession.answer == "accepted"


def test_what_was_typed_in_a_refused_answer_is_kept(client: Client) -> None:
    order = ordered()
    concession = asked(order)
    made, secret = link(order)
    entered(client, secret)
    prefix = f"answer-{concession.pk}"
    answer = client.post(
        reverse("orders:customer_answer", args=[made.pk, concession.pk]),
        {f"{prefix}-words": "only with a new test", f"{prefix}-answered_by": "H. Amupolo"},
    )
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "only with a new test" in text
    assert 'value="H. Amupolo"' in text


def test_a_link_for_reading_cannot_answer(client: Client) -> None:
    order = ordered()
    concession = asked(order)
    made, secret = link(order, may_answer=False)
    page = entered(client, secret)
    assert "Send this answer" not in client.get(page).content.decode()
    fields = {"answer": "accepted", "words": "Yes.", "answered_by": "H. Amupolo"}
    assert answer_to(client, made, concession, **fields) == 422
    concession.refresh_from_db()
    assert concession.answer == ""


def test_a_question_of_another_order_cannot_be_answered(client: Client) -> None:
    theirs = asked(ordered(of=customer("Fjellvik Kraftlag", "NO")))
    made, secret = link(ordered())
    entered(client, secret)
    fields = {"answer": "accepted", "words": "Yes.", "answered_by": "H. Amupolo"}
    assert answer_to(client, made, theirs, **fields) == 404


def test_an_answer_is_not_given_by_following_an_address(client: Client) -> None:
    order = ordered()
    concession = asked(order)
    made, secret = link(order)
    entered(client, secret)
    address = reverse("orders:customer_answer", args=[made.pk, concession.pk])
    assert client.get(address).status_code == 405
    assert client.get(address, {f"answer-{concession.pk}-answer": "accepted"}).status_code == 405


def test_an_answer_from_elsewhere_is_refused_as_forged(client: Client) -> None:
    order = ordered()
    concession = asked(order)
    made, secret = link(order)
    strict = Client(enforce_csrf_checks=True)
    strict.cookies[COOKIE] = secret
    address = reverse("orders:customer_answer", args=[made.pk, concession.pk])
    assert strict.post(address, {f"answer-{concession.pk}-answer": "accepted"}).status_code == 403
    assert made.expires_at == datetime(2099, 1, 1, tzinfo=UTC)
