"""Casing against pressure, the hydrostatic test, walls and contraction."""

import pytest

from selection.materials import (
    BadQuantity,
    CasingRating,
    Family,
    Severity,
    contraction_remark,
    load_wall_strengths,
    rate_casing,
    wall_remark,
    worst,
)
from tests.selection.materials.smallest import (
    COLD_K,
    FLANGES,
    METALS,
    celsius,
    named,
    pattern,
    pressures,
    rules_of,
)
from works.standards import Certainty, load

GREY = METALS["GJL-250"]
CONTRACTION = load("pattern_contraction")


def test_a_cold_casing_holds_its_rating():
    result = rate_casing(pattern(), GREY, COLD_K, pressures(), FLANGES)
    assert result.allowable_pa == result.cold_pa == 16e5
    assert worst(result.verdicts) is Severity.FITS


@pytest.mark.parametrize(
    ("degrees", "allowable"),
    [(120, 16e5), (150, 0.9 * 16e5), (200, 0.8 * 16e5), (300, 0.6 * 16e5)],
)
def test_a_warm_casing_keeps_the_share_its_flanges_keep(degrees: float, allowable: float) -> None:
    """EN 1092-2 shares as published by a valve maker: 0.90, 0.80, 0.60 of the cold rating."""
    result = rate_casing(pattern(), GREY, celsius(degrees), pressures(), FLANGES)
    assert result.allowable_pa == pytest.approx(allowable)


def test_pressure_over_the_warm_rating_cannot_be_talked_away():
    high = pressures(differential_max_pa=14e5, working_max_pa=15e5, test_pa=22.5e5)
    cold = rate_casing(pattern(), GREY, COLD_K, high, FLANGES)
    assert named(cold.verdicts, "casing rating").severity is Severity.FITS
    warm = named(
        rate_casing(pattern(), GREY, celsius(150), high, FLANGES).verdicts, "casing rating"
    )
    assert (warm.severity, warm.overridable) == (Severity.REFUSE, False)
    assert "15 bar" in warm.sentence
    assert "14.4 bar" in warm.sentence


def test_both_test_pressures_are_shown():
    """1.5 times the highest working pressure: common practice."""
    result = rate_casing(pattern(), GREY, COLD_K, pressures(), FLANGES)
    assert result.test_working_pa == pytest.approx(13.8e5)
    assert result.test_rating_pa == pytest.approx(24e5)
    sentence = named(result.verdicts, "test pressure").sentence
    assert "13.8 bar" in sentence
    assert "24 bar" in sentence


def test_a_test_at_the_casings_own_rating_is_taken_and_above_it_refused():
    at_rating = rate_casing(pattern(), GREY, COLD_K, pressures(test_pa=24e5), FLANGES)
    assert worst(at_rating.verdicts) is Severity.FITS
    above = rate_casing(pattern(), GREY, COLD_K, pressures(test_pa=24.1e5), FLANGES)
    verdict = named(above.verdicts, "test above what the casing may be tested at")
    assert (verdict.severity, verdict.overridable) == (Severity.REFUSE, False)


def test_a_test_below_one_and_a_half_times_the_working_pressure_needs_a_reason():
    low = rate_casing(pattern(), GREY, COLD_K, pressures(test_pa=13.7e5), FLANGES)
    verdict = named(low.verdicts, "test below 1.5 times the working pressure")
    assert (verdict.severity, verdict.needs_reason) == (Severity.AVOID, True)


def test_a_metal_the_pattern_was_never_rated_in_is_refused_with_what_there_is():
    result = rate_casing(pattern(), METALS["CF8M"], COLD_K, pressures(), FLANGES)
    (verdict,) = result.verdicts
    assert result.allowable_pa is None
    assert "grey iron 16 bar, ductile iron 25 bar" in verdict.sentence
    assert not verdict.overridable


def test_a_temperature_without_rows_is_refused():
    ratings = (CasingRating(family=Family.ALUMINIUM_BRONZE, pressure_pa=16e5),)
    result = rate_casing(
        pattern(ratings=ratings), METALS["C95800"], celsius(60), pressures(), FLANGES
    )
    assert rules_of(result.verdicts) == {"casing cannot be rated warm"}
    assert "50.0 °C" in result.verdicts[0].sentence


def test_the_lowest_of_several_ratings_counts():
    ratings = tuple(CasingRating(family=Family.GREY_IRON, pressure_pa=p) for p in (16e5, 12e5))
    result = rate_casing(pattern(ratings=ratings), GREY, COLD_K, pressures(), FLANGES)
    assert result.cold_pa == 12e5


def test_grey_iron_is_worth_less_in_a_thick_wall():
    """EN 1561: 170 MPa to be expected at 40 mm, not 250: published data sheet."""
    (verdict,) = wall_remark(pattern(wall_mm=40.0), GREY, load_wall_strengths())
    assert "170 MPa" in verdict.sentence
    assert "250 MPa" in verdict.sentence
    assert verdict.certainty is Certainty.CONFIRMED_2ND
    assert wall_remark(pattern(), GREY, load_wall_strengths()) == ()
    assert wall_remark(pattern(wall_mm=40.0), METALS["GJS-400-15"], load_wall_strengths()) == ()
    (beyond,) = wall_remark(pattern(wall_mm=100.0), GREY, load_wall_strengths())
    assert "from 20 to 80 mm" in beyond.sentence


@pytest.mark.parametrize(
    ("made_for", "metal", "severity"),
    [
        (Family.GREY_IRON, "GJL-250", None),
        (Family.GREY_IRON, "GJS-400-15", None),
        (Family.GREY_IRON, "WCB", Severity.AVOID),
        (Family.GREY_IRON, "C90500", Severity.AVOID),
        (Family.CARBON_STEEL, "CF8M", None),
        (None, "WCB", None),
    ],
)
def test_a_pattern_for_iron_makes_a_small_steel_casting(
    made_for: Family | None, metal: str, severity: Severity | None
) -> None:
    """Grey iron 1.0 %, steel 2.0 %, bronze 1.5 %: three foundry tables."""
    found = contraction_remark(pattern(made_for=made_for), METALS[metal], CONTRACTION)
    assert [v.severity for v in found] == ([] if severity is None else [severity])


def test_the_difference_of_contraction_is_said():
    (verdict,) = contraction_remark(pattern(made_for=Family.GREY_IRON), METALS["WCB"], CONTRACTION)
    assert "1.0 % small" in verdict.sentence
    (verdict,) = contraction_remark(pattern(contraction_pct=2.0), GREY, CONTRACTION)
    assert "1.0 % large" in verdict.sentence


def test_the_contraction_table_covers_every_family_that_is_cast():
    for metal in METALS.values():
        if metal.castable:
            contraction_remark(pattern(contraction_pct=4.0), metal, CONTRACTION)


@pytest.mark.parametrize(
    "changed",
    [
        {"working_max_pa": 0.5e5},
        {"suction_max_pa": 0.1e5},
        {"suction_min_pa": -2e5},
        {"differential_max_pa": 0.0},
        {"test_pa": 9e5},
        {"test_pa": float("nan")},
        {"working_max_pa": 9.2e9},
    ],
)
def test_pressures_that_contradict_each_other_are_refused(changed: dict[str, float]) -> None:
    with pytest.raises(BadQuantity, match="pascal"):
        pressures(**changed)
