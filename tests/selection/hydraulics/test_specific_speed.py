"""Specific speeds against `fluids` and the worked figures, with their basis."""

import fluids
import numpy as np

from selection.hydraulics import at_speed, specific_speed, suction_specific_speed, type_number
from selection.hydraulics.specific_speed import US_PER_METRIC

from .examples import FT, GPM, close, hi_curve


def test_the_specific_speed_meets_the_hydraulic_institutes_example():
    # HI 1.3 example carried in the fluids docstring: 22.50823182748925.
    assert close(specific_speed(0.0402, 100.0, 3550.0), 22.50823, 1e-6)
    assert close(
        specific_speed(0.0402, 100.0, 3550.0), fluids.specific_speed(0.0402, 100.0, 3550.0), 1e-12
    )


def test_the_basis_of_a_double_suction_wheel_is_told_apart():
    # 1200 m³/h, 45 m, 1480 rev/min: 49.18 on the total, 34.776 per eye, K 0.65715 per eye.
    q = 1200 / 3600
    assert close(specific_speed(q, 45.0, 1480.0), 49.18036, 1e-6)
    assert close(specific_speed(q, 45.0, 1480.0, eyes=2), 34.77577, 1e-6)
    assert close(type_number(q, 45.0, 1480.0, eyes=2), 0.65715, 1e-5)


def test_the_type_number_is_the_specific_speed_over_52_919():
    assert close(specific_speed(0.0402, 100.0, 3550.0) / type_number(0.0402, 100.0, 3550.0),
                 52.919, 1e-5)  # fmt: skip


def test_specific_speed_does_not_change_with_speed():
    ratio = np.array([0.5, 1.0, 1.5])
    n_q = specific_speed(0.1 * ratio, 50.0 * ratio**2, 1000.0 * ratio)
    assert np.allclose(n_q, n_q[0], rtol=1e-12)


def test_the_suction_specific_speed_counts_one_eye():
    assert close(
        suction_specific_speed(0.2, 4.0, 1480.0, eyes=2), 1480 * 0.1**0.5 / 4.0**0.75, 1e-12
    )


def test_a_change_of_speed_keeps_the_specific_speed_of_the_text_problem():
    # Text problem: efficiency 0.80, Ns 2000 (US), 300 gpm at 1170 rev/min, then 1750: 21.926 ft and
    # 2.0763 hp become 448.718 gpm, 49.052 ft and 6.9478 hp.
    head_ft = (1170 * 300**0.5 / 2000) ** (4 / 3)
    assert close(head_ft, 21.925794, 1e-6)
    ratio = 1750 / 1170
    scale = 300 * GPM / (200 / 3600)
    slow = at_speed(hi_curve(), 1170.0)
    fast = at_speed(slow, 1750.0)
    flow = 200 / 3600 * 1170 / 1480
    assert close(flow * ratio * scale / GPM * 1480 / 1170, 448.717949, 1e-6)
    assert close(float(fast.head(flow * ratio) / slow.head(flow)) * head_ft, 49.052336, 1e-6)
    power = float(fast.power(flow * ratio) / slow.power(flow)) * 2.0763
    assert close(power, 6.9478, 1e-4)
    for q, h, n in ((300 * GPM, head_ft * FT, 1170.0), (448.717949 * GPM, 49.052336 * FT, 1750.0)):
        assert close(float(specific_speed(q, h, n)) * US_PER_METRIC, 2000.0, 1e-4)
