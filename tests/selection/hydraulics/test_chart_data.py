"""Arrays for charts: they agree with the curves and with each other."""

import numpy as np
import pytest

from selection.hydraulics import SystemCurve, chart_data, efficiency_lines
from selection.hydraulics.contours import usual_levels
from selection.hydraulics.errors import OutOfBounds

from .catalogues import duty, impeller

PUMP = impeller(tests=(1.0, 0.9))
SIZE = 0.95 * PUMP.diameter_max_mm
BANDED = SystemCurve(static_m=45.0, coefficient=84.0, static_low_m=42.0, static_high_m=47.0)


@pytest.fixture(scope="module")
def chart():
    sizes = (PUMP.diameter_min_mm, PUMP.diameter_max_mm)
    return chart_data(PUMP.family(), SIZE, 1480.0, duty(system=BANDED, standby=1), sizes)


def test_a_chart_shows_each_number_running_and_the_standby_pump(chart):
    assert [line.running for line in chart.pumps] == [1, 2, 3, 4]
    for line in chart.pumps:
        assert np.allclose(line.flow_m3s, line.running * chart.flow_m3s)
        assert np.allclose(line.head_m, chart.head_m)


def test_the_meetings_lie_on_both_curves(chart):
    for line in chart.pumps:
        point = line.meeting.point
        if point is not None:
            assert float(BANDED.head(point.flow_m3s)) == pytest.approx(point.head_m)


def test_the_band_encloses_the_system(chart):
    assert (chart.system_low_m <= chart.system_head_m).all()
    assert (chart.system_high_m >= chart.system_head_m).all()
    assert chart.system_flow_m3s[0] == 0.0


def test_power_is_shown_where_it_can_be_told(chart):
    known = np.isfinite(chart.power_w)
    assert not known[0]
    assert known[-1]
    assert chart.duty_flow_m3s == pytest.approx(0.45)


def test_trims_stand_in_order_of_size(chart):
    sizes = [line.diameter_mm for line in chart.trims]
    assert sizes == sorted(sizes)
    assert chart.trims[0].head_m[0] < chart.trims[1].head_m[0]


def test_efficiency_lines_have_their_efficiency_all_along():
    lines = efficiency_lines(PUMP.family(), 1480.0, PUMP.diameter_min_mm, PUMP.diameter_max_mm)
    assert len(lines) >= 4
    for line in lines:
        for flow, head in zip(line.flow_m3s, line.head_m, strict=True):
            near = [
                PUMP.family().curve_at(float(size), 1480.0)
                for size in np.linspace(PUMP.diameter_min_mm, PUMP.diameter_max_mm, 15)
            ]
            errors = [
                abs(float(curve.efficiency(flow)) - line.efficiency)
                + abs(float(curve.head(flow)) - head)
                for curve in near
                if curve.flow_low_m3s <= flow <= curve.flow_high_m3s
            ]
            assert min(errors) < 1e-9


def test_usual_levels_are_whole_points_under_the_best():
    assert usual_levels(0.834) == (0.82, 0.80, 0.77, 0.72, 0.67)


def test_a_chart_of_too_few_samples_is_refused():
    with pytest.raises(OutOfBounds, match="samples"):
        chart_data(PUMP.family(), SIZE, 1480.0, duty(), samples=2)
