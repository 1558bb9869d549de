"""What as-tested curves teach, and how slowly when they are few."""

import dataclasses

import numpy as np
import pytest
from scipy import stats

from selection.hydraulics import (
    UsualScatter,
    confidence_band,
    deviation,
    drift,
    merged,
    points_at_speed,
    scatter,
    with_tests,
)
from selection.hydraulics.errors import DisagreeingTests, NothingGiven

from .catalogues import impeller
from .examples import made_points, pattern

FULL = pattern().diameter_mm


def as_tested(head=1.0, efficiency=1.0, serial="1", on="", share=1.0, speed=1480.0):
    points = points_at_speed(made_points(share), speed)
    return dataclasses.replace(
        points,
        head_m=points.head_m * head,
        efficiency=points.efficiency * efficiency,
        serial=serial,
        tested_on=on,
    )


FAMILY = impeller(flow_m3s=0.15, head_m=66.0, tests=(1.0, 0.9)).family()


def test_a_test_that_repeats_the_catalogue_deviates_by_nothing():
    answer = deviation(FAMILY, as_tested(share=0.9, speed=1470.0))
    assert answer.head == pytest.approx(1.0, abs=1e-9)
    assert answer.efficiency == pytest.approx(1.0, abs=1e-9)


def test_a_strong_pump_is_seen_as_strong_at_any_speed():
    answer = deviation(FAMILY, as_tested(1.03, 0.99, speed=1000.0))
    assert answer.head == pytest.approx(1.03, rel=1e-9)
    assert answer.efficiency == pytest.approx(0.99, rel=1e-9)
    assert len(answer.share) == 13


def test_drift_runs_by_date():
    answer = drift(
        FAMILY,
        [
            as_tested(1.02, on="2024-05-01", serial="2"),
            as_tested(0.99, on="2023-01-10", serial="1"),
        ],
    )
    assert [entry.serial for entry in answer] == ["1", "2"]
    assert [round(entry.head, 6) for entry in answer] == [0.99, 1.02]


def test_a_test_far_from_best_efficiency_teaches_nothing():
    points = made_points()
    low = dataclasses.replace(
        points,
        flow_m3s=points.flow_m3s[:4],
        head_m=points.head_m[:4],
        efficiency=points.efficiency[:4],
        npshr_m=None,
    )
    with pytest.raises(DisagreeingTests, match="fewer than three flows"):
        deviation(FAMILY, low)


def test_without_tests_the_usual_scatter_stands_and_says_so():
    known = scatter([])
    assert (known.head_mean, known.head_sd, known.tests) == (1.0, 0.02, 0)
    assert "No unit of this impeller was tested yet" in known.sentence
    assert "leans on the usual scatter" in known.sentence


def test_few_tests_are_drawn_towards_the_catalogue_and_many_are_believed():
    few = scatter(drift(FAMILY, [as_tested(1.04)]))
    assert few.head_mean == pytest.approx(1.01)
    many = scatter(
        drift(FAMILY, [as_tested(1.04 + 0.001 * (k % 3), serial=str(k)) for k in range(30)])
    )
    assert many.head_mean == pytest.approx(1.041 * 30 / 33 + 3 / 33, rel=1e-4)
    assert many.head_sd < few.head_sd


def test_without_the_usual_scatters_weight_the_sample_speaks_alone():
    heads = [1.00, 1.02, 1.03, 0.99]
    known = scatter(
        drift(FAMILY, [as_tested(head, serial=str(k)) for k, head in enumerate(heads)]),
        UsualScatter(weight=0.0),
    )
    assert known.head_mean == pytest.approx(np.mean(heads))
    assert known.head_sd == pytest.approx(np.std(heads, ddof=1))


def test_the_band_is_students_prediction_interval():
    curve = FAMILY.curve_at(FULL, 1480.0)
    known = scatter(drift(FAMILY, [as_tested(1.0 + 0.01 * k, serial=str(k)) for k in range(-2, 3)]))
    band = confidence_band(curve, known, level=0.9)
    reach = stats.t.ppf(0.95, known.degrees) * np.sqrt(1 + 1 / 6) * known.head_sd
    assert np.allclose(band.head_low_m, band.head_m * (1 - reach))
    assert np.allclose(band.head_high_m, band.head_m * (1 + reach))
    assert band.tests == 5
    wider = confidence_band(curve, known, level=0.99)
    assert (wider.head_low_m <= band.head_low_m).all()


def test_about_the_promised_share_of_next_pumps_lies_in_the_band():
    random = np.random.default_rng(3)
    curve = FAMILY.curve_at(FULL, 1480.0)
    inside = []
    for _ in range(150):
        heads = 1.0 + 0.02 * random.normal(size=6)
        known = scatter(
            drift(FAMILY, [as_tested(head, serial=str(k)) for k, head in enumerate(heads[:5])])
        )
        band = confidence_band(curve, known, level=0.8, samples=11)
        next_head = curve.head(band.flow_m3s) * heads[5]
        inside.append(bool(band.head_low_m[5] <= next_head[5] <= band.head_high_m[5]))
    assert 0.7 < np.mean(inside) < 0.95


def test_tests_move_the_catalogues_curves_and_teach_the_trim_law():
    whole = impeller(flow_m3s=0.15, head_m=66.0)
    assert not whole.trim_law.learned
    tests = [as_tested(1.02, 0.99, share=share) for share in (0.95, 0.9, 0.93)]
    moved = with_tests(whole, tests)
    assert moved.trim_law.learned
    ratio = moved.tests[0].head_m[0] / whole.tests[0].head_m[0]
    known = scatter(
        drift(whole.family(), [as_tested(1.02, 0.99, share=s) for s in (0.95, 0.9, 0.93)])
    )
    assert ratio == pytest.approx(known.head_mean)
    assert with_tests(whole, []) is whole


def test_tests_at_several_speeds_are_merged_to_their_mean():
    one, two = as_tested(1.02), as_tested(0.98, speed=1180.0)
    mean = merged([one, two])
    assert mean.speed_rpm == 1480.0
    assert mean.head_m == pytest.approx(made_points().head_m, rel=1e-9)
    with pytest.raises(DisagreeingTests, match=r"0\.1 %"):
        merged([one, as_tested(share=0.9)])
    with pytest.raises(NothingGiven):
        merged([])
