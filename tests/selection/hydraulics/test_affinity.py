"""Speed and trim laws against printed examples, and what they must never do."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from selection.hydraulics import (
    ImpellerFamily,
    PumpCurve,
    TrimLaw,
    at_speed,
    blend,
    diameter_for,
    learn_law,
    points_at_speed,
    practice_law,
    trimmed,
)
from selection.hydraulics.affinity import PRACTICE
from selection.hydraulics.door import Certainty
from selection.hydraulics.errors import DisagreeingTests, NothingGiven, OutOfBounds
from selection.hydraulics.generate import points_of

from .examples import FT, GPM, HP, close, hi_curve, hi_points, made_points, pattern


def test_a_change_of_speed_meets_cranes_example():
    # Crane TP 410, example 7.33: 400 gpm, 126 ft, 17.5 hp at 3500 rev/min brought to 1700.
    ratio = 1700 / 3500
    curve = at_speed(hi_curve(), 1480 * ratio)
    one = 200 / 3600
    scale = 400 * GPM / one, 126 * FT / float(hi_curve().head(one))
    assert close(one * ratio * scale[0] / GPM, 194.28571, 1e-6)
    assert close(float(curve.head(one * ratio)) * scale[1] / FT, 29.725714, 1e-6)
    power = float(curve.power(one * ratio) / hi_curve().power(one)) * 17.5 * HP
    assert close(power / HP, 2.005306, 1e-6)


def test_a_trim_by_the_simple_law_meets_the_worked_figures():
    # HI Engineering Data 1.B.7 on 300 mm, 100 m³/h, 50 m to 280 mm: 93.333 m³/h, 43.556 m,
    # power × 0.81304; 45 m needs 284.605 mm.
    ratio = 280 / 300
    full = hi_curve()
    cut = trimmed(full, full.diameter_mm * ratio, PRACTICE)
    at = 150 / 3600
    assert close(float(cut.head(at * ratio)) / float(full.head(at)) * 50, 43.555556, 1e-6)
    assert close(100 * ratio**PRACTICE.flow_exponent, 93.333333, 1e-6)
    assert close(float(cut.power(at * ratio) / full.power(at)), 0.81304, 1e-4)
    assert close(diameter_for(300.0, 50.0, 45.0), 284.604989, 1e-6)


@given(st.floats(300.0, 3600.0), st.floats(0.05, 0.95))
def test_to_another_speed_and_back_is_where_one_was(speed, share):
    curve = hi_curve()
    there = at_speed(at_speed(curve, speed), curve.speed_rpm)
    flow = curve.flow_low_m3s + share * (curve.flow_high_m3s - curve.flow_low_m3s)
    assert np.isclose(there.head(flow), curve.head(flow), rtol=1e-12)
    assert np.isclose(there.efficiency(flow), curve.efficiency(flow), rtol=1e-11)
    assert there.bep_flow_m3s == pytest.approx(curve.bep_flow_m3s, rel=1e-12)


@given(st.floats(0.75, 1.0), st.floats(0.8, 1.4), st.floats(1.8, 3.0), st.floats(0.05, 0.95))
def test_to_another_diameter_and_back_is_where_one_was(ratio, flow_power, head_power, share):
    law = TrimLaw(flow_exponent=flow_power, head_exponent=head_power)
    curve = hi_curve()
    there = trimmed(trimmed(curve, curve.diameter_mm * ratio, law), curve.diameter_mm, law)
    flow = share * curve.flow_high_m3s
    assert np.isclose(there.head(flow), curve.head(flow), rtol=1e-10)


@given(st.floats(0.7, 0.999), st.floats(0.5, 1.5), st.floats(1.6, 3.5), st.floats(0.0, 1.0))
def test_trimming_never_raises_head(ratio, flow_power, head_power, share):
    law = TrimLaw(flow_exponent=flow_power, head_exponent=head_power)
    full = hi_curve()
    cut = trimmed(full, full.diameter_mm * ratio, law)
    flow = share * cut.flow_high_m3s
    assert cut.head(flow) <= full.head(flow) * (1.0 + 1e-12)


@settings(deadline=None)  # the first call compiles
@given(st.floats(0.85, 0.995), st.floats(0.0, 1.0))
def test_trimming_between_tested_diameters_never_raises_head(ratio, share):
    family = ImpellerFamily(tests=(made_points(), made_points(0.93), made_points(0.87)))
    full = family.tests[0].diameter_mm
    large = family.curve_at(full, 1480.0)
    small = family.curve_at(full * ratio, 1480.0)
    flow = share * small.flow_high_m3s
    assert small.head(flow) <= large.head(flow) * (1.0 + 1e-9)


def test_points_follow_the_speed_law():
    points = points_at_speed(hi_points(), 1180.0)
    ratio = 1180.0 / 1480.0
    assert points.flow_m3s[-1] == pytest.approx(hi_points().flow_m3s[-1] * ratio)
    assert points.head_m[0] == pytest.approx(61.0 * ratio**2)
    assert points.npshr_m is not None
    assert points.npshr_m[-1] == pytest.approx(5.5 * ratio**2)
    assert points.efficiency[9] == 0.78


def test_the_exponents_are_learned_from_two_diameters():
    # The made-up tests move with exponents 1.1 and 2.3 and lose 0.2 of efficiency.
    law = learn_law([made_points(), made_points(0.9)])
    assert law.learned
    assert law.tests == 2
    assert law.flow_exponent == pytest.approx(1.1, abs=1e-9)
    assert law.head_exponent == pytest.approx(2.3, abs=1e-9)
    assert law.efficiency_loss == pytest.approx(0.2, abs=1e-9)
    assert "learned from 2 tests" in law.sentence
    assert "D^2.30" in law.sentence


def test_one_diameter_teaches_nothing_and_the_law_says_so():
    law = learn_law([made_points()], otherwise=practice_law(25.0))
    assert not law.learned
    assert "practice value" in law.sentence
    assert law.certainty is Certainty.MEMORY


def test_diameters_too_close_together_teach_nothing():
    assert not learn_law([made_points(), made_points(0.99)]).learned


def test_implausible_exponents_are_named_and_not_used():
    whole, small = made_points(), made_points(0.9)
    odd = type(small)(
        flow_m3s=small.flow_m3s,
        head_m=small.head_m * 0.7,
        efficiency=small.efficiency,
        speed_rpm=small.speed_rpm,
        diameter_mm=small.diameter_mm,
    )
    law = learn_law([whole, odd])
    assert not law.learned
    assert "not plausible" in law.source


@pytest.mark.parametrize(("n_q", "loss"), [(20.0, 0.15), (30.0, 0.20), (40.0, 0.25)])
def test_the_practice_law_loses_efficiency_as_guelich_is_remembered(n_q, loss):
    assert practice_law(n_q).efficiency_loss == pytest.approx(loss)


def test_a_family_meets_its_tests_at_their_own_diameters():
    tests = (made_points(), made_points(0.94), made_points(0.88))
    family = ImpellerFamily(tests=tests)
    for test in tests:
        curve = family.curve_at(test.diameter_mm, test.speed_rpm)
        assert np.allclose(curve.head(test.flow_m3s[:-1]), test.head_m[:-1], rtol=1e-9)
        assert np.allclose(curve.efficiency(test.flow_m3s[:-1]), test.efficiency[:-1], rtol=1e-9)


def test_between_two_tests_the_curve_is_near_the_one_a_third_test_would_give():
    layout = pattern()
    family = ImpellerFamily(tests=(made_points(), made_points(0.9)))
    between = family.curve_at(0.95 * layout.diameter_mm, 1480.0)
    truth = PumpCurve.through(points_of(layout, 0.95 * layout.diameter_mm))
    flow = np.linspace(0.02, 0.95 * truth.flow_high_m3s, 20)
    assert np.allclose(between.head(flow), truth.head(flow), rtol=2e-3)
    assert np.allclose(between.efficiency(flow), truth.efficiency(flow), atol=2e-3)


def test_curves_at_different_speeds_are_not_mixed():
    with pytest.raises(DisagreeingTests, match="one speed and diameter"):
        blend(hi_curve(), at_speed(hi_curve(), 1000.0), 0.5)


def test_two_tests_at_one_diameter_are_not_silently_chosen_from():
    with pytest.raises(DisagreeingTests, match="one diameter"):
        ImpellerFamily(tests=(made_points(), made_points())).curve_at(400.0, 1480.0)


def test_a_family_without_tests_is_refused():
    with pytest.raises(NothingGiven, match="test of the impeller"):
        ImpellerFamily(tests=())


@pytest.mark.parametrize("speed", [0.0, -5.0, 50_000.0])
def test_an_absurd_speed_is_refused(speed):
    with pytest.raises(OutOfBounds):
        at_speed(hi_curve(), speed)


def test_a_head_above_the_full_diameters_is_refused():
    with pytest.raises(OutOfBounds, match="head wanted"):
        diameter_for(300.0, 50.0, 51.0)
