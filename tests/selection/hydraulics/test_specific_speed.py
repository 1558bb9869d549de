"""Specific speeds against `fluids` and the worked figures, with their basis."""

import fluids
import numpy as np

from selection.hydraulics import specific_speed, suction_specific_speed, type_number

from .examples import close


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
