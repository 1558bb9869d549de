"""Curves through measured points: honest between them, silent beyond them."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from quality.acceptance.curves import Pieces, curve_through, drawn_through, nearest
from quality.acceptance.errors import CurveTooShort, NotANumber, OutsideMeasuredRange

FLOW = np.array([0.0, 0.1, 0.2, 0.3, 0.4])
HEAD = np.array([60.0, 58.0, 53.0, 45.0, 33.0])


@pytest.mark.parametrize("pieces", list(Pieces))
def test_the_curve_runs_through_every_point(pieces):
    curve = curve_through("head", FLOW, HEAD, pieces)
    assert [curve.at(q) for q in FLOW] == pytest.approx(HEAD.tolist())


def test_monotone_pieces_agree_with_scipy():
    curve = curve_through("head", FLOW, HEAD)
    flow = np.linspace(0, 0.4, 57)
    np.testing.assert_allclose(curve.along(flow), PchipInterpolator(FLOW, HEAD)(flow))


@given(
    st.lists(
        st.tuples(st.floats(0, 1), st.floats(1, 100)),
        min_size=3,
        max_size=12,
        unique_by=lambda p: p[0],
    )
)
def test_the_curve_never_overshoots_its_points(points):
    flow, head = (np.array(v) for v in zip(*points, strict=True))
    if np.ptp(flow) < 0.01 * flow.max():
        return
    curve = curve_through("head", flow, head)
    values = curve.along(np.linspace(curve.lowest, curve.highest, 300))
    assert np.nanmax(values) <= head.max() + 1e-9
    assert np.nanmin(values) >= head.min() - 1e-9


def test_nothing_is_said_beyond_the_measured_range():
    curve = curve_through("head", FLOW, HEAD)
    with pytest.raises(OutsideMeasuredRange, match="take readings on both sides"):
        curve.at(0.41)
    assert np.isnan(curve.along(np.array([-0.01, 0.41]))).all()


@pytest.mark.parametrize("pieces", list(Pieces))
@pytest.mark.parametrize("level", [59.3, 58.0, 45.0, 33.0, 60.0])
def test_crossings_with_a_level_lie_on_the_curve(pieces, level):
    curve = curve_through("head", FLOW, HEAD, pieces)
    (flow,) = curve.crossings(level=level)
    assert curve.at(flow) == pytest.approx(level, abs=1e-9)


def test_a_curve_that_rises_and_falls_crosses_a_level_twice():
    curve = curve_through("head", FLOW, np.array([56.0, 58.0, 53.0, 45.0, 33.0]))
    assert len(curve.crossings(level=57.0)) == 2


def test_a_flat_stretch_at_the_level_does_not_break_the_search():
    curve = curve_through("head", FLOW, np.array([58.0, 58.0, 53.0, 45.0, 33.0]))
    assert nearest(curve.crossings(level=58.0), 0.1) == pytest.approx(0.1)


def test_the_line_from_the_origin_is_met_once():
    curve = curve_through("head", FLOW, HEAD)
    (flow,) = curve.crossings(slope=150.0)
    assert curve.at(flow) == pytest.approx(150 * flow)


def test_readings_at_one_setting_of_the_valve_count_as_their_mean():
    flow = np.array([0.0, 0.2, 0.20004, 0.4])
    curve = curve_through("head", flow, np.array([60.0, 53.0, 54.0, 33.0]))
    assert len(curve.flow) == 3
    assert curve.at(0.20002) == pytest.approx(53.5)


def test_one_flow_makes_no_curve():
    with pytest.raises(CurveTooShort, match="2 points at different flows; there are 1"):
        curve_through("head", np.array([0.1, 0.1]), np.array([50.0, 51.0]))


def test_a_value_that_is_no_number_is_refused_with_its_place():
    with pytest.raises(NotANumber, match="A value of head at point 2"):
        curve_through("head", FLOW, np.array([60.0, np.nan, 53.0, 45.0, 33.0]))


def test_the_drawn_curve_finds_a_cubic_again():
    flow = np.linspace(0, 0.4, 13)
    truth = 60 - 20 * flow + 30 * flow**2 - 200 * flow**3
    drawn = drawn_through("head", flow, truth)
    np.testing.assert_allclose(drawn.along(flow), truth, rtol=1e-10)
    assert drawn.scatter == pytest.approx(0, abs=1e-9)


def test_the_band_covers_the_true_mean_as_often_as_it_says():
    rng = np.random.default_rng(11)
    flow = np.linspace(0, 0.4, 13)
    truth = 60 - 20 * flow - 120 * flow**2
    at = np.array([0.23])
    true_there = 60 - 20 * at - 120 * at**2
    held = 0
    for _ in range(2000):
        drawn = drawn_through("head", flow, truth + rng.normal(0, 0.4, 13))
        held += bool(np.abs(drawn.along(at) - true_there)[0] <= drawn.band(at)[0])
    # 95 % of 2000, and three standard deviations of a binomial.
    assert held / 2000 == pytest.approx(0.95, abs=3 * (0.95 * 0.05 / 2000) ** 0.5)
