"""Issuing a status report: the read model and its PDF, kept as they were."""

from datetime import datetime

from django.db import transaction

from orders.documents import status_report
from orders.facts import Fact
from orders.models import Order, StatusReport
from orders.queries.status import status_of
from works import formats
from works.actions import file_document
from works.events import record
from works.models import Person, Site
from works.people import Group, require


@transaction.atomic
def issue_status_report(*, order_id: int, by: Person | None, at: datetime) -> StatusReport:
    """Draw and keep the next report of an order.

    `by` is None for the weekly issue by the program itself.
    raises : NotAllowed
    """
    if by is not None:
        require(by, Group.PLANNER, Group.APPLICATION_ENGINEER, deed="issue a status report")
    order = (
        Order.objects.select_for_update(of=("self",)).select_related("customer").get(pk=order_id)
    )
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
