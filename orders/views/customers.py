"""Customers and the people there."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from orders.actions import customers as deeds
from orders.forms.customers import ContactForm, CustomerForm
from orders.models import Contact, Customer
from orders.queries.lists import customers_list, orders_list
from orders.views.attempts import attempt
from works.middleware import tell
from works.people import Group, may
from works.queries import history
from works.requests import signed_in


@require_GET
def customers(request: HttpRequest) -> HttpResponse:
    context = {"customers": customers_list(), "may_add": _may(request)}
    return render(request, "orders/customers.html", context)


@require_http_methods(["GET", "POST"])
def new_customer(request: HttpRequest) -> HttpResponse:
    form = CustomerForm(request.POST or None)
    if request.method == "POST":
        made, status = attempt(
            form,
            lambda: deeds.add_customer(
                by=signed_in(request), at=timezone.now(), **form.cleaned_data
            ),
        )
        if made is not None:
            tell(request, f"{made} is in the book.")
            return redirect("orders:customer", pk=made.pk)
        return render(request, "orders/new_customer.html", {"form": form}, status=status)
    return render(request, "orders/new_customer.html", {"form": form})


@require_http_methods(["GET", "POST"])
def customer(request: HttpRequest, pk: int) -> HttpResponse:
    """A customer's particulars, people and orders."""
    who = get_object_or_404(Customer, pk=pk)
    initial = {"name": who.name, "country": who.country, "note": who.note}
    form = CustomerForm(request.POST or None, initial=initial)
    if request.method == "POST":
        changed, status = attempt(
            form,
            lambda: deeds.change_customer(
                customer_id=pk, by=signed_in(request), at=timezone.now(), **form.cleaned_data
            ),
        )
        if changed is not None:
            tell(request, f"{changed} is changed.")
            return redirect("orders:customer", pk=pk)
        return _page(request, who, form, ContactForm(), status=status)
    return _page(request, who, form, ContactForm())


@require_POST
def new_contact(request: HttpRequest, pk: int) -> HttpResponse:
    """Add somebody at a customer's."""
    who = get_object_or_404(Customer, pk=pk)
    form = ContactForm(request.POST)
    made, status = attempt(
        form,
        lambda: deeds.add_contact(
            customer_id=pk, by=signed_in(request), at=timezone.now(), **form.cleaned_data
        ),
    )
    if made is not None:
        tell(request, f"{made} is added.")
        return redirect("orders:customer", pk=pk)
    initial = {"name": who.name, "country": who.country, "note": who.note}
    return _page(request, who, CustomerForm(initial=initial), form, status=status)


@require_http_methods(["GET", "POST"])
def contact(request: HttpRequest, pk: int) -> HttpResponse:
    """Change somebody's particulars."""
    who = get_object_or_404(Contact.objects.select_related("customer"), pk=pk)
    initial = {"name": who.name, "email": who.email, "is_inspector": who.is_inspector}
    form = ContactForm(request.POST or None, initial=initial)
    status = 200
    if request.method == "POST":
        changed, status = attempt(
            form,
            lambda: deeds.change_contact(
                contact_id=pk, by=signed_in(request), at=timezone.now(), **form.cleaned_data
            ),
        )
        if changed is not None:
            tell(request, f"{changed} is changed.")
            return redirect("orders:customer", pk=who.customer_id)
    return render(request, "orders/contact.html", {"form": form, "who": who}, status=status)


def _may(request: HttpRequest) -> bool:
    return may(signed_in(request), Group.APPLICATION_ENGINEER, Group.PLANNER)


def _page(
    request: HttpRequest,
    who: Customer,
    form: CustomerForm,
    contact_form: ContactForm,
    *,
    status: int = 200,
) -> HttpResponse:
    context = {
        "customer": who,
        "contacts": who.contacts.all(),
        "orders": orders_list(customer_id=who.pk),
        "form": form,
        "contact_form": contact_form,
        "may_change": _may(request),
        "events": history(who, limit=50),
    }
    return render(request, "orders/customer.html", context, status=status)
