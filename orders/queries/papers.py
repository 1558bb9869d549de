"""Papers of an order, without their bytes."""

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Prefetch, QuerySet

from works.models import Document, Revision


@dataclass(frozen=True)
class PaperRow:
    """One revision of a paper; the newest of its document first."""

    kind: str
    title: str
    revision: str
    revision_id: int
    file_name: str
    for_customer: bool
    by: str
    at: datetime
    is_newest: bool


def papers_of(order_id: int, *, for_customer: bool | None = None) -> tuple[PaperRow, ...]:
    """An order's papers, in two queries."""
    found = Document.objects.filter(about_kind="orders.order", about_id=order_id)
    if for_customer is not None:
        found = found.filter(for_customer=for_customer)
    return tuple(
        PaperRow(
            kind=document.kind,
            title=document.title,
            revision=revision.number,
            revision_id=revision.pk,
            file_name=revision.file_name,
            for_customer=document.for_customer,
            by=str(revision.by) if revision.by else "the program",
            at=revision.at,
            is_newest=n == 0,
        )
        for document in found.order_by("kind", "title").prefetch_related(
            Prefetch("revisions", _without_bytes())
        )
        for n, revision in enumerate(document.revisions.all())
    )


def _without_bytes() -> QuerySet[Revision]:
    return Revision.objects.defer("content").select_related("by").order_by("-id")
