"""Pages of enquiries and customers: what was typed comes back with what is wrong."""

from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from orders.actions.enquiries import change_enquiry
from orders.contract import Contract
from orders.models import Contact, Customer, Item, Order
from tests.factories.orders import (
    NOW,
    TODAY,
    choice,
    contact,
    customer,
    engineer,
    enquiry,
    impeller,
    lane,
    ordered,
    planner,
    pumps,
    signed_in,
    viewer,
    whole_works,
)

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_now() -> Iterator[None]:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def desk(client: Client) -> Client:
    """An application engineer at the desk."""
    return signed_in(client, engineer())


def typed(**changes: Any) -> dict[str, Any]:
    """The form of a new enquiry, filled in."""
    terms = {
        name: value
        for name, value in Contract().as_data().items()
        if value is not False  # a box left unticked is not sent
    }
    return {
        "customer": customer().pk,
        "customer_reference": "RFQ 12/7",
        "project": "Dune Bay transfer",
        "delivery_term": "CIF",
        "destination": "Walvis Bay",
        "lane": lane().pk,
        "on_site_on": "2026-09-18",
        "priority": "3",
        "value_eur": "",
        "penalty": "",
        "note": "",
        **terms,
        **changes,
    }


def test_an_enquiry_is_entered_with_its_ship_by(desk: Client) -> None:
    whole_works()
    assert desk.get(reverse("orders:new_enquiry")).status_code == 200
    answer = desk.post(reverse("orders:new_enquiry"), typed(grade="1B", third_party_inspects="on"))
    order = Order.objects.get()
    assert answer.status_code == 302
    assert answer["Location"] == reverse("orders:enquiry", args=[order.number])
    assert (order.project, order.priority) == ("Dune Bay transfer", 3)
    assert (order.contract["grade"], order.contract["third_party_inspects"]) == ("1B", True)
    page = desk.get(answer["Location"]).content.decode()
    assert "Voyage" in page and "2026-08-11" in page


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("on_site_on", "2026-01-02", "give a date to come"),
        ("on_site_on", "soon", "such as 2026-03-04"),
        ("priority", "12", "less than or equal to 9"),
        ("priority", "high", "Enter a whole number"),
        ("value_eur", "-5", "greater than or equal to 0"),
        ("delivery_term", "XYZ", "Select a valid choice"),
        ("lane", "99999", "Select a valid choice"),
        ("destination", "", "This field is required"),
        ("approval_rounds", "99", "less than or equal to 9"),
        ("notice_days", "-1", "greater than or equal to 0"),
    ],
)
def test_a_wrong_entry_comes_back_with_everything_typed(
    desk: Client, field: str, value: str, sentence: str
) -> None:
    whole_works()
    answer = desk.post(
        reverse("orders:new_enquiry"), typed(project="Kept “as typed” & <so>", **{field: value})
    )
    text = answer.content.decode()
    assert answer.status_code == 422
    assert sentence in text
    assert "Kept “as typed” &amp; &lt;so&gt;" in text
    assert not Order.objects.exists()


def test_a_contact_of_another_customer_is_refused(desk: Client) -> None:
    whole_works()
    stranger = contact(customer("Fjellvik Kraftlag", "NO"))
    answer = desk.post(reverse("orders:new_enquiry"), typed(contact=stranger))
    assert answer.status_code == 422
    assert "is at Fjellvik Kraftlag: choose somebody at" in answer.content.decode()


def test_a_hold_by_witness_without_a_witness_is_refused(desk: Client) -> None:
    whole_works()
    form = typed(witness_is_hold="on")
    del form["witnessed_pressure_test"], form["witnessed_performance_test"]
    answer = desk.post(reverse("orders:new_enquiry"), form)
    assert answer.status_code == 422
    assert "No test is witnessed" in answer.content.decode()


def test_a_viewer_may_look_and_is_told_why_not_to_enter(client: Client) -> None:
    whole_works()
    signed_in(client, viewer())
    assert client.get(reverse("orders:enquiries")).status_code == 200
    answer = client.post(reverse("orders:new_enquiry"), typed())
    assert answer.status_code == 403
    assert "may not enter an enquiry: that needs" in answer.content.decode()
    assert "Dune Bay transfer" in answer.content.decode()


def test_strangers_are_asked_to_sign_in(client: Client) -> None:
    order = enquiry()
    for address in (
        reverse("orders:enquiries"),
        reverse("orders:enquiry", args=[order.number]),
        reverse("orders:orders"),
        reverse("orders:order", args=[order.number]),
        reverse("orders:customers"),
        reverse("orders:customer", args=[order.customer_id]),
    ):
        answer = client.get(address)
        assert answer.status_code == 302
        assert "/login/" in answer["Location"]


def test_the_list_says_what_an_enquiry_still_needs(desk: Client) -> None:
    empty, chosen = enquiry(), enquiry()
    pumps(chosen)
    text = desk.get(reverse("orders:enquiries")).content.decode()
    assert "needs an item" in text
    assert "waits for a promise" in text
    assert empty.number in text


def test_enquiries_are_listed_in_a_constant_number_of_queries(
    desk: Client, django_assert_num_queries: Any, django_assert_max_num_queries: Any
) -> None:
    pumps(enquiry())
    with django_assert_max_num_queries(12) as one:
        desk.get(reverse("orders:enquiries"))
    pumps(enquiry())
    pumps(enquiry())
    with django_assert_num_queries(len(one)):
        desk.get(reverse("orders:enquiries"))


def test_an_item_is_added_changed_and_taken_out(desk: Client) -> None:
    order = enquiry()
    page = reverse("orders:enquiry", args=[order.number])
    answer = desk.post(
        reverse("orders:add_item", args=[order.number]),
        {"item-kind": "pump", "item-quantity": "3", "item-tag": "P-101"},
    )
    assert answer.status_code == 302
    item = Item.objects.get()
    assert (item.quantity, item.tag) == (3, "P-101")
    assert item.study is not None
    assert reverse("selection:study", args=[item.study.pk]) in desk.get(page).content.decode()
    change = reverse("orders:change_item", args=[item.pk])
    assert desk.get(change).status_code == 200
    answer = desk.post(change, {"quantity": "4", "tag": "P-102", "version": item.version})
    assert answer.status_code == 302
    answer = desk.post(change, {"quantity": "9", "tag": "mine", "version": item.version})
    assert answer.status_code == 409
    assert "Nothing was overwritten" in answer.content.decode()
    assert 'value="mine"' in answer.content.decode()
    desk.post(reverse("orders:remove_item", args=[item.pk]))
    assert not Item.objects.exists()


def test_spares_without_their_pattern_are_refused_with_what_was_typed(desk: Client) -> None:
    order = enquiry()
    impeller()
    fields = {"item-kind": "spares impeller", "item-quantity": "1", "item-pump": "TB 250, 19-033"}
    answer = desk.post(reverse("orders:add_item", args=[order.number]), fields)
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "number of an impeller pattern of the register" in text
    assert 'value="TB 250, 19-033"' in text
    fields |= {
        "item-impeller_pattern": "P-IMPELLER",
        "item-impeller_metal": "CC491K",
        "item-rotation": "clockwise",
    }
    assert desk.post(reverse("orders:add_item", args=[order.number]), fields).status_code == 302
    assert Item.objects.get().spare_for["pattern_work"] == "none"


def test_a_frozen_choice_is_taken_from_the_page(desk: Client) -> None:
    order = enquiry()
    item = pumps(order)
    other = choice(item.study, impeller_metal="CC333G")
    text = desk.get(reverse("orders:enquiry", args=[order.number])).content.decode()
    address = reverse("orders:take_choice", args=[item.pk, other.pk])
    assert address in text
    assert desk.post(address).status_code == 302
    item.refresh_from_db()
    assert item.choice == other


def test_an_enquiry_is_taken_in_hand_and_its_page_leads_to_the_order(desk: Client) -> None:
    order = enquiry()
    pumps(order)
    fields = {
        "take-promised_on": "2026-09-18",
        "take-customer_reference": "PO 99",
        "take-version": order.version,
    }
    answer = desk.post(reverse("orders:take_order", args=[order.number]), fields)
    assert answer["Location"] == reverse("orders:order", args=[order.number])
    order.refresh_from_db()
    assert (order.state, order.customer_reference) == ("ordered", "PO 99")
    assert desk.get(reverse("orders:enquiry", args=[order.number])).status_code == 302


def test_taking_in_hand_without_a_choice_says_what_is_missing(desk: Client) -> None:
    order = enquiry()
    desk.post(
        reverse("orders:add_item", args=[order.number]),
        {"item-kind": "pump", "item-quantity": "1"},
    )
    fields = {
        "take-promised_on": "2026-09-25",
        "take-customer_reference": "PO 99",
        "take-version": order.version,
    }
    answer = desk.post(reverse("orders:take_order", args=[order.number]), fields)
    text = answer.content.decode()
    assert answer.status_code == 409
    assert "has no frozen choice yet" in text
    assert 'value="PO 99"' in text and 'value="2026-09-25"' in text


def test_two_people_at_one_enquiry_the_second_is_told(desk: Client) -> None:
    order = enquiry()
    change_enquiry(
        order_id=order.pk,
        version=order.version,
        fields={"project": "Theirs"},
        today=TODAY,
        by=planner(),
        at=NOW,
    )
    fields = typed(project="Mine", version=order.version)
    answer = desk.post(reverse("orders:enquiry", args=[order.number]), fields)
    text = answer.content.decode()
    assert answer.status_code == 409
    assert "was changed by somebody else meanwhile" in text
    assert 'value="Mine"' in text
    order.refresh_from_db()
    assert order.project == "Theirs"


def test_particulars_are_changed_on_the_page(desk: Client) -> None:
    order = enquiry()
    fields = typed(project="Mine", on_site_on="2026-10-02", version=order.version)
    answer = desk.post(reverse("orders:enquiry", args=[order.number]), fields)
    assert answer.status_code == 302
    order.refresh_from_db()
    assert (order.project, order.ship_by_on) == ("Mine", date(2026, 8, 25))


def test_an_enquiry_is_declined_on_the_page_with_a_reason(desk: Client) -> None:
    order = enquiry()
    address = reverse("orders:decline", args=[order.number])
    assert desk.post(address, {"decline-reason": ""}).status_code == 422
    assert desk.post(address, {"decline-reason": "too small for us"}).status_code == 302
    text = desk.get(reverse("orders:enquiry", args=[order.number])).content.decode()
    assert "Declined" in text and "too small for us" in text
    assert "Take the order in hand" not in text


def test_an_enquiry_that_is_not_there_is_not_found(desk: Client) -> None:
    assert desk.get(reverse("orders:enquiry", args=["99-999"])).status_code == 404


def test_orders_are_found_by_word_state_and_serial_number(desk: Client) -> None:
    mine = ordered(project="Tunnel 5")
    other = enquiry(of=customer("Aguas del Quillango", "CL"))

    def found(**query: str) -> str:
        return desk.get(reverse("orders:orders"), query).content.decode()

    assert mine.number in found() and other.number in found()
    assert other.number not in found(text="tunnel")
    assert mine.number not in found(state="enquiry")
    assert mine.number in found(text=f"{mine.number}-1-01")
    assert "No order is like that." in found(text="nobody ordered this")
    assert desk.get(reverse("orders:orders"), {"state": "lost"}).status_code == 422


def test_a_customer_is_added_changed_and_has_people(desk: Client) -> None:
    assert "No customer yet." in desk.get(reverse("orders:customers")).content.decode()
    answer = desk.post(reverse("orders:new_customer"), {"name": "Kaldvere", "country": "ee"})
    who = Customer.objects.get()
    assert answer["Location"] == reverse("orders:customer", args=[who.pk])
    assert who.country == "EE"
    wrong = desk.post(reverse("orders:new_customer"), {"name": "Kaldvere", "country": "EE"})
    assert wrong.status_code == 422
    assert "already exists" in wrong.content.decode()
    wrong = desk.post(reverse("orders:new_customer"), {"name": "Kept", "country": "Estonia"})
    assert wrong.status_code == 422
    assert 'value="Kept"' in wrong.content.decode()
    page = reverse("orders:customer", args=[who.pk])
    changed = desk.post(page, {"name": "Kaldvere Veevärk", "country": "EE", "note": "hurried"})
    assert changed.status_code == 302
    people = reverse("orders:new_contact", args=[who.pk])
    assert desk.post(people, {"name": "Liis", "email": "no mail"}).status_code == 422
    assert desk.post(people, {"name": "Liis", "email": "liis@example.org"}).status_code == 302
    somebody = Contact.objects.get()
    one = reverse("orders:contact", args=[somebody.pk])
    assert desk.get(one).status_code == 200
    assert desk.post(one, {"name": "Liis Õunapuu", "email": ""}).status_code == 302
    assert "Liis Õunapuu" in desk.get(page).content.decode()


def test_a_viewer_reads_customers_and_changes_none(client: Client) -> None:
    who = customer()
    signed_in(client, viewer())
    page = client.get(reverse("orders:customer", args=[who.pk])).content.decode()
    assert "Particulars" not in page
    answer = client.post(reverse("orders:new_customer"), {"name": "X", "country": "NA"})
    assert answer.status_code == 403
