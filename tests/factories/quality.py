# ruff: noqa: E501  (rows of a table)
"""The smallest valid instruments, plans and records, on a route short enough to walk along."""

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import Any

import factory

from quality.acceptance.grades import Guarantee
from quality.acceptance.readings import Reading, SetUp
from quality.acceptance.terms import Terms, Witnessable
from quality.actions.holds import release
from quality.actions.instruments import add_instrument
from quality.actions.performance_tests import record_performance_test
from quality.actions.plans import write_plan
from quality.actions.pressure_tests import Gauge, record_pressure_test
from quality.actions.records import sign_record
from quality.models import (
    InspectionPlan,
    InspectionPoint,
    Instrument,
    MaterialCertificate,
    Party,
    PerformanceTest,
    PressureTest,
    SignedRecord,
)
from schedule.actions.progress import report
from schedule.models import Operation, Route, RouteTemplate, TemplateOperation, Unit
from schedule.planning.template import read_template
from selection.configuration import Configuration
from tests.factories.schedule import (
    NOW,
    SiteFactory,
    WorkCentreFactory,
    configuration,
    grown,
    person,
    small_works,
    step,
)
from works.models import Person, StandardValue
from works.people import Area, Group
from works.standards import load, table_names

TODAY = NOW.date()

__all__ = ["SiteFactory", "person"]

TEMPLATE = """\
code,name,area,work_centre,kind,duration,per,after,only_when,repeats,pattern,depends_on,remade_with,confirmations,caution,marks,holds
ENG-REVIEW,Order review,engineering,DRAWING,working,8 h,item,,,,,,,,,,
FDY-I-MOULD,Moulding: impeller,foundry,FOUNDRY,working,4 h,unit,ENG-REVIEW,impeller cast,,impeller,,FDY-I-POUR,,foundry,,
FDY-I-POUR,Pouring: impeller,foundry,FOUNDRY,working,1 h,unit,FDY-I-MOULD,impeller cast,,,,,,foundry,whole,
FDY-I-DIMENSIONS,Visual check and dimensions: impeller,foundry,FOUNDRY,working,1 h,unit,FDY-I-POUR,impeller cast,,,,FDY-I-POUR,,,,
ASM-HYDRO,Casing hydrostatic test,assembly,FLOOR,working,3 h,unit,FDY-I-DIMENSIONS,,,,test_pressure_pa,,,hydrostatic,whole,
ASM-BUILD,Pump built,assembly,FLOOR,working,10 h,unit,ASM-HYDRO,,,,sealing,,,lifting,,
TST-PERFORM,Performance test,test bed,BED,working,6 h,unit,ASM-BUILD,,,,,,,test-bed,,
TST-SEAL,Seal leakage test,test bed,BED,working,1 h,unit,TST-PERFORM,mechanical seal,,,,,,test-bed,,
DSP-PACK,Packing,dispatch,PACKING,working,6 h,unit,TST-PERFORM;TST-SEAL,,,,,,,lifting,,
DSP-RELEASE,Final release,dispatch,PACKING,working,1 h,unit,DSP-PACK,,,,,,,,,
"""


def inspector() -> Person:
    return person(Group.QUALITY_ENGINEER)


def load_tables() -> None:
    """The shipped tables that tests are judged by; the many others are not needed here."""
    if StandardValue.objects.exists():
        return
    StandardValue.objects.bulk_create(
        StandardValue(key=row.key, position=position, **row.as_record())
        for name in table_names()
        if name.startswith(("iso9906", "hydrostatic"))
        for position, row in enumerate(load(name))
    )


def tested_works() -> RouteTemplate:
    """A small works with a test bed, tables of standards loaded, and the template above."""
    small_works()
    WorkCentreFactory.create(code="BED", area=Area.TEST_BED)
    load_tables()
    template, made = RouteTemplate.objects.get_or_create(name="tested", defaults={"kind": "pump"})
    if made:
        TemplateOperation.objects.bulk_create(
            TemplateOperation(template=template, position=n, code=row.code, row=row.as_json())
            for n, row in enumerate(read_template("tested", TEMPLATE).operations)
        )
    return template


def terms(**changes: Any) -> Terms:
    """A customer that attends the pressure and performance tests, at ten days' notice."""
    fields: dict[str, Any] = {
        "customer_inspects": True,
        "witnessed": (Witnessable.HYDROSTATIC, Witnessable.PERFORMANCE),
        "notice_days": 10,
        "hydrostatic_minutes": 30.0,
    }
    return Terms(**{**fields, **changes})


def plan(
    *,
    units: int = 1,
    pump: Configuration | None = None,
    contract: Terms | None = None,
    calendar_id: int | None = None,
) -> InspectionPlan:
    """A route in work, with its inspection plan."""
    pump = pump or configuration(casing_metal="GJL-250")
    route = grown(template=tested_works(), configuration=pump, quantity=units)
    return write_plan(
        route_id=route.pk,
        configuration=pump,
        terms=contract or terms(),
        calendar_id=calendar_id,
        by=None,
        at=NOW,
    )


def point(of: InspectionPlan, code: str, unit: int | None = 1) -> InspectionPoint:
    """A live point of a plan by its rule's code."""
    found = of.points.filter(code=code, withdrawn_at=None)
    if unit is not None:
        found = found.filter(operation__unit__number=unit)
    return found.select_related("operation", "gate").get()


def operation(of: InspectionPlan, code: str, unit: int | None = 1) -> Operation:
    return step(of.route, code, unit)


def gauge(tag: str = "PG-1", *, range_high: float = 40.0, **changes: Any) -> Instrument:
    """A pressure gauge in bar, in calibration."""
    fields: dict[str, Any] = {
        "tag": tag,
        "kind": "pressure",
        "unit": "bar",
        "range_low": 0.0,
        "range_high": range_high,
        "resolution": 0.1,
        "uncertainty_percent": 0.6,
        "certificate": f"C-{tag}",
        "calibrated_on": TODAY - timedelta(days=60),
        "due_on": TODAY + timedelta(days=300),
    }
    return add_instrument(**{**fields, **changes}, by=inspector(), at=NOW)


class MaterialCertificateFactory(factory.django.DjangoModelFactory[MaterialCertificate]):
    class Meta:
        model = MaterialCertificate

    heat = factory.Sequence(lambda n: f"H-{n:04d}")
    metal = "GJL-250"
    received_on = date(2026, 3, 2)


def unit_of(route: Route, number: int = 1) -> Unit:
    return Unit.objects.get(route=route, number=number)


def started(operation: Operation, *, at: datetime = NOW) -> Operation:
    """The floor begins an operation."""
    report(operation_ids=[operation.pk], deed="start", stated_at=at, by=None, at=at)
    operation.refresh_from_db()
    return operation


def finished(operation: Operation, *, at: datetime = NOW) -> Operation:
    """The floor begins and finishes an operation."""
    report(
        operation_ids=[operation.pk],
        deed="finish",
        stated_at=at,
        started_at=at - timedelta(hours=1),
        by=None,
        at=at,
    )
    operation.refresh_from_db()
    return operation


def cast(of: InspectionPlan, unit: int | None = 1) -> None:
    """Walk along the foundry to the impeller's last check; the melt is released on the way."""
    engineer = inspector()
    finished(operation(of, "ENG-REVIEW", None))
    finished(operation(of, "FDY-I-MOULD", unit))
    release(
        point_id=point(of, "MELT-IMPELLER", unit).pk,
        party=Party.MAKER,
        signed_by=str(engineer),
        by=engineer,
        at=NOW,
    )
    finished(operation(of, "FDY-I-POUR", unit))
    finished(operation(of, "FDY-I-DIMENSIONS", unit))


def passed_pressure_test(
    of: InspectionPlan, *, unit: int | None = 1, by: Person | None = None, **changes: Any
) -> PressureTest:
    """A casing that held 13.5 bar for half an hour, dry outside."""
    first, second = gauges()
    fields: dict[str, Any] = {
        "operation_id": operation(of, "ASM-HYDRO", unit).pk,
        "tested_on": TODAY,
        "gauges": [
            Gauge(instrument_id=first.pk, start_pa=1.36e6, end_pa=1.355e6),
            Gauge(instrument_id=second.pk, start_pa=1.36e6, end_pa=1.355e6),
        ],
        "held_s": 1800.0,
        "by": by or inspector(),
        "at": NOW,
    }
    return record_pressure_test(**{**fields, **changes})


def gauges() -> tuple[Instrument, Instrument]:
    """Two pressure gauges, made once."""
    there = {i.tag: i for i in Instrument.objects.filter(tag__in=["PG-1", "PG-2"])}
    return there.get("PG-1") or gauge("PG-1"), there.get("PG-2") or gauge("PG-2")


def flow_meter() -> Instrument:
    there = Instrument.objects.filter(tag="FM-1").first()
    return there or gauge("FM-1", kind="flow", unit="m³/h", range_high=1200.0)


READINGS = (
    # flow [m3/h], head [m], shaft power [kW] of a pump at 1485 rev/min: 62 m and 84 % at 540 m3/h
    (0.0, 74.0, 55.0),
    (180.0, 73.0, 72.0),
    (320.0, 70.0, 88.0),
    (500.0, 63.8, 104.5),
    (520.0, 62.9, 106.3),
    (540.0, 62.0, 108.2),
    (560.0, 61.0, 110.0),
    (580.0, 60.0, 111.7),
    (660.0, 55.0, 117.5),
)


def readings(
    rows: Sequence[tuple[float, float, float]] = READINGS,
    *,
    speed: float = 1485.0,
    head_factor: float = 1.0,
) -> list[Reading]:
    """Readings on the bed, head and shaft power shown directly."""
    return [
        Reading(
            number=number,
            flow_m3s=flow / 3600,
            speed_rpm=speed,
            head_m=head * head_factor,
            shaft_power_w=1000 * power * head_factor,
        )
        for number, (flow, head, power) in enumerate(rows, 1)
    ]


def guarantee(**changes: Any) -> Guarantee:
    fields: dict[str, Any] = {
        "flow_m3s": 0.15,
        "head_m": 62.0,
        "speed_rpm": 1485.0,
        "density_kg_m3": 998.2,
        "efficiency": 0.84,
    }
    return Guarantee(**{**fields, **changes})


def performance_test(
    of: InspectionPlan, *, unit: int | None = 1, by: Person | None = None, **changes: Any
) -> PerformanceTest:
    """A test that meets its guarantee."""
    fields: dict[str, Any] = {
        "operation_id": operation(of, "TST-PERFORM", unit).pk,
        "tested_on": TODAY,
        "guarantee": guarantee(),
        "set_up": SetUp(density_kg_m3=998.2),
        "readings": readings(),
        "typed_in": {"flow_m3s": "m3h", "head_m": "m", "shaft_power_w": "kw"},
        "instrument_ids": [flow_meter().pk],
        "by": by or inspector(),
        "at": NOW,
    }
    return record_performance_test(**{**fields, **changes})


def signed(record: SignedRecord, kind: str) -> SignedRecord:
    return sign_record(kind=kind, record_id=record.pk, by=inspector(), at=NOW)
