"""How fast a performance test is judged, and how many of one bed's readings a second.

The test has 13 points with gauges, torque and temperature, instruments with their uncertainty, and
is judged with class limits, drawn curves and the chance of a wrong verdict.
"""

import math
import time
from collections.abc import Callable, Sequence
from datetime import date
from statistics import median

import numpy as np

from bench.figures import figure
from quality.acceptance.bed import Assessment, InUse, assess
from quality.acceptance.grades import Guarantee, Tolerances, find_grade, tolerances_for
from quality.acceptance.instruments import Instrument
from quality.acceptance.next_point import next_reading
from quality.acceptance.performance import judge_readings
from quality.acceptance.plan import write_plan
from quality.acceptance.plan_rules import standard_rules
from quality.acceptance.readings import STANDARD_GRAVITY, Reading, SetUp, Tapping
from quality.acceptance.standards import (
    grade_rows,
    house_tables,
    speed_limits,
    uncertainty_limits,
)
from quality.acceptance.terms import Terms

DENSITY = 998.2
RATED_FLOW, RATED_HEAD, RATED_SPEED = 0.15, 62.0, 1480.0
SHARES = (0.0, 0.3, 0.5, 0.7, 0.82, 0.91, 0.95, 0.98, 1.02, 1.06, 1.1, 1.2, 1.3)
REPEATS = 60

SET_UP = SetUp(
    density_kg_m3=DENSITY,
    suction=Tapping(height_m=-0.4, bore_m=0.30),
    discharge=Tapping(height_m=0.6, bore_m=0.25),
)
PROMISE = Guarantee(
    flow_m3s=RATED_FLOW,
    head_m=RATED_HEAD,
    speed_rpm=RATED_SPEED,
    density_kg_m3=DENSITY,
    efficiency=0.83,
)
TABLES = house_tables()
LIMITS = speed_limits(TABLES)


def readings(seed: int = 1) -> tuple[Reading, ...]:
    """13 readings of a pump of 540 m³/h at 62 m, with ordinary scatter."""
    rng = np.random.default_rng(seed)
    made = []
    for number, share in enumerate(SHARES, start=1):
        flow, speed = share * RATED_FLOW, 1487.0 - number
        head = 78.5 - 16.3 * share**2
        # Power rises a little less than in proportion; at the shut valve it is half.
        power = 56e3 + 55e3 * share - 1.5e3 * share**2
        noise = 1 + rng.normal(0, 0.002, 3)
        velocity = (flow / (math.pi / 4 * 0.25**2)) ** 2 - (flow / (math.pi / 4 * 0.30**2)) ** 2
        static = head * noise[0] - 1.0 - velocity / (2 * STANDARD_GRAVITY)
        made.append(
            Reading(
                number=number,
                flow_m3s=flow * noise[1],
                speed_rpm=speed,
                suction_pa=2.0e4,
                discharge_pa=2.0e4 + static * DENSITY * STANDARD_GRAVITY,
                torque_nm=power * noise[2] / (2 * math.pi * speed / 60),
                temperature_k=291.0,
                taken_at_s=600.0 * number,
            )
        )
    return tuple(made)


def instrument(tag: str, highest: float, *, share: float = 0.0, fixed: float = 0.0) -> InUse:
    """One in calibration, in SI units."""
    return InUse(
        instrument=Instrument(
            tag=tag,
            measures=tag,
            unit="SI",
            lowest=-highest,
            highest=highest,
            uncertainty_share=share,
            uncertainty_fixed=fixed,
            calibrated_on=date(2026, 1, 10),
            due_on=date(2026, 12, 31),
        )
    )


INSTRUMENTS = {
    "flow_m3s": instrument("FM-1", 0.4, share=0.01),
    "suction_pa": instrument("PG-1", 2e5, fixed=1000.0),
    "discharge_pa": instrument("PG-2", 16e5, fixed=4000.0),
    "torque_nm": instrument("TM-1", 2000.0, share=0.005),
    "speed_rpm": instrument("SP-1", 4000.0, fixed=1.0),
}


def tolerances() -> Tolerances:
    """Of grade 1B of the present edition."""
    grade = find_grade(grade_rows(TABLES), standard="ISO 9906", edition="2012", grade="1B")
    return tolerances_for(grade, PROMISE)


def assessed(taken: Sequence[Reading]) -> Assessment:
    """The whole judgement of one test."""
    return assess(
        taken,
        SET_UP,
        PROMISE,
        tolerances(),
        limits=LIMITS,
        instruments=INSTRUMENTS,
        class_limits=uncertainty_limits(TABLES, "1"),
    )


def milliseconds(job: Callable[[], object], repeats: int = REPEATS) -> float:
    """Median time of a job, the first run left out."""
    job()
    times = []
    for _ in range(repeats):
        began = time.perf_counter()
        job()
        times.append(time.perf_counter() - began)
    return 1000 * median(times)


@figure("performance-verdict-with-uncertainty", goal="< 20", unit="ms")
def performance_verdict_with_uncertainty() -> float:
    """A 13-point test from readings to verdict, uncertainty, class checks, curves and chance."""
    taken = readings()
    return milliseconds(lambda: assessed(taken))


@figure("performance-verdict", unit="ms")
def performance_verdict() -> float:
    """The same test from readings to verdict alone, as the live page asks for at each reading."""
    taken, limits = readings(), tolerances()
    return milliseconds(lambda: judge_readings(taken, SET_UP, PROMISE, limits, limits=LIMITS))


@figure("next-reading-on-the-bed", goal="< 20", unit="ms")
def next_reading_on_the_bed() -> float:
    """Verdict so far and what to take next, for one new reading of a running test."""
    taken, limits = readings()[:9], tolerances()

    def step() -> object:
        verdict = judge_readings(taken, SET_UP, PROMISE, limits, limits=LIMITS)
        return next_reading(verdict, verdict.points.flow.tolist(), PROMISE, limits)

    return milliseconds(step)


@figure("inspection-plan-written", unit="ms")
def inspection_plan_written() -> float:
    """The plan of a spare without a hydraulic choice, from rules in a table."""
    rules, terms = standard_rules("spares_impeller"), Terms(crack_test_called_for=True)
    return milliseconds(lambda: write_plan(rules, None, terms))
