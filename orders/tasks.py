"""Jobs of the orders: each fetches the newest state, calls one action, and may run twice."""

from celery import shared_task
from django.utils import timezone

from orders.actions import alerts, reports
from orders.facts import Fact
from orders.models import Order
from quality.facts import Fact as Quality
from schedule.facts import Fact as Schedule
from works.jobs import running
from works.models import Event, Job
from works.outbox import answers


@shared_task(name="orders.tasks.review_alerts")
def review_alerts() -> int:
    """Raise, escalate and close every order's alerts: days went by even where nobody acted."""
    return alerts.review(at=timezone.now())


@answers(
    Schedule.FORECAST_MOVED,
    Schedule.PROGRESS_REPORTED,
    Schedule.REPORT_CORRECTED,
    Schedule.ELAPSED_PASSED,
    Schedule.GATES_OPENED,
    Schedule.GATE_CLEARED,
    Schedule.GATE_PASSED_AT_RISK,
    Schedule.GATE_WITHDRAWN,
    Schedule.GATE_RELEASE_EXPECTED,
    Schedule.PART_ORDERED,
    Schedule.PART_PROMISED,
    Schedule.PART_ARRIVED,
    Schedule.PIECE_SCRAPPED,
    Schedule.ROUTE_REGROWN,
    Schedule.DUE_SET,
    Schedule.UNIT_DUE_SET,
    Schedule.PUBLISHED_SET,
    Schedule.UNITS_SHIPPED,
    Quality.VISIT_PLANNED,
    Quality.VISIT_MOVED,
    Quality.VISIT_CANCELLED,
    Quality.POINT_RELEASED,
    Quality.POINT_WAIVED,
    Fact.ORDER_TAKEN,
    Fact.ORDER_HELD,
    Fact.ORDER_RESUMED,
    Fact.ORDER_CANCELLED,
    Fact.ORDER_SHIPPED,
    Fact.DATES_SET,
)
def review_order(event: Event) -> None:
    """Something moved a route or an order: bring that order's alerts to what is so now."""
    order_ids = orders_of(event)
    if order_ids:
        alerts.review(order_ids=order_ids, at=timezone.now())


def orders_of(event: Event) -> list[int]:
    """Orders that an event touches, by its thing or by the route that it names."""
    if event.about_kind == "orders.order":
        return [event.about_id]
    routes = {event.after.get("route"), event.before.get("route")} - {None}
    if event.about_kind == "schedule.route":
        routes.add(event.about_id)
    if event.about_kind == "quality.visit":
        return list(
            Order.objects.filter(items__route__visits=event.about_id)
            .distinct()
            .values_list("pk", flat=True)
        )
    if event.about_kind == "quality.inspectionpoint":
        return list(
            Order.objects.filter(items__inspection_plan__points=event.about_id)
            .distinct()
            .values_list("pk", flat=True)
        )
    return list(
        Order.objects.filter(items__route__in=routes).distinct().values_list("pk", flat=True)
    )


@answers(Fact.REPORT_ASKED)
def issue_report(event: Event) -> None:
    """Draw the status report that somebody asked for."""
    job = Job.objects.select_for_update().get(pk=event.about_id)
    if not job.is_open:  # stopped before its turn came
        return
    if job.cancel_asked:
        Job.objects.filter(pk=job.pk).update(state=Job.State.CANCELLED, ended_at=timezone.now())
        return
    with running(job):
        report = reports.issue_status_report(
            order_id=event.after["order"], by=job.asked_by, at=timezone.now()
        )
        Job.objects.filter(pk=job.pk).update(
            phase=f"report {report.number} issued", result={"report": report.number}
        )


@shared_task(name="orders.tasks.issue_weekly_reports")
def issue_weekly_reports() -> int:
    """Issue each order's weekly report, unless it has one of today already."""
    return reports.issue_weekly_reports(at=timezone.now())
