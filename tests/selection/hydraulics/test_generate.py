"""Made-up curves: plausible, repeatable, and bound to the relations they come from."""

import fluids
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from selection.hydraulics import PumpCurve, specific_speed, suction_specific_speed
from selection.hydraulics.errors import OutOfBounds
from selection.hydraulics.generate import (
    Pattern,
    attainable_efficiency,
    full_diameter_mm,
    outlet_width_mm,
    points_of,
    shutoff_ratio,
)

from .examples import close, pattern


def test_the_attainable_efficiency_meets_the_worked_figure():
    # 1200 m³/h, 45 m, 1480 rev/min, double suction: 0.8699 (Gülich's form, from memory).
    n_q = float(specific_speed(1200 / 3600, 45.0, 1480.0, eyes=2))
    assert close(attainable_efficiency(1200 / 3600 / 2, n_q), 0.8699, 1e-3)


@pytest.mark.parametrize("flow", [0.1, 0.3])
def test_the_attainable_efficiency_lies_near_another_published_relation(flow):
    # fluids carries Corripio's general relation: within six points of it at n_q 30.
    assert attainable_efficiency(flow, 30.0) == pytest.approx(
        fluids.Corripio_pump_efficiency(flow), abs=0.06
    )


@settings(max_examples=50)
@given(
    st.floats(0.02, 1.5),
    st.floats(15.0, 120.0),
    st.sampled_from([730.0, 980.0, 1480.0]),
    st.integers(5, 7),
    st.floats(0.8, 1.0),
)
def test_made_up_curves_are_stable_and_peak_where_they_should(flow, head, speed, vanes, share):
    layout = Pattern(
        bep_flow_m3s=flow,
        bep_head_m=head,
        speed_rpm=speed,
        diameter_mm=full_diameter_mm(head, speed),
        vanes=vanes,
    )
    if not 12.0 < layout.n_q < 60.0:
        return
    curve = PumpCurve.through(points_of(layout, share * layout.diameter_mm))
    assert curve.stable
    assert curve.shutoff_tested
    assert curve.bep_flow_m3s == pytest.approx(flow * share**1.1, rel=0.05)
    assert 0.3 < curve.bep_efficiency < 0.93
    assert curve.shutoff_head_m / curve.bep_head_m > 1.05


def test_npsh_required_at_best_efficiency_has_the_suction_specific_speed_asked_for():
    layout = pattern()
    curve = PumpCurve.through(points_of(layout))
    s = suction_specific_speed(0.15, float(curve.npshr(0.15)), 1480.0, eyes=2)
    assert float(s) == pytest.approx(190.0, rel=0.02)


def test_more_vanes_make_a_flatter_curve():
    assert shutoff_ratio(25.0, 7) < shutoff_ratio(25.0, 5)


def test_equal_layouts_give_equal_points():
    assert np.array_equal(points_of(pattern()).head_m, points_of(pattern()).head_m)


def test_the_outlet_is_a_sensible_share_of_the_diameter():
    layout = pattern()
    assert 0.03 < outlet_width_mm(layout) / layout.diameter_mm < 0.25


@pytest.mark.parametrize(
    "change",
    [{"vanes": 2}, {"bep_flow_m3s": 0.0}, {"suction_specific_speed": 9000.0}, {"eyes": 3}],
)
def test_a_layout_that_cannot_be_is_refused(change):
    figures = {
        "bep_flow_m3s": 0.15, "bep_head_m": 60.0, "speed_rpm": 1480.0, "diameter_mm": 440.0,
    }  # fmt: skip
    with pytest.raises(OutOfBounds):
        Pattern(**(figures | change))
