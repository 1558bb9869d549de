"""A run on the bed taken together: verdict, uncertainty from its instruments, class, chance."""

import math
import pickle
from dataclasses import replace

import numpy as np
import pytest
import uncertainties

from bench.acceptance import (
    DENSITY,
    INSTRUMENTS,
    LIMITS,
    PROMISE,
    SET_UP,
    TABLES,
    assessed,
    readings,
    tolerances,
)
from quality.acceptance.bed import assess, scatter_shares, sources_of_run
from quality.acceptance.errors import BadSetUp, InstrumentUnfit
from quality.acceptance.evidence import Outcome
from quality.acceptance.propagation import shares_at
from quality.acceptance.readings import STANDARD_GRAVITY, MotorCurve, points_of
from quality.acceptance.standards import uncertainty_limits


def test_a_run_is_judged_with_everything_known_about_it():
    run = assessed(readings())
    assert run.verdict.outcome is Outcome.PASSED
    assert run.good_enough is Outcome.PASSED
    assert run.chance is not None
    assert run.chance.value < 0.001
    assert set(run.drawn) == {"head", "power", "efficiency"}
    assert {"flow", "total head", "speed"} <= run.overall.keys()


def test_efficiency_agrees_with_the_package_through_gauges_torque_and_speed():
    """Flow enters the velocity heads too, and speed the power: both have to be followed."""
    taken = readings()
    points = points_of(taken, SET_UP)
    sources = sources_of_run(taken, points, SET_UP, INSTRUMENTS)
    shares = shares_at(points, sources, PROMISE.flow_m3s)
    near = min(range(len(points)), key=lambda i: abs(points[i].flow_m3s - PROMISE.flow_m3s))
    read = taken[near]

    def sure(field):
        value = getattr(read, field)
        return uncertainties.ufloat(value, INSTRUMENTS[field].standard(value))

    flow, suction, discharge = sure("flow_m3s"), sure("suction_pa"), sure("discharge_pa")
    torque, speed = sure("torque_nm"), sure("speed_rpm")
    velocity = (flow / (math.pi / 4 * 0.25**2)) ** 2 - (flow / (math.pi / 4 * 0.30**2)) ** 2
    head = (
        (discharge - suction) / (DENSITY * STANDARD_GRAVITY)
        + 1.0
        + velocity / (2 * STANDARD_GRAVITY)
    )
    power = torque * speed * 2 * math.pi / 60
    efficiency = DENSITY * STANDARD_GRAVITY * flow * head / power
    for quantity, value in (("head", head), ("power", power), ("efficiency", efficiency)):
        assert shares[quantity] == pytest.approx(2 * value.std_dev / value.nominal_value, rel=1e-6)


def test_power_from_the_motor_carries_the_motors_own_uncertainty():
    bed = replace(SET_UP, motor=MotorCurve(inputs_w=(1.0, 1e6), efficiencies=(0.93, 0.93)))
    taken = tuple(
        replace(r, torque_nm=None, electric_power_w=100e3 + 1e3 * r.number) for r in readings()
    )
    points = points_of(taken, bed)
    instruments = {
        "flow_m3s": INSTRUMENTS["flow_m3s"],
        "electric_power_w": INSTRUMENTS["torque_nm"],
    }
    sources = sources_of_run(taken, points, bed, instruments, motor_efficiency_share=0.015)
    shares = shares_at(points, sources, PROMISE.flow_m3s)
    assert shares["power"] == pytest.approx(math.hypot(0.005, 0.015), rel=1e-6)


def test_instruments_not_good_enough_for_the_class_are_said():
    poor = {**INSTRUMENTS, "flow_m3s": replace(INSTRUMENTS["flow_m3s"], to_si=1.0)}
    poor["flow_m3s"] = replace(
        poor["flow_m3s"],
        instrument=replace(poor["flow_m3s"].instrument, uncertainty_share=0.03),
    )
    run = assess(
        readings(),
        SET_UP,
        PROMISE,
        tolerances(),
        limits=LIMITS,
        instruments=poor,
        class_limits=uncertainty_limits(TABLES, "1"),
    )
    assert run.good_enough is Outcome.FAILED
    assert any("not good enough" in check.sentence for check in run.checks)
    loose = uncertainty_limits(TABLES, "2")
    assert all(
        check.outcome is Outcome.PASSED
        for check in assess(
            readings(),
            SET_UP,
            PROMISE,
            tolerances(),
            limits=LIMITS,
            instruments=poor,
            class_limits=[x for x in loose if x.overall],
        ).checks
    )


def test_a_gauge_in_bar_counts_like_one_in_pascal():
    gauge = INSTRUMENTS["discharge_pa"]
    in_bar = replace(
        gauge,
        instrument=replace(gauge.instrument, unit="bar", uncertainty_fixed=0.04),
        to_si=1e5,
    )
    assert in_bar.standard(6e5) == pytest.approx(gauge.standard(6e5))


def test_scatter_is_seen_from_the_points_about_their_curve():
    rng = np.random.default_rng(8)
    taken = readings()
    run = assessed(taken)
    rated = run.verdict.points
    noisy = replace(rated, head=rated.head * (1 + rng.normal(0, 0.005, len(rated.head))))
    assert scatter_shares(noisy)["head"] == pytest.approx(0.01, rel=0.5)
    few = replace(
        rated, flow=rated.flow[:5], head=rated.head[:5], power=rated.power[:5],
        efficiency=rated.efficiency[:5],
    )  # fmt: skip
    assert scatter_shares(few) == {}


def test_the_same_readings_give_the_same_bytes():
    first, second = assessed(readings()), assessed(readings())
    assert first.verdict.reasons == second.verdict.reasons
    assert first.chance == second.chance
    assert pickle.dumps(first.uncertainty.covariance) == pickle.dumps(second.uncertainty.covariance)


def test_an_instrument_for_something_the_bed_does_not_read_is_refused():
    with pytest.raises(InstrumentUnfit, match="'colour' is not read on the bed"):
        sources_of_run(
            readings(),
            points_of(readings(), SET_UP),
            SET_UP,
            {"colour": INSTRUMENTS["flow_m3s"]},
        )


def test_scatter_of_something_unknown_or_negative_is_refused():
    points = points_of(readings(), SET_UP)
    for shares in ({"colour": 0.01}, {"head": -0.01}):
        with pytest.raises(BadSetUp, match="scatter of"):
            sources_of_run(readings(), points, SET_UP, {}, random_shares=shares)
