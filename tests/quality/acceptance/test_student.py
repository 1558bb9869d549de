"""Student's distribution against scipy."""

import math

import pytest
from scipy import stats

from quality.acceptance.student import normal_cdf, normal_quantile, student_cdf, student_quantile


@pytest.mark.parametrize("freedom", [1, 2, 3, 4, 5, 6, 7, 10, 11, 30, 31, 100, 399])
@pytest.mark.parametrize("t", [-4.0, -0.3, 0.0, 0.7, 2.5, 12.0])
def test_the_distribution_agrees_with_scipy(t, freedom):
    assert student_cdf(t, freedom) == pytest.approx(stats.t.cdf(t, freedom), abs=1e-13)


@pytest.mark.parametrize("freedom", [1, 2, 3, 9, 10, 25, 120, 399, 400, 5000])
@pytest.mark.parametrize("chance", [0.0005, 0.2, 0.5, 0.9, 0.975, 0.99996])
def test_the_quantile_agrees_with_scipy(chance, freedom):
    expected = stats.t.ppf(chance, freedom)
    assert student_quantile(chance, freedom) == pytest.approx(expected, rel=1e-7, abs=1e-12)


def test_without_end_of_freedom_it_is_the_normal_distribution():
    assert student_quantile(0.975, math.inf) == pytest.approx(stats.norm.ppf(0.975))
    assert normal_quantile(0.1) == pytest.approx(stats.norm.ppf(0.1))
    assert normal_cdf(-3.0) == pytest.approx(stats.norm.cdf(-3.0), rel=1e-12)
