"""Issuing a status report: the read model and its PDF, kept as they were."""

from datetime import datetime

from django.db import transaction

from orders.documents import status_report
from orders.errors import WrongState
from orders.facts import Fact
from orders.models import Order, StatusReport
from orders.queries.order import REPORT_JOB, report_key
from orders.queries.status import status_of
from works import formats, jobs
from works.actions import file_document
from works.events import record
from works.models import Job, Person, Site
from works.people import Group, require

REPORTED = (Order.State.ORDERED, Order.State.ON_HOLD, Order.State.SHIPPED, Order.State.CANCELLED)


@transaction.atomic
def ask_report(*, order_id: int, by: Person, at: datetime) -> Job:
    """Ask for a status report; a second request while one is being drawn is the same job.

    raises : NotAllowed; WrongState for an order that was never in work
    """
    _may(by)
    order = Order.objects.get(pk=order_id)
    _was_in_work(order)
    job, is_new = jobs.ask(REPORT_JOB, key=report_key(order.number), by=by)
    if is_new:
        record(Fact.REPORT_ASKED, about=job, by=by, at=at, after={"order": order.pk})
    return job


@transaction.atomic
def issue_status_report(*, order_id: int, by: Person | None, at: datetime) -> StatusReport:
    """Draw and keep the next report of an order.

    by : None for the weekly issue by the program itself
    raises : NotAllowed; WrongState for an order that was never in work
    """
    if by is not None:
        _may(by)
    order = (
        Order.objects.select_for_update(of=("self",)).select_related("customer").get(pk=order_id)
    )
    _was_in_work(order)
    last = order.status_reports.order_by("-number").first()
    number = last.number + 1 if last else 1
    site = Site.current()
    status = status_of(order, now=at, since=last.at if last else None)
    content = status_report(
        status,
        number=number,
        issued=f"{formats.instant(at, site.zone)}, {by or site.name}",
        is_demonstration=site.is_demonstration,
    )
    paper = file_document(
        about=order,
        kind="status report",
        title=f"Status report {number}",
        file_name=f"{order.number}-status-{number}.pdf",
        content=content,
        content_type="application/pdf",
        for_customer=True,
        by=by,
        at=at,
    )
    report = StatusReport.objects.create(
        order=order, number=number, contents=status.as_data(), paper=paper, by=by, at=at
    )
    record(Fact.REPORT_ISSUED, about=order, by=by, at=at, after={"report": number})
    return report


def issue_weekly_reports(*, at: datetime) -> int:
    """Issue the report of every order in work that has none of today, each by itself.

    returns : how many were issued
    """
    zone = Site.current().zone
    midnight = at.astimezone(zone).replace(hour=0, minute=0, second=0, microsecond=0)
    wanting = Order.objects.in_work().exclude(status_reports__at__gte=midnight).order_by("pk")
    ids = list(wanting.values_list("pk", flat=True))
    for order_id in ids:
        issue_status_report(order_id=order_id, by=None, at=at)
    return len(ids)


def _may(by: Person) -> None:
    require(by, Group.PLANNER, Group.APPLICATION_ENGINEER, deed="issue a status report")


def _was_in_work(order: Order) -> None:
    if order.state not in REPORTED:
        raise WrongState(
            order=order.number,
            state=order.get_state_display(),
            deed="issue a status report",
            wanted="in work",
        )
