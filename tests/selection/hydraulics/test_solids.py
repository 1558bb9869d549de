"""Mixtures with solids against the published sums, and derating by entered ratios."""

import pytest

from selection.hydraulics import SolidsRule, derated, mixture_density, water, with_solids
from selection.hydraulics.errors import OutOfBounds, OutsideMethod
from selection.hydraulics.solids import mixture_flow_m3s

from .examples import close, hi_curve


def test_the_density_of_a_slurry_meets_the_published_examples():
    # HI Engineering Data: S_s 2.2, S_l 1.2, C_w 0.35 → 1.43; S_s 2.7 in water, 0.30 → 1.23.
    assert close(mixture_density(2200.0, 1200.0, 0.35) / 1000, 1.43, 3e-3)
    assert close(mixture_density(2700.0, 1000.0, 0.30) / 1000, 1.2329, 1e-4)


def test_the_flow_of_a_slurry_meets_the_published_example():
    # 100 short tons an hour dry at C_w 0.30: 246 m³/h (HI prints 1.23 for the density).
    flow = mixture_flow_m3s(100 * 907.18474 / 3600, 0.30, 1230.0)
    assert close(flow * 3600, 246.0, 3e-3)


def test_fine_silt_leaves_the_curve_and_much_of_it_is_refused():
    curve = hi_curve()
    silty = with_solids(water(293.15), 2650.0, 0.02)
    assert silty.density_kg_m3 == pytest.approx(mixture_density(2650.0, 998.2, 0.02), rel=1e-4)
    assert derated(curve, silty).head(0.05) == pytest.approx(float(curve.head(0.05)))
    with pytest.raises(OutsideMethod, match="entered head and efficiency ratios"):
        derated(curve, with_solids(water(293.15), 2650.0, 0.10))


def test_entered_ratios_derate_head_and_efficiency():
    curve = hi_curve()
    rule = SolidsRule(head_ratio=0.9, efficiency_ratio=0.92)
    sandy = with_solids(water(293.15), 2650.0, 0.10)
    less = derated(curve, sandy, rule)
    assert less.head(0.05) == pytest.approx(0.9 * float(curve.head(0.05)))
    assert less.bep_efficiency == pytest.approx(0.92 * curve.bep_efficiency)


@pytest.mark.parametrize("share", [-0.1, 0.9, 12.0])
def test_an_impossible_share_of_solids_is_refused(share):
    with pytest.raises(OutOfBounds):
        mixture_density(2650.0, 1000.0, share)
