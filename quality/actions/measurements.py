"""Measured records entered: values against their limits, each with its instrument."""

from collections.abc import Sequence
from datetime import date, datetime

from django.db import transaction

from quality import errors
from quality.acceptance.errors import AcceptanceError
from quality.actions.records import check_day, enter
from quality.evidence import MEASURED
from quality.judging.measurement import MeasurementInputs, Value, judge_measurement
from quality.keeping import kept
from quality.models import Instrument, Measurement
from quality.register import fit_for_use
from schedule.models import Operation
from works.models import Person
from works.people import Group, require


@transaction.atomic
def record_measurement(
    *,
    operation_id: int,
    kind: str,
    tested_on: date,
    values: Sequence[Value],
    instrument_ids: Sequence[int],
    piece_id: int | None = None,
    note: str = "",
    replaces_id: int | None = None,
    by: Person,
    at: datetime,
) -> Measurement:
    """Keep measured values and judge each against its limits.

    kind : the record's name in the plan, such as "measured: run-out"
    raises : NotAllowed, WrongOperation, TimeInFuture, InstrumentNotFit, BadRecord, AlreadyReplaced
    """
    require(by, Group.QUALITY_ENGINEER, Group.SUPERVISOR, deed="record measurements")
    check_day(tested_on, at)
    operation = (
        Operation.objects.live().select_related("route", "unit").filter(pk=operation_id).first()
    )
    if operation is None:
        raise errors.WrongOperation("This operation is no longer part of its route.")
    rows = Instrument.objects.prefetch_related("calibrations").in_bulk(list(instrument_ids))
    used = fit_for_use(rows.values(), tested_on)
    inputs = MeasurementInputs(values=tuple(values), instruments=tuple(used.values()))
    try:
        judged = judge_measurement(inputs)
    except AcceptanceError as error:
        raise errors.BadRecord(error.sentence) from error
    return enter(
        Measurement,
        MEASURED,
        operation=operation,
        tested_on=tested_on,
        inputs={**kept(inputs), "note": note.strip()},
        judged=judged,
        instruments=list(rows.values()),
        replaces_id=replaces_id,
        by=by,
        at=at,
        kind=kind,
        piece_id=piece_id,
    )
