"""Filing papers with an order."""

from datetime import datetime

from django.db import transaction

from orders.errors import BadPaper
from orders.models import Order
from orders.papers import KINDS, checked
from works.actions import file_document
from works.models import Document, Person, Revision
from works.people import Group, require


@transaction.atomic
def file_paper(
    *,
    order_id: int,
    title: str,
    kind: str,
    file_name: str,
    content: bytes,
    for_customer: bool,
    by: Person,
    at: datetime,
) -> Revision:
    """Keep a paper with an order; the same kind and title again is its next revision.

    raises : NotAllowed; BadPaper for one too large, of a kind not taken, or not what it says
    """
    require(
        by,
        Group.APPLICATION_ENGINEER,
        Group.PLANNER,
        Group.BUYER,
        Group.QUALITY_ENGINEER,
        deed="file a paper",
    )
    if kind not in KINDS:
        raise BadPaper(name=file_name, why=f"{kind!r} is no kind of paper: {', '.join(KINDS)}.")
    if not title.strip():
        raise BadPaper(name=file_name, why="it has no title.")
    paper = checked(file_name, content)
    order = Order.objects.select_for_update().get(pk=order_id)
    there = Document.objects.filter(
        about_kind="orders.order", about_id=order.pk, kind=kind, title=title.strip()
    ).first()
    if there is not None and there.for_customer != for_customer:
        said = "is" if there.for_customer else "is not"
        raise BadPaper(
            name=file_name,
            why=f"“{there.title}” {said} for the customer: file it the same way, or under "
            "another title.",
        )
    return file_document(
        about=order,
        kind=kind,
        title=title.strip(),
        file_name=paper.file_name,
        content=paper.content,
        content_type=paper.content_type,
        for_customer=for_customer,
        by=by,
        at=at,
    )
