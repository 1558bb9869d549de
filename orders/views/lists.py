"""Lists: all orders, enquiries, open alerts."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from orders.actions import alerts
from orders.alert_rules import TITLES
from orders.forms.board import OrdersFilter
from orders.queries.lists import enquiries, open_alerts, orders_list
from works.middleware import tell
from works.people import Group, may
from works.requests import signed_in

PAGE = 50


@require_GET
def orders(request: HttpRequest) -> HttpResponse:
    """Every order and enquiry, whatever became of it."""
    form = OrdersFilter(request.GET)
    sort = request.GET.get("sort", "-number")
    is_right = form.is_valid()
    cleaned = form.cleaned_data if is_right else {}
    customer = cleaned.get("customer")
    found = orders_list(
        text=cleaned.get("text", ""),
        state=cleaned.get("state", ""),
        customer_id=customer.pk if customer else None,
        sort=sort,
    )
    page = Paginator(found, PAGE).get_page(request.GET.get("page"))
    context = {"form": form, "page": page, "sort": sort}
    return render(request, "orders/orders.html", context, status=200 if is_right else 422)


@require_GET
def enquiries_page(request: HttpRequest) -> HttpResponse:
    """Enquiries that wait for a promise."""
    person = signed_in(request)
    context = {
        "rows": enquiries(today=timezone.localdate()),
        "may_enter": may(person, Group.APPLICATION_ENGINEER, Group.PLANNER),
    }
    return render(request, "orders/enquiries.html", context)


@require_GET
def alerts_page(request: HttpRequest) -> HttpResponse:
    """Open alerts, the most urgent first."""
    rule = request.GET.get("rule", "")
    found = [(alert, _title(alert.rule)) for alert in open_alerts(rules=[rule] if rule else ())]
    context = {
        "alerts": found,
        "count": len(found),
        "rules": sorted(
            {(rule, _title(rule)) for rule in open_alerts().values_list("rule", flat=True)},
            key=lambda pair: pair[1],
        ),
        "rule": rule,
        "may_acknowledge": not _only_looks(request),
        "now": timezone.now(),
    }
    return render(request, "orders/alerts.html", context)


@require_POST
def acknowledge(request: HttpRequest, pk: int) -> HttpResponse:
    """Say that one has seen an alert and deals with it."""
    alert = alerts.acknowledge(alert_id=pk, by=signed_in(request), at=timezone.now())
    tell(request, f"Seen: {alert.sentence}")
    return redirect("orders:alerts")


def _title(rule: str) -> str:
    """The rule in words; other apps' rules say theirs in their key."""
    return TITLES.get(rule, rule.partition(".")[2].capitalize() or rule)


def _only_looks(request: HttpRequest) -> bool:
    return not may(
        signed_in(request),
        Group.PLANNER,
        Group.APPLICATION_ENGINEER,
        Group.BUYER,
        Group.SUPERVISOR,
        Group.QUALITY_ENGINEER,
    )
