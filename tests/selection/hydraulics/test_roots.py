"""The bracketed root finder against SciPy, and its report."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from selection.hydraulics.roots import bracketed_root


@given(st.lists(st.tuples(st.floats(-3, 3), st.floats(0.1, 5)), min_size=1, max_size=8))
def test_roots_of_cubics_are_those_of_brentq(figures):
    shift = np.array([figure[0] for figure in figures])
    slope = np.array([figure[1] for figure in figures])
    low, high = shift - 4.0, shift + 3.0
    found = bracketed_root(lambda x: slope * (x - shift) + (x - shift) ** 3, low, high)
    assert found.converged.all()
    for k in range(len(figures)):
        expected = brentq(
            lambda x, k=k: slope[k] * (x - shift[k]) + (x - shift[k]) ** 3, low[k], high[k],
            xtol=1e-14, rtol=1e-14,
        )  # fmt: skip
        assert abs(found.x[k] - expected) < 1e-9


def test_ends_without_a_change_of_sign_are_told():
    found = bracketed_root(lambda x: x**2 + 1.0, np.array([-1.0, -2.0]), np.array([1.0, 2.0]))
    assert np.isnan(found.x).all()
    assert not found.converged.any()
    assert "2 without a change of sign" in found.why_not


def test_a_root_at_an_end_is_taken():
    found = bracketed_root(lambda x: x - 1.0, np.array([1.0]), np.array([3.0]))
    assert found.x[0] == 1.0
