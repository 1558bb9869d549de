"""Highest working pressure, test pressure, box pressure."""

import pytest

from selection.hydraulics import Tolerances, box_pressure, hydrostatic_pressures, working_pressure
from selection.hydraulics.errors import OutOfBounds

EXACT = Tolerances(speed=0.0, shutoff_head=0.0)


def test_the_working_pressure_is_suction_pressure_and_shut_off_head():
    # 2 bar at the suction and 80 m of water at 1000 kg/m³: 2 + 7.845 bar.
    assert working_pressure(2e5, 80.0, 1000.0, EXACT) == pytest.approx(2e5 + 80 * 9806.65)


def test_the_tolerances_raise_it():
    raised = working_pressure(
        0.0, 80.0, 1000.0, Tolerances(density=0.03, speed=0.02, shutoff_head=0.05)
    )
    assert raised == pytest.approx(80 * 9806.65 * 1.03 * 1.02**2 * 1.05)


def test_the_test_pressure_is_one_and_a_half_times_it():
    # Factor 1.5: common practice.
    answer = hydrostatic_pressures(10e5, 16e5)
    assert answer.from_working_pa == pytest.approx(15e5)
    assert answer.from_rating_pa == pytest.approx(24e5)
    assert answer.chosen_pa == answer.from_working_pa
    assert "15.0 bar" in answer.sentence


def test_a_contract_may_want_the_casings_rating_tested():
    answer = hydrostatic_pressures(10e5, 16e5, contract_wants_rating_tested=True)
    assert answer.chosen_pa == pytest.approx(24e5)
    assert "the casing's rating, as the contract asks" in answer.sentence
    assert hydrostatic_pressures(10e5, contract_wants_rating_tested=True).chosen_pa == 15e5


def test_the_box_stands_at_suction_pressure_and_a_share_of_the_rise():
    assert box_pressure(1e5, 9e5, 0.1) == pytest.approx(1.8e5)
    with pytest.raises(OutOfBounds):
        box_pressure(10e5, 9e5)


@pytest.mark.parametrize("pressure", [-1.0, 0.0, 1e12])
def test_an_impossible_pressure_is_refused(pressure):
    with pytest.raises(OutOfBounds):
        hydrostatic_pressures(pressure)
