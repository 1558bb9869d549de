"""Uncertainty against the worked examples of the GUM and the `uncertainties` package.

GUM is JCGM 100:2008. Example H.1 (end gauge) and H.2 (resistance and reactance) are published
there; their figures are given here from memory and are confirmed by the package where it can.
"""

import math

import numpy as np
import pytest
import uncertainties
from uncertainties import umath

from quality.acceptance.errors import NotANumber, TooFewMeasurements
from quality.acceptance.evidence import Outcome
from quality.acceptance.standards import house_tables, uncertainty_limits
from quality.acceptance.uncertainty import (
    Part,
    check_limits,
    combine,
    of_repeats,
    propagate,
    standard_of_bounds,
    standard_of_expanded,
)

END_GAUGE = (
    Part(name="length of the standard", standard=25.0, freedom=18),
    Part(name="difference of the two", standard=9.7, freedom=25.6),
    Part(name="difference of expansion", standard=2.9, freedom=50),
    Part(name="difference of temperature", standard=16.6, freedom=2),
)


def test_the_end_gauge_of_the_gum_comes_out():
    # GUM H.1: u_c = 32 nm, ν_eff = 16, U99 = 2.92 × 32 = 93 nm.
    gauge = combine(END_GAUGE, coverage=0.99)
    assert gauge.standard == pytest.approx(32, abs=0.5)
    assert math.floor(gauge.freedom) == 16
    assert gauge.factor == pytest.approx(2.92, abs=0.005)
    assert gauge.expanded == pytest.approx(93, abs=0.6)


VOLT, AMPERE, PHASE = (
    [5.007, 4.994, 5.005, 4.990, 4.999],
    [19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3],
    [1.0456, 1.0438, 1.0468, 1.0428, 1.0433],
)


def impedance(values):
    volt, ampere, phase = values
    return volt / ampere * np.cos(phase)


def test_correlated_inputs_agree_with_the_gum_and_with_the_package():
    # GUM H.2: R = 127.732 ohm with u = 0.071 ohm, correlations −0.36, 0.86, −0.65.
    readings = np.array([VOLT, AMPERE, PHASE])
    means = readings.mean(axis=1)
    covariance = np.cov(readings) / 5
    standards = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(standards, standards)
    value, standard, _ = propagate(impedance, means.tolist(), standards.tolist(), correlation)
    assert value == pytest.approx(127.732, abs=5e-4)
    assert standard == pytest.approx(0.071, abs=5e-4)
    assert correlation[0, 1] == pytest.approx(-0.36, abs=5e-3)
    volt, ampere, phase = uncertainties.correlated_values(means, covariance)
    package = volt / ampere * umath.cos(phase)
    assert value == pytest.approx(package.nominal_value, rel=1e-12)
    assert standard == pytest.approx(package.std_dev, rel=1e-6)


def test_pump_efficiency_agrees_with_the_package():
    def efficiency(values):
        flow, head, power = values
        return 998.2 * 9.80665 * flow * head / power

    means, standards = [0.15, 62.0, 108e3], [0.0015, 0.31, 540.0]
    value, standard, sensitivities = propagate(efficiency, means, standards)
    flow, head, power = (uncertainties.ufloat(m, s) for m, s in zip(means, standards, strict=True))
    package = 998.2 * 9.80665 * flow * head / power
    assert value == pytest.approx(package.nominal_value, rel=1e-12)
    assert standard == pytest.approx(package.std_dev, rel=1e-6)
    parts = [
        Part(name=name, standard=s, sensitivity=c)
        for name, s, c in zip(("flow", "head", "power"), standards, sensitivities, strict=True)
    ]
    assert combine(parts, factor=2).standard == pytest.approx(package.std_dev, rel=1e-6)


@pytest.mark.parametrize(
    ("grade", "quantity", "parts", "printed"),
    [
        ("1", "pump efficiency, power from torque", (2.0, 1.5, 1.5), 2.9),
        ("2", "pump efficiency, power from torque", (3.5, 3.5, 3.5), 6.1),
        ("1", "pump efficiency, power from motor efficiency", (2.0, 1.5, 2.0), 3.2),
        ("2", "pump efficiency, power from motor efficiency", (3.5, 3.5, 4.0), 6.4),
    ],
)
def test_efficiency_limits_are_the_root_sum_square_of_their_parts(grade, quantity, parts, printed):
    # ISO 9906:2012 Table 7, from memory; the sum shows that the remembered numbers fit together.
    together = combine([Part(name=str(p), standard=p) for p in parts], factor=1)
    assert together.expanded == pytest.approx(printed, abs=0.05)
    limits = uncertainty_limits(house_tables(), grade)
    (limit,) = [x for x in limits if x.overall and x.quantity == quantity]
    assert 100 * limit.share == pytest.approx(printed)


def test_repeats_give_the_scatter_of_their_mean_with_its_freedom():
    part = of_repeats("head", [45.1, 45.3, 45.2, 45.6])
    assert part.standard == pytest.approx(np.std([45.1, 45.3, 45.2, 45.6], ddof=1) / 2)
    assert part.freedom == 3
    assert not part.systematic


def test_systematic_and_random_parts_stay_apart():
    both = combine([Part(name="a", standard=3.0), Part(name="b", standard=4.0, systematic=False)])
    assert (both.systematic, both.random, both.standard) == (3.0, 4.0, 5.0)
    assert both.factor == pytest.approx(1.959964, abs=1e-6)


def test_bounds_and_stated_uncertainties_become_standard_ones():
    assert standard_of_bounds(1.0) == pytest.approx(1 / math.sqrt(3))
    assert standard_of_expanded(0.4) == pytest.approx(0.2)


def test_a_measurement_too_poor_for_the_class_is_said():
    limits = uncertainty_limits(house_tables(), "1")
    good, poor = check_limits({"flow": 0.02, "total head": 0.016}, limits, overall=True)
    assert good.outcome is Outcome.PASSED
    assert poor.outcome is Outcome.FAILED
    assert "±1.60 % (k = 2); the class allows ±1.50 %: the measurement is not" in poor.sentence


def test_scatter_of_one_value_is_refused():
    with pytest.raises(TooFewMeasurements, match="at least 2 values; there are 1"):
        of_repeats("head", [45.0])


@pytest.mark.parametrize("value", [-0.1, math.nan])
def test_a_negative_uncertainty_is_refused(value):
    with pytest.raises(NotANumber, match="zero or more"):
        Part(name="x", standard=value)
