"""Crack testing and heat treatment."""

import pytest

from selection.materials import (
    BadQuantity,
    Method,
    crack_test,
    heat_treatment,
    penetrant_levels_apply,
)
from tests.selection.materials.smallest import METALS
from works.standards import Certainty


@pytest.mark.parametrize(("head", "wanted"), [(74.9, False), (75.0, True), (200.0, True)])
def test_high_head_impellers_are_crack_tested(head: float, wanted: bool) -> None:
    """75 m is the works' own threshold: common practice, a setting."""
    test = crack_test(METALS["CA6NM"], head)
    assert test.wanted is wanted
    assert test.method is (Method.PENETRANT if wanted else Method.NONE)
    assert test.certainty is Certainty.COMMON_PRACTICE


def test_the_threshold_is_a_setting_and_the_contract_may_ask_anyway():
    assert crack_test(METALS["CA6NM"], 62.0, threshold_m=60.0).wanted
    asked = crack_test(METALS["CA6NM"], 20.0, wanted_by_contract=True)
    assert asked.wanted
    assert "the contract calls for it" in asked.sentence


@pytest.mark.parametrize(
    ("code", "applies"),
    [
        # EN 1371-1:2011, scope: copper-tin and copper-tin-lead castings are excluded
        ("CC480K", False),
        ("C90500", False),
        ("C83600", False),
        ("C95800", True),
        ("CA6NM", True),
        ("CF8M", True),
    ],
)
def test_en_1371_1_excludes_copper_tin(code: str, applies: bool) -> None:
    assert penetrant_levels_apply(METALS[code]) is applies
    test = crack_test(METALS[code], 100.0)
    assert test.acceptance.startswith("EN 1371-1") is applies
    if not applies:
        assert any("agree with the buyer" in remark for remark in test.remarks)


def test_magnetic_particle_is_offered_for_ferromagnetic_metals_only():
    offered = {
        code: any("Magnetic" in remark for remark in crack_test(METALS[code], 100.0).remarks)
        for code in ("CA6NM", "CF8M", "C95800", "GJS-400-15")
    }
    assert offered == {"CA6NM": True, "CF8M": False, "C95800": False, "GJS-400-15": True}


def test_as_cast_grey_iron_is_not_trusted_to_penetrant():
    remarks = crack_test(METALS["GJL-250"], 100.0).remarks
    assert any("machined faces only" in remark for remark in remarks)


@pytest.mark.parametrize(
    ("code", "needed"),
    [("GJL-250", False), ("CC480K", False), ("CA6NM", True), ("CF8M", True), ("CD4MCuN", True)],
)
def test_stainless_castings_are_heat_treated_and_iron_and_tin_bronze_are_not(
    code: str, needed: bool
) -> None:
    """From memory: 13/4 is normalised and tempered, CF8M and duplex solution-annealed."""
    assert heat_treatment(METALS[code]).needed is needed
    assert code in heat_treatment(METALS[code]).sentence


@pytest.mark.parametrize(
    ("head", "threshold"), [(-1.0, 75.0), (float("nan"), 75.0), (62.0, 0.0), (1e6, 75.0)]
)
def test_impossible_heads_are_refused(head: float, threshold: float) -> None:
    with pytest.raises(BadQuantity):
        crack_test(METALS["CA6NM"], head, threshold_m=threshold)
