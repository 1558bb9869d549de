"""An order's page, the deeds asked for there, and its changes."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from orders.actions.changes import propose_change
from orders.actions.orders import hold_order
from orders.actions.published import publish_date
from orders.models import Change, CustomerLink, Delivery, Order
from orders.tasks import issue_report
from orders.views.order_deeds import DEEDS
from tests.factories.orders import (
    NOW,
    TODAY,
    choice,
    engineer,
    enquiry,
    only_item,
    ordered,
    planner,
    pumps,
    signed_in,
    spares,
    taken,
    viewer,
    works_manager,
)
from works.models import Errand, Job
from works.outbox import expand

pytestmark = pytest.mark.django_db

TIGHT = TODAY + timedelta(days=75)


@pytest.fixture(autouse=True)
def at_now() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def desk(client: Client) -> Client:
    return signed_in(client, planner())


def page(order: Order) -> str:
    return reverse("orders:order", args=[order.number])


def do(client: Client, order: Order, key: str, **fields: Any) -> Any:
    """Post a form of the page; its fields carry its key."""
    address = reverse("orders:order_deed", args=[order.number, key])
    return client.post(address, {f"{key}-{name}": value for name, value in fields.items()})


def test_the_page_shows_the_order_from_every_side(desk: Client) -> None:
    order = ordered(quantity=2)
    text = desk.get(page(order)).content.decode()
    for words in (
        "Duty, each pump",
        "Voyage",
        "Worked back from the date on site",
        "Worked forth from the forecast",
        "Published dates beside the forecast",
        "Open holds",
        f"{order.number}-1-02",
        "Mechanical seals",
        "None was found.",
        "What sets the forecast",
        "A release is not a permit",
    ):
        assert words in text
    assert "<style" not in text and "style=" not in text


def test_the_first_line_says_when_work_should_have_begun(desk: Client) -> None:
    late, easy = ordered(on_site_on=TIGHT), ordered()
    said = "Work on this order should have begun on"
    text = desk.get(page(late)).content.decode()
    assert said in text
    assert text.index(said) < text.index("Items and their routes")
    assert said not in desk.get(page(easy)).content.decode()


def test_the_page_asks_the_same_number_of_queries_for_two_items_and_for_four(
    desk: Client, django_assert_num_queries: Any, django_assert_max_num_queries: Any
) -> None:
    def order_of(*quantities: int) -> Order:
        order = enquiry()
        for quantity in quantities:
            pumps(order, quantity)
        return taken(order)

    small, large = order_of(1, 1), order_of(2, 1, 1, 3)
    desk.get(page(small))
    with django_assert_max_num_queries(50) as two:
        desk.get(page(small))
    with django_assert_num_queries(len(two)):
        desk.get(page(large))


def test_an_enquiry_has_a_page_of_its_own(desk: Client) -> None:
    order = enquiry()
    answer = desk.get(page(order))
    assert answer["Location"] == reverse("orders:enquiry", args=[order.number])


def test_spares_held_and_cancelled_orders_have_pages(desk: Client) -> None:
    order = enquiry()
    spares(order, "spares impeller")
    spares(order, "spares shaft")
    taken(order)
    assert "P-IMPELLER" in desk.get(page(order)).content.decode()
    hold_order(order_id=order.pk, reason="payment awaited", by=planner(), at=NOW)
    assert "payment awaited" in desk.get(page(order)).content.decode()
    signed_in(desk, works_manager())
    assert do(desk, order, "cancel", reason="withdrawn", sure="on").status_code == 302
    text = desk.get(page(order)).content.decode()
    assert "cancelled" in text
    assert "Put the order on hold" not in text


def test_an_order_that_is_not_there_is_not_found(desk: Client) -> None:
    assert desk.get(reverse("orders:order", args=["99-999"])).status_code == 404
    order = ordered()
    assert do(desk, order, "explode").status_code == 404


def test_a_viewer_sees_the_order_and_no_forms(client: Client) -> None:
    order = ordered()
    signed_in(client, viewer())
    text = client.get(page(order)).content.decode()
    for words in ("Move a published date", "File a paper", "Make a private link", "Decide"):
        assert words not in text
    assert "1 % a week" not in text
    answer = do(client, order, "hold", reason="why not")
    assert answer.status_code == 403
    order.refresh_from_db()
    assert order.state == "ordered"


def test_hold_and_resume_from_the_page(desk: Client) -> None:
    order = ordered()
    answer = do(desk, order, "hold", reason="payment awaited")
    assert answer["Location"] == f"{page(order)}#decide"
    order.refresh_from_db()
    assert order.state == "on hold"
    assert do(desk, order, "resume").status_code == 302
    order.refresh_from_db()
    assert order.state == "ordered"


@pytest.mark.parametrize(
    ("key", "fields", "sentence"),
    [
        ("hold", {"reason": ""}, "Say why in a few words."),
        ("priority", {"priority": "12", "reason": "r", "version": "2"}, "less than or equal to 9"),
        ("dates", {"promised_on": "2026-01-01", "reason": "kept", "version": "2"}, "date to come"),
        ("dates", {"promised_on": "then", "reason": "kept", "version": "2"}, "such as 2026-03-04"),
        ("publish", {"milestone": "shipped", "on": "", "reason": "r"}, "This field is required"),
        ("deliver", {"ship_by_on": "2026-07-01"}, "Tick at least one unit."),
        ("ship", {"on": "2026-03-04"}, "Tick at least one unit."),
        ("paper", {"title": "T", "kind": "letter"}, "This field is required"),
        ("undeliver", {"delivery": "7"}, "Select a valid choice"),
        ("revoke", {"link": "7"}, "Select a valid choice"),
    ],
)
def test_a_wrong_entry_on_the_page_is_told_and_nothing_happens(
    desk: Client, key: str, fields: dict[str, str], sentence: str
) -> None:
    order = ordered()
    answer = do(desk, order, key, **fields)
    assert answer.status_code == 422
    text = answer.content.decode()
    if key not in {"undeliver", "revoke"}:  # their one field is hidden
        assert sentence in text
    if fields.get("reason") == "kept":
        assert 'value="kept"' in text
    before = order.version
    order.refresh_from_db()
    assert order.version == before


def test_two_people_set_a_priority_and_the_second_is_told(desk: Client) -> None:
    order = ordered()
    seen = order.version
    assert do(desk, order, "priority", priority=5, reason="rush", version=seen).status_code == 302
    answer = do(desk, order, "priority", priority=1, reason="my reason", version=seen)
    assert answer.status_code == 409
    assert "Nothing was overwritten" in answer.content.decode()
    assert 'value="my reason"' in answer.content.decode()
    order.refresh_from_db()
    assert order.priority == 5


def test_two_people_move_a_published_date_and_the_second_is_told(desk: Client) -> None:
    order = ordered()
    item = only_item(order)
    seen = item.published_dates.order_by("-pk")[0].pk
    fields = {"item": item.pk, "milestone": "shipped", "on": "2026-08-18", "seen": seen}
    publish_date(
        item_id=item.pk,
        milestone="shipped",
        on=TODAY + timedelta(days=170),
        reason="theirs",
        by=planner(),
        at=NOW,
    )
    answer = do(desk, order, "publish", reason="mine", **fields)
    assert answer.status_code == 409
    newest = item.published_dates.order_by("-pk")[0]
    assert newest.reason == "theirs"
    fields["seen"] = newest.pk
    assert do(desk, order, "publish", reason="mine", **fields).status_code == 302
    text = desk.get(page(order)).content.decode()
    assert "moved 2 times" in text


def test_part_deliveries_are_planned_and_taken_back_from_the_page(desk: Client) -> None:
    order = ordered(quantity=2)
    unit = order.items.get().route.units.get(number=1)
    answer = do(desk, order, "deliver", units=unit.pk, ship_by_on="2026-07-14", note="first")
    assert answer.status_code == 302
    delivery = Delivery.objects.get()
    assert "first" in desk.get(page(order)).content.decode()
    assert do(desk, order, "undeliver", delivery=delivery.pk).status_code == 302
    assert not delivery.units.exists()


def test_a_unit_with_work_open_is_not_shipped_and_the_page_says_what_lacks(desk: Client) -> None:
    order = ordered()
    unit = order.items.get().route.units.get()
    answer = do(desk, order, "ship", units=unit.pk, on="2026-03-04")
    assert answer.status_code == 409
    assert "may not ship" in answer.content.decode()


def test_a_status_report_is_asked_for_once_and_drawn_by_the_worker(desk: Client) -> None:
    order = ordered()
    assert do(desk, order, "report").status_code == 302
    assert do(desk, order, "report").status_code == 302
    job = Job.objects.get()
    assert "being drawn" in desk.get(page(order)).content.decode()
    expand()
    (errand,) = Errand.objects.filter(task="orders.tasks.issue_report")
    issue_report(errand.pk)
    issue_report(errand.pk)
    job.refresh_from_db()
    assert (job.state, job.result) == ("done", {"report": 1})
    report = order.status_reports.get()
    assert report.by == job.asked_by
    part = desk.get(reverse("orders:order_reports", args=[order.number])).content.decode()
    assert "Status report 1 (PDF)" in part
    assert "hx-trigger" not in part


def test_a_report_that_somebody_stopped_is_not_drawn(desk: Client) -> None:
    order = ordered()
    do(desk, order, "report")
    Job.objects.update(cancel_asked=True)
    expand()
    issue_report(Errand.objects.get(task="orders.tasks.issue_report").pk)
    assert Job.objects.get().state == "cancelled"
    assert not order.status_reports.exists()


def test_a_link_is_shown_once_and_withdrawn(desk: Client) -> None:
    order = ordered()
    address = reverse("orders:new_link", args=[order.number])
    wrong = desk.post(address, {"link-until": "2031-01-01"})
    assert wrong.status_code == 422
    assert "two years ahead" in wrong.content.decode()
    answer = desk.post(address, {"link-until": "2026-06-30", "link-may_answer": "on"})
    assert answer.status_code == 200
    assert "http://testserver/c/" in answer.content.decode()
    assert "no-store" in answer["Cache-Control"]
    made = CustomerLink.objects.get()
    assert made.may_answer
    assert made.expires_at.isoformat() == "2026-06-30T23:00:00+00:00"  # midnight in Lisbon
    assert "/c/" not in desk.get(page(order)).content.decode()
    assert do(desk, order, "revoke", link=made.pk).status_code == 302
    made.refresh_from_db()
    assert made.revoked_at is not None


def test_every_deed_of_the_table_has_its_form_on_the_page(desk: Client) -> None:
    order = ordered(quantity=2)
    unit = order.items.get().route.units.get(number=1)
    do(desk, order, "deliver", units=unit.pk, ship_by_on="2026-07-14")
    desk.post(reverse("orders:new_link", args=[order.number]), {"link-until": "2026-06-30"})
    signed_in(desk, works_manager())
    text = desk.get(page(order)).content.decode()
    hold_order(order_id=order.pk, reason="payment awaited", by=planner(), at=NOW)
    text += desk.get(page(order)).content.decode()
    for key in DEEDS:
        assert reverse("orders:order_deed", args=[order.number, key]) in text, key


def test_a_change_is_proposed_shown_and_accepted_from_the_pages(desk: Client) -> None:
    order = ordered()
    item = only_item(order)
    packed = choice(item.study, sealing="packing", flush_plan="", seal_static_limit_pa=None)
    address = reverse("orders:new_change", args=[item.pk])
    assert desk.get(address).status_code == 200
    form = desk.get(address).context["form"]
    fields = {
        name: value
        for name, value in ((field.name, field.value()) for field in form)
        if value not in (None, False)
    }
    wrong = desk.post(address, fields | {"what": "", "quantity": "3"})
    assert wrong.status_code == 422
    assert "This field is required" in wrong.content.decode()
    wrong = desk.post(address, fields | {"what": "nothing really"})
    assert wrong.status_code == 422
    assert "as it is: give another quantity" in wrong.content.decode()
    wrong = desk.post(address, fields | {"what": "w", "shelf_casings": "one"})
    assert wrong.status_code == 422
    assert "Give numbers of units" in wrong.content.decode()
    answer = desk.post(address, fields | {"what": "letter of 3 March", "choice": packed.pk})
    change = Change.objects.get()
    assert answer["Location"] == reverse("orders:change", args=[change.pk])
    text = desk.get(answer["Location"]).content.decode()
    assert "Gland packing" in text
    assert "Seal leakage test" in text
    assert "Leakage of the mechanical seals" in text
    assert "Accept the change" in text
    refused = desk.post(reverse("orders:refuse_change", args=[change.pk]), {"reason": ""})
    assert refused.status_code == 422
    accepted = desk.post(reverse("orders:accept_change", args=[change.pk]))
    assert accepted["Location"] == f"{page(order)}#changes"
    again = desk.post(reverse("orders:accept_change", args=[change.pk]))
    assert again.status_code == 409
    assert "is accepted already" in again.content.decode()
    assert "revision 2" in desk.get(page(order)).content.decode()


def test_who_may_not_accept_is_not_offered_it(client: Client) -> None:
    order = ordered()
    change = propose_change(
        item_id=only_item(order).pk,
        what="two more",
        quantity=3,
        today=TODAY,
        by=engineer(),
        at=NOW,
    )
    signed_in(client, engineer())
    text = client.get(reverse("orders:change", args=[change.pk])).content.decode()
    assert "Accept the change" not in text
    assert client.post(reverse("orders:accept_change", args=[change.pk])).status_code == 403
    answer = client.post(reverse("orders:refuse_change", args=[change.pk]), {"reason": "withdrawn"})
    assert answer.status_code == 302
