"""The hydrostatic test entered: judged at once; water through the body opens a nonconformance."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from quality import errors
from quality.acceptance.errors import AcceptanceError
from quality.acceptance.hydrostatic import GaugeReading, Leak, PressureRecord
from quality.acceptance.terms import Terms
from quality.actions.nonconformances import open_nonconformance
from quality.actions.records import check_day, configuration_of, enter, operation_for, terms_of
from quality.evidence import HYDROSTATIC
from quality.judging.pressure import (
    PressureAsked,
    PressureInputs,
    PressurePlan,
    judge_pressure,
    pressure_asked,
    pressure_plan,
)
from quality.keeping import kept
from quality.models import Instrument, Nonconformance, PressureTest
from quality.register import fit_for_use
from quality.standards import tables
from schedule.models import Operation
from selection.outfit import material_data
from works.models import Person
from works.people import Group, require


@dataclass(frozen=True, kw_only=True)
class Gauge:
    """What one gauge of the register showed.

    start_pa, end_pa : at the start and end of the time under pressure, gauge [Pa]
    """

    instrument_id: int
    start_pa: float
    end_pa: float


def what_is_asked(operation: Operation) -> PressureAsked:
    """What pump and contract ask of the test at an operation.

    raises : WrongOperation
    """
    configuration = configuration_of(operation)
    metal = material_data().metals.get(configuration.casing_metal)
    return pressure_asked(
        configuration,
        Terms.from_json(terms_of(operation)),
        casing_family=str(metal.family) if metal else "",
    )


def plan_of_test(operation_id: int) -> tuple[Operation, PressurePlan]:
    """Test pressure, time and steps, before anybody raises pressure.

    raises : WrongOperation, StandardsMissing, BadRecord
    """
    operation = operation_for(HYDROSTATIC, operation_id)
    try:
        return operation, pressure_plan(what_is_asked(operation), tables())
    except AcceptanceError as error:
        raise errors.BadRecord(error.sentence) from error


@transaction.atomic
def record_pressure_test(
    *,
    operation_id: int,
    tested_on: date,
    gauges: Sequence[Gauge],
    held_s: float,
    leaks: Sequence[Leak] = (),
    deformed: bool = False,
    water_temperature_k: float | None = None,
    chloride_mg_kg: float | None = None,
    note: str = "",
    piece_id: int | None = None,
    replaces_id: int | None = None,
    by: Person,
    at: datetime,
) -> PressureTest:
    """Keep a hydrostatic test and judge it.

    A leak through the body of the casting opens a major nonconformance in the same transaction:
    what follows the test is stopped until the buyer has agreed in writing, or it is scrapped.

    held_s : time under test pressure [s]
    water_temperature_k, chloride_mg_kg : of the test water, None when not measured [K], [mg/kg]
    piece_id : the half that leaked, when it is known
    raises : NotAllowed, WrongOperation, TimeInFuture, InstrumentNotFit, StandardsMissing,
        BadRecord, AlreadyReplaced
    """
    require(by, Group.QUALITY_ENGINEER, Group.SUPERVISOR, deed="record a pressure test")
    check_day(tested_on, at)
    operation = operation_for(HYDROSTATIC, operation_id)
    rows = Instrument.objects.prefetch_related("calibrations").in_bulk(
        [gauge.instrument_id for gauge in gauges]
    )
    used = fit_for_use(rows.values(), tested_on)
    inputs = PressureInputs(
        asked=what_is_asked(operation),
        record=PressureRecord(
            on=tested_on,
            gauges=tuple(
                GaugeReading(
                    gauge=used[gauge.instrument_id],
                    start_pa=gauge.start_pa,
                    end_pa=gauge.end_pa,
                )
                for gauge in gauges
            ),
            held_s=held_s,
            leaks=tuple(leaks),
            deformed=deformed,
            water_temperature_k=water_temperature_k,
            chloride_mg_kg=chloride_mg_kg,
        ),
    )
    try:
        judged = judge_pressure(inputs, tables())
    except AcceptanceError as error:
        raise errors.BadRecord(error.sentence) from error
    made = enter(
        PressureTest,
        HYDROSTATIC,
        operation=operation,
        tested_on=tested_on,
        inputs={**kept(inputs), "note": note.strip()},
        judged=judged,
        instruments=list(rows.values()),
        replaces_id=replaces_id,
        by=by,
        at=at,
    )
    if judged.result["major"] and not _defect_stands(made):
        open_nonconformance(
            operation_id=operation.pk,
            defect=judged.result["reasons"][0],
            severity=Nonconformance.Severity.MAJOR,
            cause="pressure test",
            piece_id=piece_id,
            pressure_test=made,
            by=by,
            at=at,
        )
    return made


def _defect_stands(test: PressureTest) -> bool:
    """A correction of a record that already opened its nonconformance opens no second one."""
    return (
        test.replaces is not None
        and Nonconformance.objects.open().filter(pressure_test_id=test.replaces.pk).exists()
    )
