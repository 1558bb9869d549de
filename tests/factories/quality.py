# ruff: noqa: E501  (rows of a table)
"""The smallest valid instruments, plans and records, on a route short enough to walk along."""

from datetime import date, timedelta
from typing import Any

import factory

from quality.acceptance.terms import Terms, Witnessable
from quality.actions.instruments import add_instrument
from quality.actions.plans import write_plan
from quality.models import InspectionPlan, InspectionPoint, Instrument, MaterialCertificate
from schedule.models import Operation, Route, RouteTemplate, TemplateOperation, Unit
from schedule.planning.template import read_template
from selection.configuration import Configuration
from tests.factories.schedule import (
    NOW,
    WorkCentreFactory,
    configuration,
    grown,
    person,
    small_works,
    step,
)
from works.actions import load_standards
from works.models import Person
from works.people import Area, Group

TODAY = NOW.date()

TEMPLATE = """\
code,name,area,work_centre,kind,duration,per,after,only_when,repeats,pattern,depends_on,remade_with,confirmations,caution,marks,holds
ENG-REVIEW,Order review,engineering,DRAWING,working,8 h,item,,,,,,,,,,
FDY-I-MOULD,Moulding: impeller,foundry,FOUNDRY,working,4 h,unit,ENG-REVIEW,impeller cast,,impeller,,,,foundry,,
FDY-I-DIMENSIONS,Visual check and dimensions: impeller,foundry,FOUNDRY,working,1 h,unit,FDY-I-MOULD,impeller cast,,,,FDY-I-MOULD,,,,
ASM-HYDRO,Casing hydrostatic test,assembly,FLOOR,working,3 h,unit,FDY-I-DIMENSIONS,,,,test_pressure_pa,,,hydrostatic,whole,
ASM-BUILD,Pump built,assembly,FLOOR,working,10 h,unit,ASM-HYDRO,,,,sealing,,,lifting,,
TST-PERFORM,Performance test,test bed,BED,working,6 h,unit,ASM-BUILD,,,,,,,test-bed,,
TST-SEAL,Seal leakage test,test bed,BED,working,1 h,unit,TST-PERFORM,mechanical seal,,,,,,test-bed,,
DSP-PACK,Packing,dispatch,PACKING,working,6 h,unit,TST-PERFORM;TST-SEAL,,,,,,,lifting,,
DSP-RELEASE,Final release,dispatch,PACKING,working,1 h,unit,DSP-PACK,,,,,,,,,
"""


def inspector() -> Person:
    return person(Group.QUALITY_ENGINEER)


def tested_works() -> RouteTemplate:
    """A small works with a test bed, tables of standards loaded, and the template above."""
    small_works()
    WorkCentreFactory.create(code="BED", area=Area.TEST_BED)
    load_standards()
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
