"""Records of the three tests, with readings made from the frozen curve and a little scatter."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from itertools import pairwise
from random import Random

from quality.acceptance.grades import Guarantee
from quality.acceptance.hydrostatic import Leak, LeakKind, Place
from quality.acceptance.readings import Reading, SetUp
from quality.actions.performance_tests import record_performance_test
from quality.actions.pressure_tests import Gauge, plan_of_test, record_pressure_test
from quality.actions.records import sign_record
from quality.actions.seal_tests import plan_of_test as plan_of_seal_test
from quality.actions.seal_tests import record_seal_test
from quality.models import Instrument
from schedule.models import Operation
from works.models import Person

TESTED = {"ASM-HYDRO", "TST-PERFORM", "TST-SEAL"}
DENSITY = 998.2
SHARES = (0.0, 0.3, 0.6, 0.91, 0.955, 1.0, 1.045, 1.09, 1.2)


def record(
    operation: Operation,
    people: Mapping[str, Person],
    start: datetime,
    finish: datetime,
    *,
    leak: bool,
) -> bool:
    """Keep and sign the record of a test; True when work may go on after it."""
    at = finish - timedelta(minutes=20)
    if operation.code == "ASM-HYDRO":
        return _hydrostatic(operation, people, at, leak=leak)
    if operation.code == "TST-PERFORM":
        return _performance(operation, people, at)
    return _seal(operation, people, at)


def _hydrostatic(
    operation: Operation, people: Mapping[str, Person], at: datetime, *, leak: bool
) -> bool:
    _, plan = plan_of_test(operation.pk)
    gauges = Instrument.objects.filter(tag__in=["PG-11", "PG-12"]).order_by("tag")
    body = Leak(place=Place.BODY, where="upper half, volute tongue", kind=LeakKind.SWEATING)
    made = record_pressure_test(
        operation_id=operation.pk,
        tested_on=at.date(),
        gauges=[
            Gauge(
                instrument_id=gauge.pk,
                start_pa=plan.required.pressure_pa * 1.01,
                end_pa=plan.required.pressure_pa * 1.005,
            )
            for gauge in gauges
        ],
        held_s=plan.duration_s + 120,
        leaks=[body] if leak else [],
        water_temperature_k=289.0,
        chloride_mg_kg=22.0,
        by=people["machining"],
        at=at,
    )
    sign_record(
        kind="hydrostatic",
        record_id=made.pk,
        by=people["quality"],
        at=at + timedelta(minutes=5),
    )
    return not leak


def _performance(operation: Operation, people: Mapping[str, Person], at: datetime) -> bool:
    choice = operation.route.choice
    assert choice is not None
    pump, curve = choice.as_configuration(), choice.results["curve"]
    dice = Random(f"{operation.route.label}/{operation.unit_id}")  # repeatable scatter
    better = 1.0 + dice.uniform(0.004, 0.02)
    readings = []
    for number, share in enumerate(SHARES, start=1):
        flow = pump.duty_flow_m3s * share
        speed = pump.speed_rpm * (1.0 + dice.uniform(-0.002, 0.004))
        ratio = speed / pump.speed_rpm
        head = _at(curve["flow_m3s"], curve["head_m"], flow) * better * dice.uniform(0.998, 1.002)
        efficiency = _at(curve["flow_m3s"], curve["efficiency"], flow)
        hydraulic = DENSITY * 9.80665 * flow * head
        idle = _at(curve["flow_m3s"], curve["power_w"], pump.duty_flow_m3s) * 0.55
        power = hydraulic / (efficiency * 1.005) if share > 0.2 else idle
        readings.append(
            Reading(
                number=number,
                flow_m3s=flow * ratio,
                speed_rpm=round(speed, 1),
                head_m=round(head * ratio**2, 3),
                shaft_power_w=round(power * ratio**3, 1),
                temperature_k=293.0,
            )
        )
    made = record_performance_test(
        operation_id=operation.pk,
        tested_on=at.date(),
        guarantee=Guarantee(
            flow_m3s=pump.duty_flow_m3s,
            head_m=pump.duty_head_m,
            speed_rpm=pump.speed_rpm,
            density_kg_m3=DENSITY,
            efficiency=pump.efficiency,
        ),
        set_up=SetUp(density_kg_m3=DENSITY),
        readings=readings,
        typed_in={"flow_m3s": "m3h", "head_m": "m", "shaft_power_w": "kw"},
        instrument_ids=list(
            Instrument.objects.filter(
                tag__in=["FM-01", "PT-21", "PT-22", "TQ-01", "TA-01"]
            ).values_list("pk", flat=True)
        ),
        by=people["testbed"],
        at=at,
    )
    sign_record(
        kind="performance",
        record_id=made.pk,
        by=people["quality"],
        at=at + timedelta(minutes=5),
    )
    return made.verdict == made.Verdict.PASSED


def _seal(operation: Operation, people: Mapping[str, Person], at: datetime) -> bool:
    _, required, _ = plan_of_seal_test(operation.pk)
    gauge = Instrument.objects.get(tag="PG-11")
    made = record_seal_test(
        operation_id=operation.pk,
        tested_on=at.date(),
        instrument_id=gauge.pk,
        start_pa=required.pressure_pa * 1.01,
        end_pa=required.pressure_pa * 1.01,
        held_s=1800.0,
        drops_per_min={"drive end": 0.0, "other end": 0.0},
        by=people["testbed"],
        at=at,
    )
    sign_record(kind="seal", record_id=made.pk, by=people["quality"], at=at + timedelta(minutes=5))
    return made.verdict == made.Verdict.PASSED


def _at(flows: list[float], values: list[float | None], flow: float) -> float:
    """A figure of the frozen curve between its samples."""
    known = [(x, y) for x, y in zip(flows, values, strict=True) if y is not None]
    for (x1, y1), (x2, y2) in pairwise(known):
        if x1 <= flow <= x2:
            return y1 + (y2 - y1) * (flow - x1) / (x2 - x1)
    return known[0][1] if flow < known[0][0] else known[-1][1]
