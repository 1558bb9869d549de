"""An order's page and the deeds asked for there."""

from datetime import datetime, time, timedelta

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from orders.actions.links import make_link
from orders.models import Order
from orders.queries.order import OrderView, order_view
from orders.views.attempts import attempt
from orders.views.order_deeds import DEEDS, fresh_forms, link_form
from works.middleware import tell
from works.models import Site
from works.people import Group, may
from works.queries import history
from works.requests import signed_in


@require_GET
@never_cache
def order(request: HttpRequest, number: str) -> HttpResponse:
    """Everything about one order; an enquiry has a page of its own."""
    found = _order(number)
    if found.state in {Order.State.ENQUIRY, Order.State.DECLINED}:
        return redirect("orders:enquiry", number=number)
    return _page(request, found)


@require_POST
def deed(request: HttpRequest, number: str, key: str) -> HttpResponse:
    """One of the deeds of `DEEDS`; refused, the page comes back with all that was typed."""
    if key not in DEEDS:
        raise Http404(f"No deed {key}")
    found = _order(number)
    now = timezone.now()
    view = order_view(found, now=now)
    wanted = DEEDS[key]
    form = wanted.form(view, request)
    said, status = attempt(form, lambda: wanted.do(view, form, signed_in(request), now))
    if said is None:
        return _page(request, _order(number), {key: form}, status=status)
    tell(request, said)
    return redirect(reverse("orders:order", args=[number]) + f"#{wanted.part}")


@require_POST
@never_cache
def new_link(request: HttpRequest, number: str) -> HttpResponse:
    """Make a private link and show it, this once."""
    found = _order(number)
    view = order_view(found, now=timezone.now())
    form = link_form(view, request)
    made, status = attempt(form, lambda: _made(found, form, request))
    if made is None:
        return _page(request, found, {"link": form}, status=status)
    response = render(request, "orders/link_made.html", {"order": found, "address": made})
    response["Cache-Control"] = "no-store"
    return response


@require_GET
@never_cache
def reports(request: HttpRequest, number: str) -> HttpResponse:
    """The list of status reports, asked for while one is being drawn."""
    found = _order(number)
    context = {"view": order_view(found, now=timezone.now()), "order": found}
    return render(request, "orders/_reports.html", context)


def _made(order: Order, form: forms.Form, request: HttpRequest) -> str:
    cleaned = form.cleaned_data
    contact = cleaned["contact"]
    until = datetime.combine(
        cleaned["until"] + timedelta(days=1), time(), tzinfo=Site.current().zone
    )
    _, secret = make_link(
        order_id=order.pk,
        contact_id=contact.pk if contact else None,
        may_answer=cleaned["may_answer"],
        expires_at=until,
        by=signed_in(request),
        at=timezone.now(),
    )
    return request.build_absolute_uri(reverse("orders:customer_enter", args=[secret]))


def _order(number: str) -> Order:
    return get_object_or_404(
        Order.objects.select_related("customer", "contact", "lane"), number=number
    )


def _page(
    request: HttpRequest,
    found: Order,
    bound: dict[str, forms.Form] | None = None,
    *,
    status: int = 200,
) -> HttpResponse:
    view: OrderView = order_view(found, now=timezone.now())
    person = signed_in(request)
    context = {
        "order": found,
        "view": view,
        "forms": fresh_forms(view) | (bound or {}),
        "open": set(bound or {}),
        "may_plan": may(person, Group.PLANNER),
        "may_engineer": may(person, Group.APPLICATION_ENGINEER, Group.PLANNER),
        "may_ship": may(person, Group.PLANNER, Group.SUPERVISOR),
        "may_file": may(
            person,
            Group.APPLICATION_ENGINEER,
            Group.PLANNER,
            Group.BUYER,
            Group.QUALITY_ENGINEER,
        ),
        "may_manage": may(person, Group.WORKS_MANAGER),
        "events": history(found, limit=100),
    }
    return render(request, "orders/order.html", context, status=status)
