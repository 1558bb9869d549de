"""Operating points against closed forms, published problems and SciPy's root finding."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from selection.hydraulics import (
    Branches,
    CurvePoints,
    Meeting,
    Pipe,
    PipeSystem,
    PumpCurve,
    QuadraticHead,
    SystemCurve,
    at_speed,
    operating_points,
    pumps_in_series,
    speed_family,
    speed_for,
    through_points,
    unlike_in_parallel,
)
from selection.hydraulics.errors import NothingGiven, OutOfBounds

from .examples import FT, FT3, HI_FLOW, HI_HEAD, StraightLines, close, hi_curve, met

# Worked example 21, m and L/min: 20[1 - (Q/100)²] on 5 + 0.002 Q².
LITRE_MINUTE = 1.0 / 6e4
SMALL = QuadraticHead(
    shutoff_m=20.0, quadratic=-20.0 / (100 * LITRE_MINUTE) ** 2, flow_high_m3s=100 * LITRE_MINUTE
)
SMALL_SYSTEM = SystemCurve(static_m=5.0, coefficient=0.002 / LITRE_MINUTE**2)


def test_closed_forms_of_a_parabola_are_met_to_1e_9():
    # One pump √3750 L/min at 12.5 m, parallel √6000 at 17 m, series √(35/0.006) at 16.6667 m.
    one = met(operating_points(SMALL, SMALL_SYSTEM))
    two = met(operating_points(SMALL, SMALL_SYSTEM, 2))
    row = met(pumps_in_series([SMALL, SMALL], SMALL_SYSTEM))
    for point, flow, head in (
        (one, 3750**0.5, 12.5),
        (two, 6000**0.5, 17.0),
        (row, (35 / 0.006) ** 0.5, 50 / 3),
    ):
        assert close(point.flow_m3s / LITRE_MINUTE, flow, 1e-9)
        assert close(point.head_m, head, 1e-9)
        assert point.holds


@given(
    st.floats(10, 200),
    st.floats(0.1, 0.95),
    st.floats(0.01, 1.0),
    st.floats(0.01, 1.0),
    st.integers(1, 6),
)
def test_any_parabola_on_any_parabola_meets_its_closed_form(shutoff, lift, b, k, running):
    # a - b q² = s + k (n q)²  →  q = √((a - s)/(b + k n²))
    static = lift * shutoff
    pump = QuadraticHead(
        shutoff_m=shutoff, quadratic=-b * 1e3, flow_high_m3s=(shutoff / b / 1e3) ** 0.5
    )
    system = SystemCurve(static_m=static, coefficient=k * 1e3)
    each = ((shutoff - static) / (b * 1e3 + k * 1e3 * running**2)) ** 0.5
    point = met(operating_points(pump, system, running))
    assert close(point.flow_m3s, running * each, 1e-9)


def test_the_two_reservoirs_problem_is_met():
    # Published problem: 365 - 20 Q² (ft, ft³/s), lift 290 ft, losses 26.3508 Q². Single 1.27204
    # at 332.638 ft, series 2.57515 at 464.743, parallel 1.54670 total at 353.039.
    pump = QuadraticHead(
        shutoff_m=365 * FT, quadratic=-20 * FT / FT3**2, flow_high_m3s=(365 / 20) ** 0.5 * FT3
    )
    g = 32.2
    area = [np.pi / 4 * (inches / 12) ** 2 for inches in (10, 8)]
    factor = (0.022 * 90 / (10 / 12) / area[0] ** 2 + 0.028 * 4900 / (8 / 12) / area[1] ** 2) / (
        2 * g
    )
    system = SystemCurve(static_m=290 * FT, coefficient=factor * FT / FT3**2)
    single = met(operating_points(pump, system))
    parallel = met(operating_points(pump, system, 2))
    series = met(pumps_in_series([pump, pump], system))
    assert close(single.flow_m3s / FT3, 1.272044, 1e-6)
    assert close(single.head_m / FT, 332.638, 1e-5)
    assert close(parallel.flow_m3s / FT3, 1.546701, 1e-6)
    assert close(parallel.head_m / FT, 353.03858, 1e-6)
    assert close(series.flow_m3s / FT3, 2.575154, 1e-6)
    assert close(series.head_m / FT, 464.743, 1e-5)


def test_the_published_curve_read_by_straight_lines_is_met():
    # System 20 + 0.0006 Q² (m, m³/h): one 209.177 at 46.2530 m; two 244.938 total at 55.9967 m;
    # at 90 % speed one 177.864 at 38.9813 m.
    system = SystemCurve(static_m=20.0, coefficient=0.0006 * 3600**2)
    lines = StraightLines(HI_FLOW / 3600, HI_HEAD)
    one, two = (met(operating_points(lines, system, count)) for count in (1, 2))
    slow = met(operating_points(StraightLines(0.9 * HI_FLOW / 3600, 0.81 * HI_HEAD), system))
    assert close(one.flow_m3s * 3600, 209.177016, 1e-6)
    assert close(one.head_m, 46.2530, 1e-6)
    assert close(two.flow_m3s * 3600, 244.937871, 1e-6)
    assert close(slow.flow_m3s * 3600, 177.863651, 1e-6)
    # The shape-preserving fit agrees with straight lines within a third of a per cent.
    assert close(met(operating_points(hi_curve(), system)).flow_m3s * 3600, 209.177, 3e-3)


@settings(max_examples=60)
@given(st.floats(0.0, 55.0), st.floats(50.0, 3e4), st.integers(1, 5), st.floats(1.5, 2.1))
def test_meetings_are_those_of_scipys_brentq(static, coefficient, running, exponent):
    curve = hi_curve()
    system = SystemCurve(static_m=static, coefficient=coefficient, exponent=exponent)

    def spare(q: float) -> float:
        return float(curve.head(q)) - float(system.head(running * q))

    answer = operating_points(curve, system, running)
    assert answer.converged
    if spare(curve.flow_high_m3s) > 0:
        assert answer.meeting is Meeting.BEYOND_RUNOUT
        assert answer.point is None
    else:
        root = brentq(spare, 0.0, curve.flow_high_m3s, xtol=1e-15, rtol=1e-14)
        assert close(met(answer).flow_m3s, running * root, 1e-9)


@settings(max_examples=60)
@given(st.floats(0.0, 50.0), st.floats(3e3, 3e4), st.integers(1, 4))
def test_one_more_pump_never_gives_less_flow(static, coefficient, running):
    system = SystemCurve(static_m=static, coefficient=coefficient)
    fewer = operating_points(hi_curve(), system, running).point
    more = operating_points(hi_curve(), system, running + 1).point
    if fewer and more:
        assert more.flow_m3s >= fewer.flow_m3s
        assert more.flow_m3s <= (running + 1) / running * fewer.flow_m3s * (1 + 1e-9)


def test_no_meeting_says_by_how_much_head_it_misses():
    answer = operating_points(hi_curve(), SystemCurve(static_m=66.0, coefficient=100.0))
    assert answer.meeting is Meeting.TOO_LITTLE_HEAD
    assert answer.points == ()
    assert answer.misses_by_m == pytest.approx(5.0, abs=0.01)
    assert "misses by 5.0 m of head" in answer.sentence


def test_a_pump_beyond_its_curve_says_so_instead_of_guessing():
    answer = operating_points(hi_curve(), SystemCurve(static_m=10.0, coefficient=100.0))
    assert answer.meeting is Meeting.BEYOND_RUNOUT
    assert "beyond the end of its tested curve" in answer.sentence
    assert answer.nearest_flow_m3s * 3600 == pytest.approx(272.5)


HUMPED = PumpCurve.through(
    CurvePoints(
        flow_m3s=np.array([0.0, 0.02, 0.04, 0.06, 0.08, 0.1]),
        head_m=np.array([50.0, 53.0, 54.0, 52.0, 47.0, 39.0]),
        efficiency=np.array([0.0, 0.4, 0.6, 0.75, 0.8, 0.7]),
        speed_rpm=1480.0,
        diameter_mm=350.0,
    )
)


def test_two_meetings_are_both_given_and_called_unstable():
    answer = operating_points(HUMPED, SystemCurve(static_m=52.0, coefficient=100.0))
    assert answer.meeting is Meeting.SEVERAL
    assert len(answer.points) == 2
    assert [point.holds for point in answer.points] == [False, True]
    assert answer.point is answer.points[1]
    assert answer.sentence.startswith("Unstable")
    for point in answer.points:
        assert float(HUMPED.head(point.flow_m3s)) == pytest.approx(point.head_m, rel=1e-9)


def test_two_meetings_hidden_between_samples_are_found():
    # A static head a hair below the top of the hump: the meetings lie within a few samples.
    top = float(HUMPED.head_max_m)
    answer = operating_points(HUMPED, SystemCurve(static_m=top - 1e-7, coefficient=0.0))
    assert len(answer.points) == 2
    assert abs(answer.points[1].flow_m3s - answer.points[0].flow_m3s) < 1e-4


def test_unlike_pumps_share_the_head_and_the_flow_adds_up():
    large = QuadraticHead(shutoff_m=60.0, quadratic=-400.0, flow_high_m3s=0.35)
    small = QuadraticHead(shutoff_m=50.0, quadratic=-900.0, flow_high_m3s=0.2)
    system = SystemCurve(static_m=20.0, coefficient=100.0)
    answer = unlike_in_parallel([large, small], system)
    h = met(answer).head_m
    each = [((60 - h) / 400) ** 0.5, ((50 - h) / 900) ** 0.5]
    assert np.allclose(met(answer).flow_each_m3s, each, rtol=1e-9)
    assert close(system.head(sum(each)), h, 1e-9)
    assert answer.converged


def test_like_pumps_are_met_the_same_way_as_unlike_ones():
    like = met(operating_points(SMALL, SMALL_SYSTEM, 2))
    unlike = met(unlike_in_parallel([SMALL, SMALL], SMALL_SYSTEM))
    assert close(unlike.flow_m3s, like.flow_m3s, 1e-9)


def test_a_weak_pump_gives_nothing_against_a_strong_one_and_it_is_said():
    strong = QuadraticHead(shutoff_m=60.0, quadratic=-100.0, flow_high_m3s=0.5)
    weak = QuadraticHead(shutoff_m=40.0, quadratic=-100.0, flow_high_m3s=0.5)
    answer = unlike_in_parallel([strong, weak], SystemCurve(static_m=45.0, coefficient=20.0))
    assert met(answer).flow_each_m3s[1] == 0.0
    assert "1 of them gives nothing" in answer.sentence


def test_unlike_pumps_that_cannot_lift_say_by_how_much():
    answer = unlike_in_parallel([SMALL, SMALL], SystemCurve(static_m=23.0, coefficient=1.0))
    assert answer.meeting is Meeting.TOO_LITTLE_HEAD
    assert answer.misses_by_m == pytest.approx(3.0)


def test_exact_pipes_may_be_asked_in_place_of_a_fitted_curve():
    pipes = PipeSystem(
        runs=(Pipe(length_m=400.0, bore_m=0.2, fittings=(("exit", 1),)),), static_m=30.0
    )
    exact = met(operating_points(hi_curve(), pipes))
    fitted = met(operating_points(hi_curve(), pipes.fitted(0.06)))
    assert exact.flow_m3s == pytest.approx(fitted.flow_m3s, rel=1e-3)
    assert float(pipes.head(exact.flow_m3s)) == pytest.approx(exact.head_m, rel=1e-9)


def test_branches_may_be_asked_as_well():
    branch = SystemCurve(static_m=20.0, coefficient=0.0006 * 3600**2 * 4)
    both = Branches(branches=(branch, branch))
    alone = SystemCurve(static_m=20.0, coefficient=0.0006 * 3600**2)
    assert met(operating_points(hi_curve(), both)).flow_m3s == pytest.approx(
        met(operating_points(hi_curve(), alone)).flow_m3s, rel=1e-9
    )


def test_the_speed_for_a_flow_gives_that_flow():
    system = SystemCurve(static_m=15.0, coefficient=6000.0)
    answer = speed_for(hi_curve(), system, 0.05)
    assert answer.converged
    assert answer.speed_rpm < 1480.0
    slow = at_speed(hi_curve(), answer.speed_rpm)
    assert met(operating_points(slow, system)).flow_m3s == pytest.approx(0.05, rel=1e-9)
    assert answer.efficiency == pytest.approx(float(slow.efficiency(0.05)), rel=1e-9)


@pytest.mark.parametrize(
    ("static", "flow", "words"),
    [
        (60.0, 0.06, "m of head are still lacking"),
        (2.0, 0.02, "too much"),
        (2.0, 0.2, "beyond the end of the curve"),
    ],
)
def test_a_flow_no_speed_gives_is_answered_with_the_reason(static, flow, words):
    answer = speed_for(hi_curve(), SystemCurve(static_m=static, coefficient=100.0), flow)
    assert not answer.converged
    assert np.isnan(answer.speed_rpm)
    assert words in answer.why_not


def test_a_family_of_speeds_is_in_the_order_asked():
    family = speed_family(hi_curve(), [1200.0, 1480.0, 900.0])
    assert [curve.speed_rpm for curve in family] == [1200.0, 1480.0, 900.0]
    assert family[2].shutoff_head_m == pytest.approx(61.0 * (900 / 1480) ** 2)


@pytest.mark.parametrize("running", [0, -1, 101])
def test_an_absurd_number_of_pumps_is_refused(running):
    with pytest.raises(OutOfBounds, match="number of pumps"):
        operating_points(SMALL, SMALL_SYSTEM, running)


def test_no_pumps_are_refused():
    with pytest.raises(NothingGiven):
        pumps_in_series([], SMALL_SYSTEM)
    with pytest.raises(NothingGiven):
        unlike_in_parallel([], SMALL_SYSTEM)


def test_the_standing_system_through_two_points_is_met_at_the_duty():
    system = through_points((0.0, 30.0), (0.06, 44.0))
    point = met(operating_points(hi_curve(), system))
    assert float(system.head(point.flow_m3s)) == pytest.approx(point.head_m)
