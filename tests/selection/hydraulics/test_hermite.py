"""Fits against SciPy's PCHIP, and the promises that they make about shape."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import CubicHermiteSpline, PchipInterpolator

from selection.hydraulics.hermite import Cubic, peaked_slopes, shape_preserving_slopes
from selection.hydraulics.many import Cubics

steps = st.lists(st.floats(0.01, 10.0), min_size=4, max_size=14)


@st.composite
def points(draw):
    x = np.cumsum(draw(steps))
    y = np.array(draw(st.lists(st.floats(-50, 50), min_size=len(x), max_size=len(x))))
    return x, np.round(y, 6)  # SciPy's own slopes overflow on differences of 1e-308


@given(points())
def test_slopes_are_those_of_scipys_pchip(drawn):
    x, y = drawn
    expected = PchipInterpolator(x, y)(x, 1)
    assert np.allclose(shape_preserving_slopes(x, y), expected, rtol=1e-9, atol=1e-9)


@given(points(), st.floats(0.0, 1.0))
def test_a_fit_is_the_cubic_of_its_knots_and_slopes(drawn, share):
    x, y = drawn
    curve = Cubic.through(x, y)
    spline = CubicHermiteSpline(x, y, curve.slopes)
    at = x[0] + share * (x[-1] - x[0])
    assert np.isclose(curve(at), spline(at), rtol=1e-9, atol=1e-9)
    assert np.isclose(curve.slope(at), spline(at, 1), rtol=1e-7, atol=1e-7)


@given(points())
def test_a_fit_stays_between_neighbouring_points(drawn):
    x, y = drawn
    curve = Cubic.through(x, y)
    for k in range(len(x) - 1):
        inside = curve(np.linspace(x[k], x[k + 1], 25))
        low, high = min(y[k], y[k + 1]), max(y[k], y[k + 1])
        assert (inside >= low - 1e-9).all()
        assert (inside <= high + 1e-9).all()


def test_a_peak_may_stand_beside_the_highest_point_but_there_is_only_one():
    x = np.array([0.0, 1.0, 2.0, 3.0, 4.0])
    y = np.array([0.0, 0.6, 0.8, 0.75, 0.5])
    curve = Cubic.through(x, y, peaked=True)
    place, height = curve.peak()
    assert 2.0 < place < 3.0
    assert 0.8 < height < 0.83
    slopes = np.sign(curve.slope(np.linspace(0.001, 3.999, 4000)))
    assert np.count_nonzero(np.diff(slopes)) == 1


def test_a_parabolas_peak_is_found_where_it_is():
    x = np.linspace(0.0, 2.0, 9)
    curve = Cubic.through(x, 1.0 - (x - 1.07) ** 2, peaked=True)
    assert curve.peak()[0] == pytest.approx(1.07, abs=0.01)
    assert curve.peak()[1] == pytest.approx(1.0, abs=1e-3)


def test_outside_its_range_a_fit_answers_nothing():
    curve = Cubic.through(np.array([1.0, 2.0, 3.0]), np.array([3.0, 2.0, 0.0]))
    assert np.isnan(curve(0.99))
    assert np.isnan(curve(3.01))
    assert np.isnan(curve.slope(3.01))


@settings(max_examples=40, deadline=None)  # the first call compiles
@given(points(), points(), st.floats(0.0, 1.0))
def test_rows_answer_what_single_curves_answer(first, second, share):
    singles = [Cubic.through(*first, peaked=True), Cubic.through(*second)]
    rows = Cubics.stack(singles)
    at = np.array([curve.low + share * (curve.high - curve.low) for curve in singles])
    assert np.allclose(rows.at(at), [float(c(x)) for c, x in zip(singles, at, strict=True)])
    place, height = rows.peaks()
    for row, curve in enumerate(singles):
        assert np.isclose(height[row], curve.peak()[1], rtol=1e-9, atol=1e-12)
        assert np.isclose(float(curve(place[row])), height[row], rtol=1e-9, atol=1e-9)
    assert np.isnan(rows.at(np.array([curve.high + 1.0 for curve in singles]))).all()


@settings(max_examples=40, deadline=None)  # the first call compiles
@given(points(), points(), st.floats(0.0, 1.0))
def test_mixing_rows_is_mixing_single_curves(first, second, share):
    one, two = Cubic.through(*first), Cubic.through(*second)
    low, high = max(one.low, two.low), min(one.high, two.high)
    if high - low < 1e-6:
        return
    single = one.mixed(two, share)
    row = Cubics.stack([one]).mixed(Cubics.stack([two]), np.array([share]))
    x = np.linspace(low, high, 11)
    expected = (1.0 - share) * one(x) + share * two(x)
    assert np.allclose(single(x), expected, rtol=1e-7, atol=1e-6)
    assert np.allclose([row.at(np.array([q]))[0] for q in x], single(x), rtol=1e-9, atol=1e-7)


def test_peaked_slopes_work_on_many_curves_at_once():
    x = np.tile(np.linspace(0.0, 1.0, 6), (3, 1))
    y = np.array(
        [[0, 0.5, 0.8, 0.7, 0.4, 0.1], [0, 1, 2, 3, 4, 5], [5, 4, 3, 2, 1, 0]], dtype=float
    )
    together = peaked_slopes(x, y)
    for row in range(3):
        assert np.allclose(together[row], peaked_slopes(x[row], y[row]))
