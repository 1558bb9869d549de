"""Enquiries: entered, changed, their items and choices, taken in hand or declined."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from orders.actions import enquiries as deeds
from orders.actions import items as item_deeds
from orders.actions.orders import take_order
from orders.contract import Contract
from orders.errors import NoWay
from orders.forms.enquiry import (
    ChangeItemForm,
    DeclineForm,
    EnquiryForm,
    ItemForm,
    NewEnquiryForm,
    TakeOrderForm,
)
from orders.models import Customer, Item, Order
from orders.queries.lists import missing
from orders.shipping import worked_back
from orders.views.attempts import attempt
from selection.models import Choice
from works.middleware import tell
from works.people import Group, may
from works.queries import history
from works.requests import signed_in


@require_http_methods(["GET", "POST"])
def new_enquiry(request: HttpRequest) -> HttpResponse:
    """Enter what a customer asks for."""
    if request.method == "POST":
        form = NewEnquiryForm(request.POST)
        made, status = attempt(
            form,
            lambda: deeds.enter_enquiry(
                customer_id=form.cleaned_data["customer"].pk,
                contract=form.contract(),
                today=timezone.localdate(),
                by=signed_in(request),
                at=timezone.now(),
                **form.particulars(),
            ),
        )
        if made is not None:
            tell(request, f"Enquiry {made.number} is entered: ship by {made.ship_by_on}.")
            return redirect("orders:enquiry", number=made.number)
    else:
        form, status = NewEnquiryForm(initial={"customer": request.GET.get("customer")}), 200
    context = {"form": form, "no_customers": not Customer.objects.exists()}
    return render(request, "orders/new_enquiry.html", context, status=status)


@require_http_methods(["GET", "POST"])
def enquiry(request: HttpRequest, number: str) -> HttpResponse:
    """An enquiry: its particulars, items and choices, and what may become of it."""
    order = _order(number)
    if order.state not in {Order.State.ENQUIRY, Order.State.DECLINED}:
        return redirect("orders:order", number=number)
    if request.method != "POST":
        return _page(request, order)
    form = _particulars(order, request.POST)
    changed, status = attempt(
        form,
        lambda: deeds.change_enquiry(
            order_id=order.pk,
            version=form.cleaned_data["version"],
            fields={**form.particulars(), "contract": form.contract()},
            today=timezone.localdate(),
            by=signed_in(request),
            at=timezone.now(),
        ),
    )
    if changed is not None:
        tell(request, f"Enquiry {number} is changed: ship by {changed.ship_by_on}.")
        return redirect("orders:enquiry", number=number)
    return _page(request, _order(number), {"particulars": form}, status=status)


@require_POST
def add_item(request: HttpRequest, number: str) -> HttpResponse:
    """Add a line."""
    form = ItemForm(request.POST, prefix="item")
    return _do(
        request,
        number,
        "item",
        form,
        lambda order: item_deeds.add_item(
            order_id=order.pk,
            kind=form.cleaned_data["kind"],
            quantity=form.cleaned_data["quantity"],
            tag=form.cleaned_data["tag"],
            description=form.cleaned_data["description"],
            spare_for=form.spare_for(),
            by=signed_in(request),
            at=timezone.now(),
        ),
        lambda item: f"Item {item.number} is added.",
    )


@require_http_methods(["GET", "POST"])
def change_item(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a line of an enquiry."""
    item = get_object_or_404(Item.objects.select_related("order"), pk=pk)
    form = ChangeItemForm(request.POST or None, item=item)
    status = 200
    if request.method == "POST":
        changed, status = attempt(
            form,
            lambda: item_deeds.change_item(
                item_id=pk,
                version=form.cleaned_data["version"],
                quantity=form.cleaned_data["quantity"],
                tag=form.cleaned_data["tag"],
                description=form.cleaned_data["description"],
                spare_for=None if item.kind == Item.Kind.PUMP else form.spare_for(),
                by=signed_in(request),
                at=timezone.now(),
            ),
        )
        if changed is not None:
            tell(request, f"Item {changed.number} is changed.")
            return redirect("orders:enquiry", number=item.order.number)
    return render(request, "orders/change_item.html", {"form": form, "item": item}, status=status)


@require_POST
def remove_item(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a line out of an enquiry."""
    order = item_deeds.remove_item(item_id=pk, by=signed_in(request), at=timezone.now())
    tell(request, "The item is taken out.")
    return redirect("orders:enquiry", number=order.number)


@require_POST
def take_choice(request: HttpRequest, pk: int, choice_pk: int) -> HttpResponse:
    """Take a frozen choice for an item."""
    get_object_or_404(Choice, pk=choice_pk)
    item = item_deeds.take_choice(
        item_id=pk, choice_id=choice_pk, by=signed_in(request), at=timezone.now()
    )
    tell(request, f"Item {item.number} takes {item.choice}.")
    return redirect("orders:enquiry", number=item.order.number)


@require_POST
def take(request: HttpRequest, number: str) -> HttpResponse:
    """Turn the enquiry into an order."""
    form = TakeOrderForm(request.POST, prefix="take")
    return _do(
        request,
        number,
        "take",
        form,
        lambda order: take_order(
            order_id=order.pk,
            today=timezone.localdate(),
            by=signed_in(request),
            at=timezone.now(),
            **form.cleaned_data,
        ),
        lambda order: f"Order {order.number} is in work: ship by {order.ship_by_on}.",
    )


@require_POST
def decline(request: HttpRequest, number: str) -> HttpResponse:
    """Say no, or note that the customer did."""
    form = DeclineForm(request.POST, prefix="decline")
    return _do(
        request,
        number,
        "decline",
        form,
        lambda order: deeds.decline_enquiry(
            order_id=order.pk, by=signed_in(request), at=timezone.now(), **form.cleaned_data
        ),
        lambda order: f"Enquiry {order.number} is declined.",
    )


def _do(
    request: HttpRequest,
    number: str,
    key: str,
    form: forms.Form,
    deed: Callable[[Order], Any],
    said: Callable[[Any], str],
) -> HttpResponse:
    order = _order(number)
    done, status = attempt(form, lambda: deed(order))
    if done is None:
        return _page(request, _order(number), {key: form}, status=status)
    tell(request, said(done))
    page = _order(number)
    name = "orders:order" if page.is_in_work else "orders:enquiry"
    return redirect(name, number=number)


def _order(number: str) -> Order:
    return get_object_or_404(
        Order.objects.select_related("customer", "contact", "lane"), number=number
    )


def _particulars(order: Order, data: Any = None) -> EnquiryForm:
    return EnquiryForm(data, order=order, contract=Contract.from_data(order.contract))


def _page(
    request: HttpRequest,
    order: Order,
    bound: dict[str, forms.Form] | None = None,
    *,
    status: int = 200,
) -> HttpResponse:
    items = list(
        order.items.select_related("choice__size", "choice__impeller__size", "study")
        .prefetch_related("study__choices__size", "study__choices__impeller")
        .order_by("number")
    )
    no_way, way = "", None
    try:
        way = worked_back(order.lane, order.on_site_on, now=timezone.now())
    except NoWay as refusal:
        no_way = str(refusal)
    person, is_open = signed_in(request), order.state == Order.State.ENQUIRY
    fresh: dict[str, forms.Form] = {
        "particulars": _particulars(order),
        "item": ItemForm(prefix="item"),
        "take": TakeOrderForm(
            prefix="take",
            initial={
                "promised_on": order.on_site_on,
                "customer_reference": order.customer_reference,
                "version": order.version,
            },
        ),
        "decline": DeclineForm(prefix="decline"),
    }
    context = {
        "order": order,
        "items": items,
        "way": way,
        "no_way": no_way,
        "missing": missing(order),
        "today": timezone.localdate(),
        "forms": fresh | (bound or {}),
        "open": set(bound or {}),
        "may_change": is_open and may(person, Group.APPLICATION_ENGINEER, Group.PLANNER),
        "may_choose": is_open and may(person, Group.APPLICATION_ENGINEER),
        "events": history(order, limit=100),
    }
    return render(request, "orders/enquiry.html", context, status=status)
