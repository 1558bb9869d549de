"""Nonconformances as pages show them: what is open, how old, what the buyer was asked."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from django.db.models import Prefetch, QuerySet

from quality.concessions import may_be_decided
from quality.models import Concession, Nonconformance

Disposition = Nonconformance.Disposition


@dataclass(frozen=True, kw_only=True)
class DefectRow:
    """One nonconformance in a list.

    age_days : since it was opened, until it was closed [d]
    """

    pk: int
    url: str
    number: str
    defect: str
    severity: str
    disposition: str
    route: str
    unit: str
    operation: str
    opened_at: datetime
    closed_at: datetime | None
    age_days: float
    waits_for: str

    @property
    def look(self) -> str:
        """Key of the state shown."""
        if self.closed_at is not None:
            return "done"
        if self.disposition == Disposition.SCRAP:
            return "scrapped"
        if self.disposition != Disposition.UNDECIDED:
            return "released"
        return "blocked" if self.severity == Nonconformance.Severity.MAJOR else "open"

    @property
    def word(self) -> str:
        return "closed" if self.closed_at else self.waits_for or self.disposition


def defect_rows(found: QuerySet[Nonconformance], now: datetime) -> list[DefectRow]:
    """Rows of nonconformances; two SQL queries."""
    rows = found.select_related("route", "unit__route", "operation").prefetch_related("concessions")
    return [
        DefectRow(
            pk=row.pk,
            url=row.get_absolute_url(),
            number=row.number,
            defect=row.defect,
            severity=row.severity,
            disposition=row.disposition,
            route=str(row.route),
            unit=str(row.unit) if row.unit else "",
            operation=row.operation.name,
            opened_at=row.opened_at,
            closed_at=row.closed_at,
            age_days=((row.closed_at or now) - row.opened_at).total_seconds() / 86_400,
            waits_for=_waits_for(row),
        )
        for row in found_in_order(rows)
    ]


def found_in_order(rows: QuerySet[Nonconformance]) -> QuerySet[Nonconformance]:
    """Open ones first, majors before minors, the oldest first."""
    return rows.order_by("-closed_at", "severity", "opened_at")


def _waits_for(row: Nonconformance) -> str:
    if row.closed_at is not None:
        return ""
    if row.disposition != Disposition.UNDECIDED:
        return f"to be closed: {row.disposition}"
    if any(concession.answer == "" for concession in row.concessions.all()):
        return "waits for the buyer"
    return "not decided"


def nonconformance_list(*, shown: str, now: datetime) -> list[DefectRow]:
    """The list's page.

    shown : open, major (open ones) or all
    """
    found = Nonconformance.objects.all()
    if shown != "all":
        found = found.filter(closed_at=None)
    if shown == "major":
        found = found.filter(severity=Nonconformance.Severity.MAJOR)
    return defect_rows(found, now)


def open_majors(now: datetime) -> list[DefectRow]:
    """Open majors, the oldest first."""
    rows = nonconformance_list(shown="major", now=now)
    return sorted(rows, key=lambda row: row.opened_at)


@dataclass(frozen=True, kw_only=True)
class DefectView:
    """A nonconformance's page.

    may : dispositions that may be decided now
    needs : dispositions that wait for the buyer's written answer
    open_question : what the buyer was asked and has not answered
    """

    found: Nonconformance
    row: DefectRow
    concessions: tuple[Concession, ...]
    may: tuple[str, ...]
    needs: tuple[str, ...]

    @property
    def open_question(self) -> Concession | None:
        return next((c for c in self.concessions if not c.answer), None)

    @property
    def is_decided(self) -> bool:
        return self.found.disposition != Disposition.UNDECIDED


def nonconformance_view(pk: int, now: datetime) -> DefectView:
    """One nonconformance with all that its page says.

    raises : Nonconformance.DoesNotExist
    """
    found = (
        Nonconformance.objects.select_related(
            "route",
            "unit__route",
            "operation__unit__route",
            "piece",
            "pressure_test",
            "gate",
            "opened_by",
            "disposition_by",
            "closed_by",
        )
        .prefetch_related(
            Prefetch(
                "concessions", Concession.objects.select_related("asked_by", "recorded_by", "paper")
            )
        )
        .get(pk=pk)
    )
    choices = [choice for choice in Disposition if choice != Disposition.UNDECIDED]
    needs = tuple(str(choice) for choice in choices if not may_be_decided(found, choice))
    return DefectView(
        found=found,
        row=defect_rows(Nonconformance.objects.filter(pk=pk), now)[0],
        concessions=tuple(found.concessions.all()),
        may=tuple(str(choice) for choice in choices if str(choice) not in needs),
        needs=needs,
    )


def open_questions(route_ids: Collection[int]) -> list[Concession]:
    """Questions to the buyer of some routes that are not answered, the oldest first."""
    return list(
        Concession.objects.filter(nonconformance__route_id__in=route_ids, answer="")
        .select_related("nonconformance__unit__route", "nonconformance__operation", "asked_by")
        .order_by("asked_at")
    )
