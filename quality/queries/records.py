"""Kept records as their pages and sheets show them."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import QuerySet

from quality.evidence import HYDROSTATIC, MEASURED, PERFORMANCE, SEAL, TESTS
from quality.models import (
    InspectionPoint,
    Instrument,
    Measurement,
    Nonconformance,
    PerformanceTest,
    PressureTest,
    SealTest,
    SignedRecord,
)
from schedule.models import Gate, Operation, Route, Unit

LOOKS = {
    SignedRecord.Verdict.PASSED: ("passed", "Passed"),
    SignedRecord.Verdict.FAILED: ("failed", "Failed"),
    SignedRecord.Verdict.NOT_JUDGED: ("waiting", "Not judged"),
}
KIND_OF: dict[type[SignedRecord], str] = {model: kind for kind, model in TESTS.items()} | {
    Measurement: MEASURED
}
TITLES = {
    HYDROSTATIC: "Hydrostatic test",
    PERFORMANCE: "Performance test",
    SEAL: "Seal leakage test",
    MEASURED: "Measured record",
}


@dataclass(frozen=True, kw_only=True)
class RecordView:
    """A record's page: what was entered, what came of it, what it proves.

    kind : hydrostatic, performance, seal or measured
    state, word : of the verdict, as shown
    points : of the plan that it proves, still to be released
    defects : nonconformances opened by it
    """

    record: SignedRecord
    kind: str
    title: str
    state: str
    word: str
    operation: Operation
    unit: Unit | None
    route: Route
    instruments: tuple[Instrument, ...]
    points: tuple[InspectionPoint, ...]
    defects: tuple[Nonconformance, ...]
    replaced_by: SignedRecord | None

    @property
    def inputs(self) -> Mapping[str, Any]:
        inputs: Mapping[str, Any] = self.record.inputs
        return inputs

    @property
    def result(self) -> Mapping[str, Any]:
        result: Mapping[str, Any] = self.record.result
        return result

    @property
    def may_be_signed(self) -> bool:
        return (
            not self.record.is_signed
            and self.replaced_by is None
            and self.record.verdict != SignedRecord.Verdict.NOT_JUDGED
        )

    @property
    def unchecked(self) -> tuple[str, ...]:
        """Rows of standards that nobody has compared with a bought copy."""
        return tuple(row["sentence"] for row in self.result["rows"] if row["needs_checking"])


def record_view(record: SignedRecord) -> RecordView:
    """A record with everything around it; a constant number of SQL queries."""
    operation = Operation.objects.select_related("unit__route", "route").get(pk=record.operation_id)
    kind = KIND_OF[type(record)]
    state, word = LOOKS[SignedRecord.Verdict(record.verdict)]
    name = record.kind if isinstance(record, Measurement) else kind
    points = InspectionPoint.objects.filter(
        operation=operation, record_kind=name, withdrawn_at=None
    ).exclude(timing=Gate.Timing.BEFORE)
    defects: QuerySet[Nonconformance] = (
        Nonconformance.objects.filter(pressure_test=record)
        if isinstance(record, PressureTest)
        else Nonconformance.objects.none()
    )
    return RecordView(
        record=record,
        kind=kind,
        title=TITLES[kind] if kind != MEASURED else name,
        state=state,
        word=word,
        operation=operation,
        unit=operation.unit,
        route=operation.route,
        instruments=tuple(record.instruments.all()),
        points=tuple(
            point for point in points.select_related("gate") if point.gate and _waits(point.gate)
        ),
        defects=tuple(defects),
        replaced_by=getattr(record, "replaced_by", None),
    )


def _waits(gate: Gate) -> bool:
    return gate.cleared_at is None and gate.withdrawn_at is None


def records_of(operation_id: int, record_kind: str) -> list[SignedRecord]:
    """Every record kept for a point of an operation, the newest first."""
    model: type[SignedRecord] = TESTS.get(record_kind, Measurement)
    found = model._default_manager.filter(operation_id=operation_id)
    if model is Measurement:
        found = Measurement.objects.filter(operation_id=operation_id, kind=record_kind)
    return list(found.select_related("signed_by", "entered_by").order_by("-tested_on", "-pk"))


def records_of_route(route_id: int) -> list[SignedRecord]:
    """Every record of a route that no correction replaced, in the order of the tests."""
    found: list[SignedRecord] = []
    for model in (PressureTest, PerformanceTest, SealTest, Measurement):
        rows = (
            model._default_manager.filter(operation__route_id=route_id)
            .select_related("operation__unit__route", "signed_by", "entered_by", "replaced_by")
            .order_by("tested_on", "pk")
        )
        found += [row for row in rows if not row.is_replaced]
    return sorted(found, key=lambda row: (row.tested_on, row.pk))
