"""What pages of the ground floor need, and the rows of standards that pure code is handed."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db import models
from django.db.models import Count, Q, QuerySet

from works.models import Errand, Event, Job, Outbox, Person, StandardValue
from works.standards.certainty import Certainty
from works.standards.rows import StandardRow
from works.standards.tables import columns, from_record

LATE = timedelta(minutes=1)


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


@dataclass(frozen=True)
class StandardPage:
    """One table as a page shows it: columns in the shipped order, a cell a column."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[StandardValue, tuple[object, ...]], ...]


def standard_table(table: str) -> StandardPage | None:
    """A table's rows with their cells; None when there is no such table."""
    rows = list(StandardValue.objects.filter(table=table).select_related("checked_by"))
    if not rows:
        return None
    shipped = [column.name for column in columns().get(table, ())]
    # The database keeps a row's cells in no order of ours; what is not shipped comes last.
    names = (*shipped, *sorted({name for row in rows for name in row.value} - set(shipped)))
    return StandardPage(
        title=table.replace("_", " "),
        columns=tuple(name.replace("_", " ") for name in names),
        rows=tuple((row, tuple(row.value.get(name) for name in names)) for row in rows),
    )


@dataclass(frozen=True)
class Background:
    """What waits to be done without anybody's help.

    waiting : events not yet handed on; late : errands not done a minute after their event
    """

    waiting: int
    late: list[Errand]
    jobs: list[Job]


def background(now: datetime) -> Background:
    """Errands that are late, worst first, and the latest jobs."""
    late = Errand.objects.filter(done_at=None, event__written_at__lt=now - LATE)
    return Background(
        waiting=Outbox.objects.filter(passed_on_at=None).count(),
        late=list(late.select_related("event").order_by("-attempts", "id")[:100]),
        jobs=list(Job.objects.select_related("asked_by").order_by("-id")[:30]),
    )


def people() -> QuerySet[Person]:
    return Person.objects.prefetch_related("groups").order_by("-is_active", "username")
