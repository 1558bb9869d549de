"""Readings brought to rated speed and density, against the affinity laws.

Worked speed change: 400 gpm, 126 ft, 17.5 hp at 3500 rev/min become 194.286 gpm, 29.7257 ft and
2.00531 hp at 1700 rev/min (Crane TP 410 example 7.33, as worked in the `fluids` library's
documentation).
"""

import numpy as np
import pytest

from quality.acceptance.errors import NonPositiveSpeed, NoReadings, SpeedOutsidePermittedRange
from quality.acceptance.rated_speed import (
    bring_to_rated,
    flow_at_rated_speed,
    head_at_rated_speed,
    npshr_at_rated_speed,
    power_at_rated_speed,
)
from tests.quality.acceptance.builders import EXAMPLE_25, limits, points

SPEED = np.array([3500.0])


def test_the_published_speed_change_comes_out():
    water = np.array([998.0])
    assert flow_at_rated_speed(np.array([400.0]), SPEED, 1700)[0] == pytest.approx(
        194.286, rel=3e-6
    )
    assert head_at_rated_speed(np.array([126.0]), SPEED, 1700)[0] == pytest.approx(
        29.7257, rel=3e-6
    )
    power = power_at_rated_speed(np.array([17.5]), SPEED, water, 1700, 998.0)
    assert power[0] == pytest.approx(2.00531, rel=3e-6)


def test_power_goes_with_density():
    power = power_at_rated_speed(np.array([100.0]), SPEED, np.array([1000.0]), 3500, 1025.0)
    assert power[0] == pytest.approx(102.5)


def test_npsh_required_takes_the_exponent_it_is_given():
    assert npshr_at_rated_speed(np.array([4.0]), SPEED, 1750)[0] == pytest.approx(1.0)
    assert npshr_at_rated_speed(np.array([4.0]), SPEED, 1750, 1.3)[0] == pytest.approx(4 / 2**1.3)


def test_efficiency_stays_what_it_was():
    rated = bring_to_rated(
        points(), rated_speed_rpm=1480, rated_density_kg_m3=998.2, limits=limits()
    )
    assert rated.efficiency[1:] == pytest.approx([line[2] / 100 for line in EXAMPLE_25[1:]])
    assert rated.efficiency_holds


@pytest.mark.parametrize(
    ("ratio", "refused"), [(0.5, False), (0.499, True), (1.2, False), (1.201, True)]
)
def test_the_permitted_range_includes_its_ends(ratio, refused):
    lines = tuple((q, h, e, 1480 * ratio) for q, h, e, _ in EXAMPLE_25)

    def bring():
        return bring_to_rated(
            points(lines), rated_speed_rpm=1480, rated_density_kg_m3=998.2, limits=limits()
        )

    if refused:
        with pytest.raises(SpeedOutsidePermittedRange, match="740 to 1776 rev/min"):
            bring()
    else:
        assert bring().speed_ratio == pytest.approx(ratio)


def test_efficiency_far_from_rated_speed_is_flagged_with_its_readings():
    lines = (*EXAMPLE_25[:6], (1440 * 0.79, 25.0, 83.0, 1480 * 0.79))
    rated = bring_to_rated(
        points(lines), rated_speed_rpm=1480, rated_density_kg_m3=998.2, limits=limits()
    )
    assert not rated.efficiency_holds
    assert any("Readings 7 lie outside 80% to 120%" in says for says in rated.sentences)


def test_no_points_and_no_speed_are_refused():
    with pytest.raises(NoReadings):
        bring_to_rated([], rated_speed_rpm=1480, rated_density_kg_m3=998.2, limits=limits())
    with pytest.raises(NonPositiveSpeed, match="speed of 0 rev/min"):
        flow_at_rated_speed(np.array([1.0]), np.array([0.0]), 1480)


def test_there_and_back_is_the_same():
    there = flow_at_rated_speed(np.array([0.3]), np.array([1450.0]), 1480.0)
    assert flow_at_rated_speed(there, np.array([1480.0]), 1450.0)[0] == pytest.approx(0.3)
