"""The deeds that an order's page offers: a table of forms and what each does.

To offer another one, write its form in `orders.forms.order`, add a line to `DEEDS` and show
`forms.KEY` on the page.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django import forms
from django.http import HttpRequest
from django.utils import timezone

from orders.actions import deliveries, links, orders, papers, published, reports
from orders.forms import order as f
from orders.queries.order import OrderView
from works.models import Person

Do = Callable[[OrderView, Any, Person, datetime], str]


@dataclass(frozen=True)
class Deed:
    """One deed.

    make : its form, unbound with None
    do : does it and says what was done
    part : of the page that shows it
    """

    key: str
    make: Callable[[OrderView, HttpRequest | None], forms.Form]
    do: Do
    part: str

    def form(self, view: OrderView, request: HttpRequest | None = None) -> forms.Form:
        return self.make(view, request)


def _data(request: HttpRequest | None) -> Any:
    return request.POST if request is not None else None


def _plain(key: str, form: type[forms.Form]) -> Callable[..., forms.Form]:
    return lambda view, request: form(_data(request), prefix=key)


def _priority(view: OrderView, request: HttpRequest | None) -> forms.Form:
    initial = {"priority": view.order.priority, "version": view.order.version}
    return f.PriorityForm(_data(request), prefix="priority", initial=initial)


def _dates(view: OrderView, request: HttpRequest | None) -> forms.Form:
    initial = {"promised_on": view.order.promised_on, "version": view.order.version}
    return f.DatesForm(_data(request), prefix="dates", initial=initial)


def _publish(view: OrderView, request: HttpRequest | None) -> forms.Form:
    items = [each.item for each in view.items if each.published]
    initial = {"seen": view.last_published}
    return f.PublishForm(_data(request), prefix="publish", items=items, initial=initial)


def _deliver(view: OrderView, request: HttpRequest | None) -> forms.Form:
    together = {unit.pk for each in view.deliveries for unit in each.units.all()}
    free = [unit for unit in view.units_here if unit.pk not in together]
    return f.DeliveryForm(_data(request), prefix="deliver", units=free)


def _undeliver(view: OrderView, request: HttpRequest | None) -> forms.Form:
    deliveries_here = list(view.deliveries)
    return f.DropDeliveryForm(_data(request), prefix="undeliver", deliveries=deliveries_here)


def _revoke(view: OrderView, request: HttpRequest | None) -> forms.Form:
    return f.RevokeForm(_data(request), prefix="revoke", links=list(view.links))


def _ship(view: OrderView, request: HttpRequest | None) -> forms.Form:
    initial = {"on": timezone.localdate(view.now)}
    units = list(view.units_here)
    return f.ShipForm(_data(request), prefix="ship", units=units, initial=initial)


def link_form(view: OrderView, request: HttpRequest | None) -> forms.Form:
    return f.LinkForm(
        _data(request),
        prefix="link",
        contacts=list(view.order.customer.contacts.all()),
        today=timezone.localdate(view.now),
    )


def _paper(view: OrderView, request: HttpRequest | None) -> forms.Form:
    files = request.FILES if request is not None else None
    return f.PaperForm(_data(request), files, prefix="paper")


def _do_hold(view: OrderView, form: Any, by: Person, at: datetime) -> str:
    orders.hold_order(order_id=view.order.pk, by=by, at=at, **form.cleaned_data)
    return f"Order {view.order.number} is on hold; its routes say so to the floor."


def _do_resume(view: OrderView, form: Any, by: Person, at: datetime) -> str:
    orders.resume_order(order_id=view.order.pk, by=by, at=at)
    return f"Order {view.order.number} goes on."


def _do_cancel(view: OrderView, form: Any, by: Person, at: datetime) -> str:
    reason = form.cleaned_data["reason"]
    orders.cancel_order(order_id=view.order.pk, reason=reason, by=by, at=at)
    return f"Order {view.order.number} is cancelled; its castings are on the shelf."


def _do_priority(view: OrderView, form: Any, by: Person, at: datetime) -> str:
    orders.set_priority(order_id=view.order.pk, by=by, at=at, **form.cleaned_data)
    return f"Priority {form.cleaned_data['priority']} is set."


def _do_dates(view: OrderView, form: Any, by: Person, at: datetime) -> str:
    order = orders.set_dates(
        order_id=view.order.pk, today=timezone.localdate(at), by=by, at=at, **form.cleaned_data
    )
    return (
        f"On site {order.on_site_on}, so ship by {order.ship_by_on}. What was published stays "
        "until you move it."
    )


def _do_publish(view: OrderView, form: Any, by: Person, at: datetime) -> str:
    cleaned = form.cleaned_data
    row = published.publish_date(
        item_id=cleaned["item"].pk,
        milestone=cleaned["milestone"],
        on=cleaned["on"],
        reason=cleaned["reason"],
        seen=cleaned["seen"],
        by=by,
        at=at,
    )
    return f"Published: {row.get_milestone_display()} on {row.on}."


def _do_deliver(view: OrderView, form: Any, by: Person, at: datetime) -> str:
    cleaned = form.cleaned_data
    delivery = deliveries.set_delivery(
        order_id=view.order.pk,
        unit_ids=[unit.pk for unit in cleaned["units"]],
        ship_by_on=cleaned["ship_by_on"],
        note=cleaned["note"],
        by=by,
        at=at,
    )
    return f"Delivery {delivery.number} ships by {delivery.ship_by_on}."


def _do_undeliver(view: OrderView, form: Any, by: Person, at: datetime) -> str:
    delivery = form.cleaned_data["delivery"]
    deliveries.drop_delivery(delivery_id=delivery.pk, by=by, at=at)
    return f"Delivery {delivery.number} is taken back; its units ship with the others."


def _do_ship(view: OrderView, form: Any, by: Person, at: datetime) -> str:
    cleaned = form.cleaned_data
    units = [unit.pk for unit in cleaned["units"]]
    order = deliveries.ship(order_id=view.order.pk, unit_ids=units, on=cleaned["on"], by=by, at=at)
    whole = ", the last of the order" if order.state == "shipped" else ""
    return f"{len(units)} shipped on {cleaned['on']}{whole}."


def _do_revoke(view: OrderView, form: Any, by: Person, at: datetime) -> str:
    links.revoke_link(link_id=form.cleaned_data["link"].pk, by=by, at=at)
    return "The link is withdrawn: it leads nowhere any more."


def _do_report(view: OrderView, form: Any, by: Person, at: datetime) -> str:
    reports.ask_report(order_id=view.order.pk, by=by, at=at)
    return "The status report is being drawn; it appears below in a moment."


def _do_paper(view: OrderView, form: Any, by: Person, at: datetime) -> str:
    cleaned = form.cleaned_data
    file = cleaned["file"]
    revision = papers.file_paper(
        order_id=view.order.pk,
        title=cleaned["title"],
        kind=cleaned["kind"],
        file_name=file.name,
        content=file.read(),
        for_customer=cleaned["for_customer"],
        by=by,
        at=at,
    )
    return f"Filed: {revision}."


DEEDS: dict[str, Deed] = {
    deed.key: deed
    for deed in (
        Deed("hold", _plain("hold", f.HoldForm), _do_hold, "decide"),
        Deed("resume", _plain("resume", f.ResumeForm), _do_resume, "decide"),
        Deed("cancel", _plain("cancel", f.CancelForm), _do_cancel, "decide"),
        Deed("priority", _priority, _do_priority, "decide"),
        Deed("dates", _dates, _do_dates, "dates"),
        Deed("publish", _publish, _do_publish, "published"),
        Deed("deliver", _deliver, _do_deliver, "deliveries"),
        Deed("undeliver", _undeliver, _do_undeliver, "deliveries"),
        Deed("ship", _ship, _do_ship, "deliveries"),
        Deed("revoke", _revoke, _do_revoke, "links"),
        Deed("report", _plain("report", f.ReportForm), _do_report, "reports"),
        Deed("paper", _paper, _do_paper, "papers"),
    )
}


def fresh_forms(view: OrderView) -> dict[str, forms.Form]:
    """Every form of the page, as nobody has filled it yet."""
    return {"link": link_form(view, None)} | {key: deed.form(view) for key, deed in DEEDS.items()}
