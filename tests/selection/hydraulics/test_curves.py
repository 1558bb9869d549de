"""Pump curves against a published one, and the refusals at the door."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator

from selection.hydraulics import CurvePoints, PumpCurve, QuadraticHead, shaft_power
from selection.hydraulics.errors import (
    CurveColumnsSwapped,
    CurveTooShort,
    CurveUneven,
    CurveUnsorted,
    NotFinite,
    OutOfBounds,
    OutsideCurve,
)

from .examples import HI_FLOW, HI_HEAD, HI_NPSHR, HP, close, hi_curve, hi_points

GOOD: dict[str, Any] = {
    "flow_m3s": [0.0, 0.05, 0.1, 0.15, 0.2],
    "head_m": [60.0, 59.0, 56.0, 50.0, 40.0],
    "efficiency": [0.0, 0.5, 0.75, 0.8, 0.7],
    "npshr_m": [np.nan, 2.0, 2.4, 3.1, 4.4],
    "speed_rpm": 1480.0,
    "diameter_mm": 400.0,
}


@pytest.mark.parametrize(
    ("flow", "printed_kw"), [(113.6, 26.9), (159.0, 30.8), (204.4, 33.7), (249.8, 36.0)]
)
def test_power_follows_from_head_and_efficiency_as_printed(flow, printed_kw):
    # HI Engineering Data, published pump curve; 1 % because the source is rounded and uses
    # 366.6 where exact units give 367.1.
    assert close(hi_curve().power(flow / 3600.0) / 1e3, printed_kw, 0.01)


def test_shaft_power_meets_cranes_example():
    # Crane TP 410, example 7.34: 428 ft, 700 US gpm, 62.364 lb/ft³, eta 0.707 → 107.056 hp.
    power = shaft_power(700 * 0.2271247 / 3600, 428 * 0.3048, 0.707, 62.364 * 16.018463)
    assert close(power / HP, 107.0559, 1e-4)


def test_the_head_fit_is_scipys_pchip():
    flow = np.linspace(0.0, HI_FLOW[-1], 300)
    expected = PchipInterpolator(HI_FLOW, HI_HEAD)(flow)
    assert np.allclose(hi_curve().head(flow / 3600.0), expected, rtol=1e-12)


def test_best_efficiency_of_the_published_curve():
    # The table's best point is 204.4 m³/h at 78 %; the fit's peak lies beside it.
    curve = hi_curve()
    assert curve.bep_flow_m3s * 3600 == pytest.approx(204.4, rel=0.02)
    assert curve.bep_efficiency == pytest.approx(0.78, abs=0.002)
    # Rise from best efficiency to shut-off, 29 % of the table.
    assert curve.shutoff_head_m / 47.2 - 1.0 == pytest.approx(0.29, abs=0.005)
    assert curve.stable
    assert curve.shutoff_tested


def test_the_highest_power_of_the_published_curve_lies_near_its_end():
    flow, power = hi_curve().power_max()
    assert 240 < flow * 3600 <= 272.5
    assert power == pytest.approx(36.1e3, rel=0.01)


def test_no_curve_answers_beyond_its_tested_range():
    curve = hi_curve()
    with pytest.raises(OutsideCurve, match=r"known from 0 to 0.0756944 m³/s only"):
        curve.head(0.08)
    with pytest.raises(OutsideCurve, match="efficiency"):
        curve.efficiency(np.array([0.01, 0.09]))
    assert np.isnan(curve.npshr(0.01))  # not measured below 113.6 m³/h
    assert curve.npshr(204.4 / 3600) == pytest.approx(3.4)


def test_the_end_missed_by_rounding_is_the_end():
    curve = hi_curve()
    end = curve.flow_high_m3s
    assert curve.head(np.nextafter(end, 1.0)) == curve.head(end)
    with pytest.raises(OutsideCurve):
        curve.head(end * (1 + 1e-9))


def test_shut_off_is_carried_on_level_and_said_to_be_untested():
    points = hi_points()
    curve = PumpCurve.through(
        replace(
            points,
            flow_m3s=points.flow_m3s[2:],
            head_m=points.head_m[2:],
            efficiency=points.efficiency[2:],
            npshr_m=HI_NPSHR[2:],
        )
    )
    assert not curve.shutoff_tested
    assert 59.7 < curve.shutoff_head_m < 62.0


def test_a_hump_is_seen():
    curve = PumpCurve.through(CurvePoints(**(GOOD | {"head_m": [55.0, 59.0, 56.0, 50.0, 40.0]})))
    assert not curve.stable
    assert curve.head_max_m == 59.0


def test_points_are_kept_from_being_changed():
    points = CurvePoints(**GOOD)
    with pytest.raises(ValueError, match="read-only"):
        points.flow_m3s[0] = 1.0


@pytest.mark.parametrize(
    ("change", "error", "words"),
    [
        ({"flow_m3s": [0, 0.1, 0.2], "head_m": [3, 2, 1], "efficiency": [0, 0.5, 0.4]},
         CurveTooShort, "has 3 points; give at least 4"),
        ({"flow_m3s": [0.0, 0.1, 0.05, 0.15, 0.2]}, CurveUnsorted, "point 3 .* sort the points"),
        ({"flow_m3s": [0.0, 0.05, 0.05, 0.15, 0.2]}, CurveUnsorted, "each flow once"),
        ({"head_m": [60.0, 59.0, 56.0]}, CurveUneven, "head has 3 values"),
        ({"npshr_m": [1.0, 2.0]}, CurveUneven, "NPSH required has 2 values"),
        ({"flow_m3s": [0.0, 0.05, np.nan, 0.15, 0.2]}, NotFinite, "flow at point 3"),
        ({"head_m": [60.0, 59.0, np.inf, 50.0, 40.0]}, NotFinite, "head at point 3"),
        ({"head_m": [60.0, 59.0, -56.0, 50.0, 40.0]}, OutOfBounds, "head at point 3 is -56 m"),
        ({"flow_m3s": [0.0, 180.0, 360.0, 540.0, 720.0]}, OutOfBounds, "meant in m³/h"),
        ({"efficiency": [0.0, 50.0, 75.0, 80.0, 70.0]}, OutOfBounds, "78 % is 0.78"),
        ({"efficiency": [0.0] * 5}, CurveColumnsSwapped, "look exchanged"),
        ({"head_m": [40.0, 50.0, 56.0, 59.0, 60.0]}, CurveColumnsSwapped, "look exchanged"),
        ({"head_m": GOOD["efficiency"], "efficiency": GOOD["head_m"]},
         CurveColumnsSwapped, "head and efficiency look exchanged"),
        ({"npshr_m": [np.nan, np.nan, np.nan, 3.0, 4.0]}, CurveTooShort, "has 2 points"),
        ({"npshr_m": [-1.0, 2.0, 2.4, 3.1, 4.4]}, OutOfBounds, "NPSH required at point 1"),
        ({"speed_rpm": 0.0}, OutOfBounds, "speed is 0 rev/min"),
        ({"speed_rpm": -1480.0}, OutOfBounds, "speed"),
        ({"diameter_mm": float("nan")}, NotFinite, "diameter"),
        ({"diameter_mm": 40_000.0}, OutOfBounds, "millimetres"),
    ],
)  # fmt: skip
def test_a_curve_that_cannot_be_is_refused_at_the_door(change, error, words):
    with pytest.raises(error, match=words):
        CurvePoints(**(GOOD | change))


def test_a_quadratic_head_is_its_formula():
    curve = QuadraticHead(shutoff_m=20.0, linear=-10.0, quadratic=-200.0, flow_high_m3s=0.2)
    assert curve.head(0.1) == pytest.approx(20.0 - 1.0 - 2.0)
