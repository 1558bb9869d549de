"""What proves a point: its record, its certificates, and papers that are complete.

The three tests are released on a signed record that passed; any other record that the program
keeps for the operation must not stand against the release. A defect that the buyer accepted in
writing counts as proof. Points of final release need everything else of the unit released.
"""

from django.db.models import Q

from quality.models import (
    Concession,
    InspectionPoint,
    MaterialCertificate,
    Measurement,
    Nonconformance,
    PerformanceTest,
    PressureTest,
    SealTest,
    SignedRecord,
)
from schedule.models import Gate, Piece, Unit

HYDROSTATIC = "hydrostatic"
PERFORMANCE = "performance"
SEAL = "seal"
RELEASE = "release"
MEASURED = "measured"
MATERIAL_CERTIFICATE = "material certificate"

TESTS: dict[str, type[SignedRecord]] = {
    HYDROSTATIC: PressureTest,
    PERFORMANCE: PerformanceTest,
    SEAL: SealTest,
}


def in_the_way(point: InspectionPoint) -> list[str]:
    """Why the point cannot be released yet, in sentences; nothing when it can."""
    if point.timing == Gate.Timing.BEFORE and point.record_kind in TESTS:
        return []  # readiness for a test is looked at, its record comes later
    if point.record_kind in TESTS:
        return _of_record(point, latest(TESTS[point.record_kind], point.operation_id), needed=True)
    if point.record_kind == MATERIAL_CERTIFICATE:
        return _of_certificates(point)
    if point.record_kind == RELEASE:
        return _of_papers(point)
    record = latest(Measurement, point.operation_id, kind=point.record_kind)
    return _of_record(point, record, needed=False)


def latest(model: type[SignedRecord], operation_id: int, **filters: str) -> SignedRecord | None:
    """The record that counts for an operation: the newest that no correction has replaced."""
    records = model._default_manager.filter(operation_id=operation_id, **filters)
    newest_first = records.order_by("-tested_on", "-id")
    return next((record for record in newest_first if not record.is_replaced), None)


def _of_record(point: InspectionPoint, record: SignedRecord | None, *, needed: bool) -> list[str]:
    if record is None:
        return [f"no {point.record_kind} record is kept yet"] if needed else []
    if not record.is_signed:
        return [f"the {record._meta.verbose_name} of {record.tested_on} is not signed"]
    if record.verdict == SignedRecord.Verdict.PASSED or is_accepted(point.operation_id):
        return []
    return [
        f"the {record._meta.verbose_name} of {record.tested_on} came to "
        f"“{record.get_verdict_display()}”"
    ]


def is_accepted(operation_id: int) -> bool:
    """Whether the buyer accepted what was found at the operation, as it is, in writing."""
    return Nonconformance.objects.filter(
        operation_id=operation_id,
        disposition=Nonconformance.Disposition.ACCEPT,
        concessions__answer=Concession.Answer.ACCEPTED,
        concessions__proposed=Nonconformance.Disposition.ACCEPT,
    ).exists()


def heats_of(unit: Unit | None) -> set[str]:
    """Heat numbers of the pressure castings of a unit."""
    halves = (Piece.Part.UPPER_HALF, Piece.Part.LOWER_HALF)
    pieces = Piece.objects.filter(unit=unit, state=Piece.State.TAKEN, part__in=halves)
    return set(pieces.exclude(heat="").values_list("heat", flat=True))


def _of_certificates(point: InspectionPoint) -> list[str]:
    heats = heats_of(point.operation.unit)
    accepted = MaterialCertificate.objects.filter(heat__in=heats, accepted_on__isnull=False)
    missing = sorted(heats - set(accepted.values_list("heat", flat=True)))
    return [f"the certificate of heat {heat} is not accepted" for heat in missing]


def _of_papers(point: InspectionPoint) -> list[str]:
    """Everything of the unit, and of the route where no unit is named, must be released."""
    unit = point.operation.unit
    ours = Q(operation__unit=unit) | Q(operation__unit=None)
    route_id = point.plan.route_id
    others = (
        InspectionPoint.objects.outstanding()
        .filter(ours, plan_id=point.plan_id)
        .exclude(record_kind=RELEASE)
        .select_related("operation")
    )
    defects = Nonconformance.objects.open().filter(Q(unit=unit) | Q(unit=None), route_id=route_id)
    missing = [f"“{other}” is not released" for other in others[:5]]
    missing += [
        f"nonconformance {number} is open" for number in defects.values_list("number", flat=True)
    ]
    return missing
