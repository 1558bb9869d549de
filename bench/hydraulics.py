"""The catalogue search against a straightforward loop over candidates with SciPy's `brentq`.

2,000 impellers × 3 speeds × best trim. The loop does what one would write first: for each
impeller and speed fit SciPy's PCHIP through the scaled points, seek the diameter with `brentq`
(or take the limit nearest to it, for a rejected candidate is shown with its figures too), fit
again at that diameter, seek each operating point with `brentq`, take best efficiency and the
highest power. It is timed on every sixth candidate and reckoned up; the search is timed on all,
checks and ranking included, and its catalogue is packed beforehand as the program keeps it.
"""

import math
import statistics
import time
import tracemalloc
from dataclasses import dataclass
from functools import cache

import numpy as np
from scipy.interpolate import CubicHermiteSpline, PchipInterpolator
from scipy.optimize import brentq

from bench.figures import figure
from selection.hydraulics import (
    Candidates,
    CatalogueImpeller,
    CurvePoints,
    Duty,
    Liquid,
    Suction,
    SystemCurve,
    TrimLaw,
    pack,
    search,
    through_points,
)
from selection.hydraulics.catalogue import Catalogue
from selection.hydraulics.door import Floats
from selection.hydraulics.generate import Pattern, full_diameter_mm, points_of
from selection.hydraulics.hermite import peaked_slopes
from selection.hydraulics.question import Alone

IMPELLERS = 2000
EVERY = 6
SPEEDS = (2960.0, 1480.0, 980.0)


@cache
def catalogue(impellers: int = IMPELLERS) -> Catalogue:
    """An invented catalogue; every third impeller has tests at two diameters."""
    random = np.random.default_rng(20)
    made = []
    for place in range(impellers):
        flow = 0.15 * math.exp(0.6 * random.normal())
        head = 62.0 * math.exp(0.5 * random.normal())
        full = full_diameter_mm(head, 1480.0)
        pattern = Pattern(
            bep_flow_m3s=flow,
            bep_head_m=head,
            speed_rpm=1480.0,
            diameter_mm=full,
            vanes=int(random.integers(5, 8)),
        )
        tests = [points_of(pattern)]
        if place % 3 == 0:
            tests.append(points_of(pattern, 0.9 * full))
        made.append(
            CatalogueImpeller(
                key=str(place),
                casing=f"casing {place // 4}",
                pattern=str(place),
                tests=tuple(tests),
                diameter_min_mm=0.8 * full,
                diameter_max_mm=full,
            )
        )
    return pack(made)


def duty() -> Duty:
    """Three pumps of 540 m³/h at 62 m."""
    cold = Liquid(
        name="fresh water",
        temperature_k=293.15,
        density_kg_m3=998.2,
        vapour_pressure_pa=2339.2,
        kinematic_viscosity_m2s=1.0034e-6,
    )
    return Duty(
        flow_m3s=0.15,
        head_m=62.0,
        system=through_points((0.0, 38.0), (0.45, 62.0)),
        pumps=3,
        liquid=cold,
        suction=Suction(level_m=-2.0, loss_m=0.5),
        speeds_rpm=SPEEDS,
    )


def seconds(packed: Catalogue, asked: Duty, repeats: int = 9) -> float:
    """Median processor time of a search; it runs in one thread, and so does the loop."""
    taken = []
    for _ in range(repeats):
        began = time.process_time()
        search(packed, asked)
        taken.append(time.process_time() - began)
    return statistics.median(taken)


@dataclass
class Loop:
    """Answers of the straightforward loop, one a candidate."""

    diameters: list[float]
    flows: list[list[float]]
    best: list[float]
    highest: list[float]
    taken_s: float


@dataclass
class Sketch:
    """One curve as the loop draws it: SciPy's splines on their knots."""

    knots: Floats
    head: CubicHermiteSpline
    efficiency: CubicHermiteSpline


def carried(test: CurvePoints, diameter: float, speed: float, law: TrimLaw) -> Sketch:
    """Scale the points of a test to a diameter and speed and draw through them."""
    ratio, speed_ratio = diameter / test.diameter_mm, speed / test.speed_rpm
    flow = test.flow_m3s * ratio**law.flow_exponent * speed_ratio
    head = test.head_m * ratio**law.head_exponent * speed_ratio**2
    eta = test.efficiency * (1.0 - law.efficiency_loss * (1.0 - ratio))
    return Sketch(
        flow, PchipInterpolator(flow, head), CubicHermiteSpline(flow, eta, peaked_slopes(flow, eta))
    )


def mixed(one: Sketch, two: Sketch, share: float) -> Sketch:
    """Mix two sketches over the range of both."""
    low, high = max(one.knots[0], two.knots[0]), min(one.knots[-1], two.knots[-1])
    knots = np.unique(np.concatenate([one.knots, two.knots]))
    knots = knots[(knots >= low) & (knots <= high)]

    def blend(a: CubicHermiteSpline, b: CubicHermiteSpline) -> CubicHermiteSpline:
        value = (1 - share) * a(knots) + share * b(knots)
        return CubicHermiteSpline(knots, value, (1 - share) * a(knots, 1) + share * b(knots, 1))

    return Sketch(knots, blend(one.head, two.head), blend(one.efficiency, two.efficiency))


def neighbours(tests: list[CurvePoints], diameter: float) -> list[CurvePoints]:
    """Tests next to a diameter, one or two."""
    at = int(np.searchsorted([test.diameter_mm for test in tests], diameter, side="right"))
    return tests[max(0, at - 1) : at + 1]


def share_of(near: list[CurvePoints], diameter: float) -> float:
    """How far a diameter lies from the smaller neighbour to the larger."""
    return (diameter - near[0].diameter_mm) / (near[1].diameter_mm - near[0].diameter_mm)


def best_trim(impeller: CatalogueImpeller, law: TrimLaw, speed: float, asked: Duty) -> float:
    """Diameter that meets the duty, or the limit nearest to it."""
    tests = sorted(impeller.tests, key=lambda test: test.diameter_mm)
    fits = {
        test.diameter_mm: PchipInterpolator(
            test.flow_m3s * speed / test.speed_rpm, test.head_m * (speed / test.speed_rpm) ** 2
        )
        for test in tests
    }

    def spare(diameter: float) -> float:
        heads: list[float] = []
        near = neighbours(tests, diameter)
        for test in near:
            ratio, fit = diameter / test.diameter_mm, fits[test.diameter_mm]
            flow = min(asked.flow_m3s / ratio**law.flow_exponent, fit.x[-1])
            heads.append(float(fit(flow)) * ratio**law.head_exponent)
        if len(heads) == 1:
            return heads[0] - asked.head_m
        share = share_of(near, diameter)
        return (1 - share) * heads[0] + share * heads[1] - asked.head_m

    low, high = impeller.diameter_min_mm, impeller.diameter_max_mm
    if spare(high) < 0.0:
        return float(high)
    if spare(low) > 0.0:
        return float(low)
    return float(brentq(spare, low, high, xtol=1e-12, rtol=1e-14))


def one_candidate(
    impeller: CatalogueImpeller, law: TrimLaw, speed: float, asked: Duty
) -> tuple[float, list[float], float, float]:
    """Trim one impeller at one speed and meet it with the system."""
    diameter = best_trim(impeller, law, speed, asked)
    near = neighbours(sorted(impeller.tests, key=lambda test: test.diameter_mm), diameter)
    drawn = [carried(test, diameter, speed, law) for test in near]
    curve = drawn[0]
    if len(drawn) == 2:
        curve = mixed(drawn[0], drawn[1], share_of(near, diameter))
    start, end = float(curve.knots[0]), float(curve.knots[-1])
    flows = []
    meetings = [(count, asked.system) for count in range(1, asked.pumps + 1)]
    for running, system in (*meetings, (1, asked.system.low)):

        def spare(q: float, running: int = running, system: SystemCurve = system) -> float:
            return float(curve.head(q)) - float(system.head(running * q))

        meets = spare(end) <= 0.0 <= spare(start)
        flows.append(
            float(brentq(spare, start, end, xtol=1e-14, rtol=1e-14)) if meets else math.nan
        )
    eta, knots = curve.efficiency, curve.knots
    turns = eta.derivative().roots(extrapolate=False)
    best = float(max([*turns, *knots], key=lambda q: float(eta(q))))
    step = np.diff(knots)
    places = np.concatenate([knots, *(knots[:-1] + t * step for t in (0.2, 0.4, 0.6, 0.8))])
    places = places[(places >= 0.15 * best) & (eta(places) > 0.0)]
    weight = asked.liquid.specific_weight_n_m3
    highest = float(np.max(weight * places * curve.head(places) / eta(places)))
    return diameter, flows, best, highest


@cache
def loop() -> Loop:
    """Run the loop over every sixth candidate."""
    packed, asked = catalogue(), duty()
    answers = Loop([], [], [], [], 0.0)
    began = time.process_time()
    for place in range(0, IMPELLERS * len(SPEEDS), EVERY):
        which, speed = divmod(place, len(SPEEDS))
        found = one_candidate(packed.impellers[which], packed.laws[which], SPEEDS[speed], asked)
        answers.diameters.append(found[0])
        answers.flows.append(found[1])
        answers.best.append(found[2])
        answers.highest.append(found[3])
    answers.taken_s = time.process_time() - began
    return answers


@cache
def searched() -> Candidates:
    """The search's answer for the whole catalogue."""
    return search(catalogue(), duty())


@figure("selection-search-against-loop", goal="≥ 200", unit="×")
def against_loop() -> float:
    """How many times faster the search is than the loop, both over all candidates."""
    searched()
    return loop().taken_s * EVERY / seconds(catalogue(), duty())


@figure("selection-search-agreement", goal="≤ 1e-9", unit="relative")
def agreement() -> float:
    """Greatest difference from the loop in trim, operating points, best flow, highest power."""
    answers, solved = loop(), searched().lineup.solved
    at = np.arange(0, len(solved.fit), EVERY)
    theirs = np.array(answers.flows).T
    alone = np.where(solved.alone_state == Alone.MEETS, solved.alone_flow_m3s, np.nan)
    ours = np.vstack([solved.running_flow_m3s, alone])[:, at]
    if not np.array_equal(np.isnan(ours), np.isnan(theirs)):
        return math.inf
    pairs = (
        (solved.diameter_mm[at], np.array(answers.diameters)),
        (ours, theirs),
        (solved.bep_flow_m3s[at], np.array(answers.best)),
        (solved.power_max_w[at], np.array(answers.highest)),
    )
    return max(float(np.nanmax(np.abs(mine / other - 1.0))) for mine, other in pairs)


@figure("selection-search-growth", goal="≤ 1.15", unit="exponent")
def growth() -> float:
    """Power of the catalogue's size with which time grows, from 2,000 to 8,000 impellers."""
    small, large = catalogue(), catalogue(4 * IMPELLERS)
    asked = duty()
    search(large, asked)
    return math.log(seconds(large, asked, 5) / seconds(small, asked, 15)) / math.log(4.0)


@figure("selection-search-peak-memory", unit="MB")
def peak_memory() -> float:
    """Most memory that a search of 2,000 impellers × 3 speeds takes beside its catalogue."""
    packed, asked = catalogue(), duty()
    search(packed, asked)
    tracemalloc.start()
    try:
        search(packed, asked)
        return tracemalloc.get_traced_memory()[1] / 1e6
    finally:
        tracemalloc.stop()


@figure("selection-search-300-impellers", goal="≤ 60", unit="ms")
def three_hundred() -> float:
    """Search of 300 impellers × 3 speeds with the best twenty worded, the desk's inner part."""
    packed, asked = catalogue(300), duty()
    taken = []
    for _ in range(15):
        began = time.perf_counter()
        found = search(packed, asked)
        found.ranked(20)
        found.rejected(10)
        taken.append(time.perf_counter() - began)
    return statistics.median(taken) * 1000.0
