"""The inspection desk: five numbers, and the lists behind them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.utils import timezone

from quality.models import PerformanceTest, PressureTest, SealTest, SignedRecord
from quality.queries.certificates import MissingCertificate, certificates_missing
from quality.queries.nonconformances import DefectRow, open_majors
from quality.queries.points import PointRow, holds_due
from quality.queries.visits import VisitRow, inside_notice

FIRST_PASS_DAYS = 180
"""How far back the first-pass rate looks [d]."""


@dataclass(frozen=True, kw_only=True)
class FirstPass:
    """How many tests passed the first time.

    tests : first tests of an operation, signed, within the period
    passed : of them
    """

    tests: int
    passed: int

    @property
    def share(self) -> float | None:
        """passed over tests, None without any [-]."""
        return self.passed / self.tests if self.tests else None


@dataclass(frozen=True, kw_only=True)
class Desk:
    """The page.

    holds : at which work waits or arrives within five days
    """

    holds: tuple[PointRow, ...]
    visits: tuple[VisitRow, ...]
    majors: tuple[DefectRow, ...]
    certificates: tuple[MissingCertificate, ...]
    first_pass: FirstPass

    @property
    def holds_waiting(self) -> int:
        return sum(row.stops_now for row in self.holds)

    @property
    def visits_waiting(self) -> int:
        return len(self.visits)

    @property
    def open_majors(self) -> int:
        return len(self.majors)

    @property
    def certificates_missing(self) -> int:
        return len(self.certificates)


def desk(now: datetime) -> Desk:
    """Everything on the inspection desk; a constant number of SQL queries."""
    today = timezone.localdate(now)
    return Desk(
        holds=tuple(holds_due(now=now)),
        visits=tuple(inside_notice(today)),
        majors=tuple(open_majors(now)),
        certificates=tuple(certificates_missing()),
        first_pass=first_pass(since=today - timedelta(days=FIRST_PASS_DAYS)),
    )


def first_pass(*, since: date) -> FirstPass:
    """The share of tests that passed the first time, over all three kinds; three SQL queries."""
    firsts = [
        verdict
        for model in (PressureTest, PerformanceTest, SealTest)
        for verdict in _first_verdicts(model, since)
    ]
    passed = sum(verdict == SignedRecord.Verdict.PASSED for verdict in firsts)
    return FirstPass(tests=len(firsts), passed=passed)


def _first_verdicts(model: type[SignedRecord], since: date) -> Iterable[str]:
    """The verdict of each operation's first test, a correction standing for what it replaces."""
    rows = list(
        model._default_manager.filter(tested_on__gte=since)
        .defer("inputs", "result")
        .order_by("tested_on", "pk")
    )
    replaced = {row.replaces_id for row in rows}
    first: dict[int, str] = {}
    for row in rows:
        if row.pk not in replaced and row.is_signed:
            first.setdefault(row.operation_id, row.verdict)
    return first.values()
