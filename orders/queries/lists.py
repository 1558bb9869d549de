"""Lists: all orders, enquiries, customers, open alerts."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, Min, Q, QuerySet
from django.db.models.functions import Coalesce
from django.utils import timezone

from orders.facts import Fact
from orders.models import Customer, Order
from works.models import Alert, Event

ORDER_SORTS = {
    "number": ("number",),
    "customer": ("customer__name", "number"),
    "ship_by": ("ship_by_on", "number"),
    "on_site": ("on_site_on", "number"),
    "state": ("state", "number"),
    "hand": ("hand", "number"),
}


def orders_list(
    *, text: str = "", state: str = "", customer_id: int | None = None, sort: str = "-number"
) -> QuerySet[Order]:
    """Orders and enquiries by what is asked for; `hand` is the fewest days in hand."""
    found = Order.objects.select_related("customer").annotate(
        hand=Min("items__route__days_in_hand"),
        units=Coalesce(Count("items__route__units", distinct=True), 0),
    )
    if state:
        found = found.filter(state=state)
    if customer_id is not None:
        found = found.filter(customer_id=customer_id)
    for word in text.split():
        found = found.filter(
            Q(number__icontains=word)
            | Q(customer__name__icontains=word)
            | Q(project__icontains=word)
            | Q(customer_reference__icontains=word)
            | Q(items__tag__icontains=word)
            | Q(items__route__units__serial__icontains=word)
        )
    down = "-" if sort.startswith("-") else ""
    keys = ORDER_SORTS.get(sort.removeprefix("-"), ORDER_SORTS["number"])
    return found.order_by(*(f"{down}{key}" for key in keys)).distinct()


@dataclass(frozen=True)
class EnquiryRow:
    """One enquiry that waits for a promise.

    days_old : since it was entered [d]
    missing : what keeps it from being taken in hand
    """

    order: Order
    items: str
    days_old: int
    missing: str
    ship_by_passed: bool


def enquiries(*, today: date) -> tuple[EnquiryRow, ...]:
    """Open enquiries, the nearest ship-by first; three queries."""
    found = Order.objects.enquiries().select_related("customer").prefetch_related("items")
    entered = {
        about: timezone.localdate(at)
        for about, at in Event.objects.filter(
            deed=Fact.ENQUIRY_ENTERED, about_kind="orders.order", about_id__in=found.values("pk")
        ).values_list("about_id", "at")
    }
    return tuple(
        EnquiryRow(
            order=order,
            items=", ".join(
                f"{item.quantity} × {item.description or item.get_kind_display()}"
                for item in order.items.all()
            ),
            days_old=(today - entered.get(order.pk, today)).days,
            missing=missing(order),
            ship_by_passed=order.ship_by_on < today,
        )
        for order in found.order_by("ship_by_on", "number")
    )


def missing(order: Order) -> str:
    """What keeps an enquiry from being taken in hand; empty when nothing does."""
    items = list(order.items.all())
    if not items:
        return "an item"
    lacking = [str(item.number) for item in items if item.kind == "pump" and item.choice_id is None]
    return f"a frozen choice of item {', '.join(lacking)}" if lacking else ""


def customers_list() -> QuerySet[Customer]:
    """Customers with what they have in work and what they ask for."""
    return Customer.objects.annotate(
        in_work=Count("orders", filter=Q(orders__state__in=["ordered", "on hold"]), distinct=True),
        asking=Count("orders", filter=Q(orders__state="enquiry"), distinct=True),
        people=Count("contacts", distinct=True),
    ).order_by("name")


def open_alerts(*, rules: Collection[str] = ()) -> QuerySet[Alert]:
    """Open alerts, the most urgent and then the oldest first."""
    found = Alert.objects.open().select_related("acknowledged_by")
    if rules:
        found = found.filter(rule__in=rules)
    return found.order_by("-level", "opened_at", "pk")
