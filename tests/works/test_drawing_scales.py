"""Scales and ticks."""

import math
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from works.drawing.scales import (
    Linear,
    TimeScale,
    bounds,
    mondays,
    months,
    nice_ticks,
    tick_decimals,
)

LISBON = ZoneInfo("Europe/Lisbon")


@given(
    low=st.floats(-1e6, 1e6),
    span=st.floats(1e-3, 1e6),
    about=st.integers(3, 10),
)
def test_ticks_cover_the_figures_in_round_and_equal_steps(
    low: float, span: float, about: int
) -> None:
    high = low + span
    assume(high > low)
    ticks = nice_ticks(low, high, about)
    step = ticks[1] - ticks[0]
    assert ticks[0] <= low + 1e-6 * step
    assert ticks[-1] >= high - 1e-6 * step
    assert ticks[0] > low - step * 1.001
    assert ticks[-1] < high + step * 1.001
    assert about / 2 - 1 <= len(ticks) <= 2 * about
    factor = step / 10.0 ** math.floor(math.log10(step) + 1e-9)
    assert min(abs(factor - round_step) for round_step in (1, 2, 2.5, 5, 10)) < 1e-3


@pytest.mark.parametrize(
    ("low", "high", "about", "ticks"),
    [
        (0, 100, 6, (0, 20, 40, 60, 80, 100)),
        (0, 58, 6, (0, 20, 40, 60)),
        (41.2, 62, 6, (40, 45, 50, 55, 60, 65)),
        (-0.3, 0.3, 5, (-0.4, -0.2, 0, 0.2, 0.4)),
    ],
)
def test_ticks_are_the_ones_that_one_would_draw_by_hand(
    low: float, high: float, about: int, ticks: tuple[float, ...]
) -> None:
    assert nice_ticks(low, high, about) == pytest.approx(ticks)


@pytest.mark.parametrize(("low", "high"), [(1.0, 1.0), (2.0, 1.0), (0.0, math.inf), (math.nan, 1)])
def test_an_axis_without_bounds_in_order_is_refused(low: float, high: float) -> None:
    with pytest.raises(ValueError, match="finite bounds in order"):
        nice_ticks(low, high)


@pytest.mark.parametrize(
    ("ticks", "decimals"), [((0, 20, 40), 0), ((0, 2.5), 1), ((0.05, 0.10), 2), ((0, 0.125), 3)]
)
def test_ticks_show_as_many_decimals_as_tell_them_apart(
    ticks: tuple[float, ...], decimals: int
) -> None:
    assert tick_decimals(ticks) == decimals


def test_a_linear_scale_meets_its_ends_and_may_run_downward() -> None:
    y = Linear(0, 50, 300, 20)
    assert (y(0), y(50), y(25)) == (300, 20, 160)


def test_figures_that_coincide_are_spread_so_that_an_axis_can_be_drawn() -> None:
    low, high = bounds([5.0, 5.0])
    assert low < 5 < high
    assert bounds([3.0, 7.0], from_zero=True) == (0.0, 7.0)
    assert bounds([-3.0], from_zero=True) == (-3.0, 0.0)


def test_a_time_scale_counts_true_hours_over_the_clock_change() -> None:
    # 2026-03-29 has 23 hours in Lisbon (IANA time zone database)
    start = datetime(2026, 3, 29, 0, tzinfo=LISBON)
    scale = TimeScale(start, datetime(2026, 3, 30, 0, tzinfo=LISBON), 0, 230)
    assert scale(datetime(2026, 3, 29, 3, tzinfo=LISBON)) == pytest.approx(20)


def test_a_time_scale_can_hold_places_between_its_ends() -> None:
    start = datetime(2026, 3, 1, tzinfo=LISBON)
    scale = TimeScale(start, start + timedelta(days=10), 10, 110)
    assert scale.within(start - timedelta(days=3)) == 10
    assert scale.within(start + timedelta(days=30)) == 110
    assert scale.within(start + timedelta(days=5)) == pytest.approx(60)


def test_mondays_and_months_begin_at_midnight_in_the_zone() -> None:
    first = datetime(2026, 3, 4, 9, tzinfo=LISBON)
    last = datetime(2026, 5, 2, tzinfo=LISBON)
    assert [f"{at:%m-%d %H:%M}" for at in mondays(first, last)][:4] == [
        "03-09 00:00",
        "03-16 00:00",
        "03-23 00:00",
        "03-30 00:00",
    ]
    assert [f"{at:%m-%d}" for at in months(first, last)] == ["04-01", "05-01"]
    assert mondays(first, first + timedelta(days=1)) == ()
