"""System curves: two points, series, branches, ageing, band; the refusals."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from selection.hydraulics import Branches, SystemCurve, systems_in_series, through_points
from selection.hydraulics.errors import (
    HeadFallsWithFlow,
    HydraulicsError,
    NothingGiven,
    OutOfBounds,
    SamePoint,
)


def test_a_curve_goes_through_its_two_points_in_either_order():
    for pair in (((0.0, 30.0), (0.45, 62.0)), ((0.45, 62.0), (0.0, 30.0))):
        system = through_points(*pair)
        assert system.static_m == pytest.approx(30.0)
        assert system.head(0.45) == pytest.approx(62.0)
        assert system.head(0.225) == pytest.approx(38.0)


def test_two_points_off_the_axis_give_the_static_head():
    # 5 + 0.002 Q² (m, L/min) of worked example 21, read at 20 and 60 L/min.
    system = through_points((20.0 / 6e4, 5.8), (60.0 / 6e4, 12.2))
    assert system.static_m == pytest.approx(5.0)
    assert system.head(40.0 / 6e4) == pytest.approx(8.2)


def test_a_head_that_falls_with_flow_is_refused():
    with pytest.raises(HeadFallsWithFlow, match="second head must be the higher"):
        through_points((0.1, 50.0), (0.2, 40.0))


def test_two_points_at_one_flow_are_refused():
    with pytest.raises(SamePoint, match="two different flows"):
        through_points((0.1, 50.0), (0.1, 40.0))


@pytest.mark.parametrize(
    "point", [(-0.1, 20.0), (float("nan"), 20.0), (0.2, float("inf")), (540.0, 62.0)]
)
def test_an_impossible_point_is_refused(point):
    with pytest.raises(HydraulicsError):
        through_points((0.0, 10.0), point)


def test_a_band_of_levels_gives_two_more_systems():
    system = SystemCurve(static_m=30.0, coefficient=100.0, static_low_m=27.0, static_high_m=34.0)
    assert system.has_band
    assert system.low.head(0.1) == pytest.approx(28.0)
    assert system.high.head(0.1) == pytest.approx(35.0)
    assert not system.low.has_band


def test_a_band_upside_down_is_refused():
    with pytest.raises(OutOfBounds, match="least static head"):
        SystemCurve(static_m=30.0, coefficient=1.0, static_low_m=31.0)


def test_age_multiplies_losses_alone():
    aged = through_points((0.0, 30.0), (0.4, 46.0)).aged(1.15)
    assert aged.static_m == pytest.approx(30.0)
    assert aged.head(0.4) == pytest.approx(30.0 + 16.0 * 1.15)
    assert "1.15" in aged.source


def test_systems_in_series_add_up():
    first = SystemCurve(static_m=10.0, coefficient=50.0, static_high_m=12.0)
    second = SystemCurve(static_m=5.0, coefficient=30.0)
    both = systems_in_series([first, second])
    assert both.head(0.3) == pytest.approx(first.head(0.3) + second.head(0.3))
    assert both.high.static_m == pytest.approx(17.0)
    with pytest.raises(OutOfBounds, match="exponent"):
        systems_in_series([first, SystemCurve(static_m=0.0, coefficient=1.0, exponent=1.852)])
    with pytest.raises(NothingGiven):
        systems_in_series([])


def test_like_branches_share_the_flow_and_quarter_the_loss():
    branch = SystemCurve(static_m=0.0, coefficient=100.0)
    pair = Branches(branches=(branch, branch))
    flow = np.array([0.0, 0.1, 0.4])
    assert np.allclose(pair.head(flow), branch.head(flow / 2), rtol=1e-12)


def test_unlike_branches_meet_the_closed_form():
    # k_eff = (k1^-1/2 + k2^-1/2)^-2 for branches without static head.
    one, two = (
        SystemCurve(static_m=0.0, coefficient=80.0),
        SystemCurve(static_m=0.0, coefficient=200.0),
    )
    together = (80.0**-0.5 + 200.0**-0.5) ** -2
    assert Branches(branches=(one, two)).head(0.3) == pytest.approx(together * 0.09, rel=1e-12)


def test_a_higher_branch_carries_nothing_until_the_head_reaches_it():
    low = SystemCurve(static_m=0.0, coefficient=100.0)
    high = SystemCurve(static_m=20.0, coefficient=100.0)
    both = Branches(branches=(low, high))
    assert both.head(0.3) == pytest.approx(9.0)
    assert both.flows_at(9.0)[1] == 0.0
    head = float(both.head(0.8))
    assert 20.0 < head < 64.0
    assert both.flows_at(head).sum() == pytest.approx(0.8, rel=1e-12)


@given(
    st.lists(st.tuples(st.floats(-20, 40), st.floats(0.1, 1e4)), min_size=1, max_size=4),
    st.floats(0.0, 1.0),
    st.floats(0.0, 1.0),
)
def test_more_flow_never_asks_less_head_of_branches(figures, one, two):
    branches = Branches(branches=tuple(SystemCurve(static_m=s, coefficient=k) for s, k in figures))
    less, more = sorted([one, two])
    assert branches.head(less) <= branches.head(more) + 1e-9


@given(st.floats(1.0, 2.1), st.floats(1e-3, 1e4), st.floats(-50, 200), st.floats(1e-3, 2.0))
def test_the_flow_at_a_head_takes_that_head(exponent, coefficient, static, flow):
    system = SystemCurve(static_m=static, coefficient=coefficient, exponent=exponent)
    head = system.head(flow)
    if head - static > 1e-6:
        assert system.flow_at(head) == pytest.approx(flow, rel=1e-6)
    assert system.flow_at(static - 1.0) == 0.0


def test_branches_without_any_are_refused():
    with pytest.raises(NothingGiven, match="branch"):
        Branches(branches=())
