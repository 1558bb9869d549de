"""The seal leakage test entered: for mechanical seals only, after the performance test."""

from collections.abc import Mapping
from datetime import date, datetime

from django.db import transaction

from quality import errors
from quality.acceptance.errors import AcceptanceError
from quality.acceptance.seal_test import SealPressure, SealRecord
from quality.actions.records import check_day, configuration_of, enter, operation_for
from quality.evidence import SEAL, is_accepted
from quality.judging.seal import SealInputs, judge_seal, seal_pressure_asked
from quality.keeping import kept
from quality.models import Instrument, PerformanceTest, SealTest, SignedRecord
from quality.register import fit_for_use
from schedule.models import Operation
from works.models import Person
from works.people import Group, require


def plan_of_test(operation_id: int) -> tuple[Operation, SealPressure, PerformanceTest]:
    """The operation, the pressure to test at, and the performance test that came before.

    raises : WrongOperation; BadRecord with packing, or before the performance test
    """
    operation = Operation.objects.select_related("route", "unit").filter(pk=operation_id).first()
    if operation is None:
        raise errors.WrongOperation("There is no such operation.")
    try:
        # Asked first: a packed pump has no such operation, and that says little to the reader.
        required = seal_pressure_asked(configuration_of(operation))
    except AcceptanceError as error:
        raise errors.BadRecord(error.sentence) from error
    return operation_for(SEAL, operation_id), required, _performance_test(operation)


@transaction.atomic
def record_seal_test(
    *,
    operation_id: int,
    tested_on: date,
    instrument_id: int,
    start_pa: float,
    end_pa: float,
    held_s: float,
    drops_per_min: Mapping[str, float],
    note: str = "",
    replaces_id: int | None = None,
    by: Person,
    at: datetime,
) -> SealTest:
    """Keep a seal leakage test and judge it.

    start_pa, end_pa : gauge [Pa]
    held_s : time under pressure [s]
    drops_per_min : at each seal, named by its side [1/min]
    raises : NotAllowed, WrongOperation, TimeInFuture, InstrumentNotFit, BadRecord with packing or
        before the performance test, AlreadyReplaced
    """
    require(by, Group.QUALITY_ENGINEER, Group.SUPERVISOR, deed="record a seal test")
    check_day(tested_on, at)
    operation, required, performance = plan_of_test(operation_id)
    rows = Instrument.objects.prefetch_related("calibrations").in_bulk([instrument_id])
    used = fit_for_use(rows.values(), tested_on)
    inputs = SealInputs(
        required=required,
        record=SealRecord(
            on=tested_on,
            gauge=used[instrument_id],
            start_pa=start_pa,
            end_pa=end_pa,
            held_s=held_s,
            drops_per_min=dict(drops_per_min),
        ),
        performance_test_done=True,
    )
    try:
        judged = judge_seal(inputs)
    except AcceptanceError as error:
        raise errors.BadRecord(error.sentence) from error
    return enter(
        SealTest,
        SEAL,
        operation=operation,
        tested_on=tested_on,
        inputs={**kept(inputs), "note": note.strip()},
        judged=judged,
        instruments=list(rows.values()),
        replaces_id=replaces_id,
        by=by,
        at=at,
        performance_test=performance,
    )


def _performance_test(operation: Operation) -> PerformanceTest:
    """The unit's performance test that stands: signed, and passed or accepted by the buyer.

    raises : BadRecord
    """
    tests = (
        PerformanceTest.objects.filter(
            operation__unit=operation.unit,
            operation__route=operation.route,
            operation__dropped_in=None,
            signed_at__isnull=False,
        )
        .select_related("operation", "replaced_by")
        .order_by("-tested_on", "-pk")
    )
    last = next((test for test in tests if not test.is_replaced), None)
    if last is None:
        raise errors.BadRecord(
            "The performance test comes first: record and sign it, since running may disturb the "
            "seal. The seal leakage test is the last one."
        )
    if last.verdict != SignedRecord.Verdict.PASSED and not is_accepted(last.operation_id):
        raise errors.BadRecord(
            f"The performance test of {last.tested_on} did not pass: settle that first, since the "
            "seal is tested again whenever the pump was opened."
        )
    return last
