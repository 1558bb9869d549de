"""What pages of the ground floor need, and the rows of standards that pure code is handed."""

from dataclasses import dataclass

from django.db import models
from django.db.models import Count, Q, QuerySet

from works.models import Event, Person, StandardValue
from works.standards.certainty import Certainty
from works.standards.rows import StandardRow
from works.standards.tables import from_record


def version() -> int:
    """A number that grows with every deed, so that a page knows when to fetch anew."""
    return Event.objects.order_by("-id").values_list("id", flat=True).first() or 0


def history(thing: models.Model, limit: int = 200) -> QuerySet[Event]:
    """What happened to one thing, newest first."""
    return Event.objects.about(thing)[:limit]


def standard_rows(table: str) -> tuple[StandardRow, ...]:
    """Rows of a table as the works keeps it; one checked against its copy counts as confirmed."""
    return tuple(
        from_record(
            {
                "table": row.table,
                "name": row.name,
                "standard": row.standard,
                "edition": row.edition,
                "clause": row.clause,
                "value": row.value,
                "certainty": str(Certainty.CONFIRMED) if row.checked_on else row.certainty,
                "column_certainty": {} if row.checked_on else row.column_certainty,
                "source": row.source,
                "note": row.note,
            }
        )
        for row in StandardValue.objects.filter(table=table)
    )


@dataclass(frozen=True)
class TableOfStandard:
    """One table in the list: how many rows, how many of them a person has checked."""

    table: str
    title: str
    rows: int
    checked: int
    unsure: int


def standard_tables() -> list[TableOfStandard]:
    """Every table with the count of rows, checked rows and rows that rest on memory."""
    found = (
        StandardValue.objects.order_by()
        .values("table")
        .annotate(
            rows=Count("id"),
            checked=Count("id", filter=Q(checked_on__isnull=False)),
            unsure=Count("id", filter=Q(checked_on=None, certainty=str(Certainty.MEMORY))),
        )
        .order_by("table")
    )
    return [
        TableOfStandard(
            table=row["table"],
            title=row["table"].replace("_", " "),
            rows=row["rows"],
            checked=row["checked"],
            unsure=row["unsure"],
        )
        for row in found
    ]


def people() -> QuerySet[Person]:
    return Person.objects.prefetch_related("groups").order_by("-is_active", "username")
