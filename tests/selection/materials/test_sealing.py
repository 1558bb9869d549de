"""Packing or mechanical seal: box pressure, reasons, plans, refusals."""

from typing import Any

import pytest

from selection.configuration import Sealing
from selection.materials import (
    CLEAN_WATER,
    OWN_LIQUID,
    BadQuantity,
    BoxPressure,
    SealNeeds,
    SealSettings,
    Severity,
    Verdict,
    box_pressure,
    check_sealing,
    seal_test_pressure_pa,
    suggest_sealing,
    worst,
)
from tests.selection.materials.smallest import (
    DATA,
    METALS,
    celsius,
    named,
    needs,
    rules_of,
    service,
)
from works.standards import Certainty

SEAL, PACKING = Sealing.MECHANICAL_SEAL, Sealing.PACKING
SETTINGS = SealSettings()


def box(low: float = 0.2e5, high: float = 1e5, differential: float = 8.2e5) -> BoxPressure:
    return box_pressure(low, high, differential, SETTINGS)


def check(
    sealing: Sealing,
    plan: str,
    *,
    limit: float | None = None,
    sleeve: str = "420-H",
    site: SealNeeds | None = None,
    at: BoxPressure | None = None,
    **changed: Any,
) -> tuple[Verdict, ...]:
    return check_sealing(
        sealing,
        plan,
        limit,
        METALS[sleeve],
        service(**changed),
        site or needs(),
        at or box(),
        SETTINGS,
        DATA.seal_plans,
    )


def test_a_double_suction_box_sees_suction_pressure_and_a_little_more():
    """Common practice; the little is 5 % of the differential pressure, a setting."""
    found = box()
    assert found.lowest_pa == 0.2e5
    assert found.highest_pa == pytest.approx(1e5 + 0.05 * 8.2e5)
    assert not found.draws_air
    assert box(low=-0.3e5).draws_air
    none = box_pressure(0.0, 1e5, 8.2e5, SealSettings(box_share=0.0))
    assert none.highest_pa == 1e5


def test_packing_is_offered_where_it_may_drip():
    found = suggest_sealing(service(), needs(), box(), SETTINGS)
    assert (found.sealing, found.flush_plan) == (PACKING, OWN_LIQUID)
    assert [reason.for_sealing for reason in found.reasons if reason.decides] == [PACKING]


@pytest.mark.parametrize(
    ("site", "changed", "at", "words"),
    [
        (needs(leakage_allowed=False), {}, box(), "No leakage"),
        (needs(unattended=True), {}, box(), "adjust a gland"),
        (needs(), {"drinking_water": True}, box(), "Drinking water"),
        (needs(), {"temperature_k": celsius(106)}, box(), "106 °C is over the 105 °C"),
        (needs(), {}, box(high=10.1e5), "is over the 10 bar"),
    ],
)
def test_a_seal_is_offered_with_its_reason(
    site: SealNeeds, changed: dict[str, Any], at: BoxPressure, words: str
) -> None:
    found = suggest_sealing(service(**changed), site, at, SETTINGS)
    assert found.sealing is SEAL
    assert any(words in reason.sentence for reason in found.reasons if reason.decides)


@pytest.mark.parametrize(
    ("changed", "clean", "plan"),
    [
        # API 682 Annex A as published: 11 by default, 31 or 32 for dirty liquids, 23 for hot water
        ({}, False, "11"),
        ({"sand_ppm": 51.0}, False, "31"),
        ({"sand_ppm": 51.0}, True, "32"),
        ({"sand_ppm": 50.0}, True, "11"),
        ({"temperature_k": celsius(80)}, False, "23"),
        ({"sand_ppm": None}, False, "11"),
    ],
)
def test_flush_plans(changed: dict[str, Any], clean: bool, plan: str) -> None:
    site = needs(leakage_allowed=False, clean_flush_available=clean)
    assert suggest_sealing(service(**changed), site, box(), SETTINGS).flush_plan == plan


def test_a_gland_in_grit_or_in_a_lift_wants_clean_water():
    gritty = suggest_sealing(service(sand_ppm=51.0), needs(), box(), SETTINGS)
    assert gritty.flush_plan == CLEAN_WATER
    lift = box(low=-0.3e5)
    with_water = suggest_sealing(service(), needs(clean_flush_available=True), lift, SETTINGS)
    assert with_water.flush_plan == CLEAN_WATER
    without = suggest_sealing(service(), needs(), lift, SETTINGS)
    assert without.flush_plan == OWN_LIQUID


def test_what_is_suggested_meets_no_refusal():
    cases: list[dict[str, Any]] = [{}, {"sand_ppm": 200.0}, {"temperature_k": celsius(110)}]
    for changed in cases:
        for leakage in (True, False):
            for clean in (True, False):
                site = needs(leakage_allowed=leakage, clean_flush_available=clean)
                found = suggest_sealing(service(**changed), site, box(), SETTINGS)
                limit = 16e5 if found.sealing is SEAL else None
                verdicts = check(found.sealing, found.flush_plan, limit=limit, site=site, **changed)
                assert worst(verdicts).rank <= Severity.CAUTION.rank


@pytest.mark.parametrize(
    ("site", "changed", "at", "rule", "severity"),
    [
        (needs(leakage_allowed=False), {}, box(), "packing drips", Severity.AVOID),
        (needs(leakage_allowed=None), {}, box(), "leakage not stated", Severity.CAUTION),
        (needs(unattended=True), {}, box(), "packing unattended", Severity.AVOID),
        (needs(), {}, box(high=10.1e5), "packing box pressure", Severity.AVOID),
        (
            needs(),
            {"temperature_k": celsius(106)},
            box(),
            "packing temperature",
            Severity.AVOID,
        ),
        (needs(), {}, box(low=-0.3e5), "packing draws air", Severity.CAUTION),
        (needs(), {"sand_ppm": 51.0}, box(), "grit under packing", Severity.AVOID),
    ],
)
def test_what_stands_against_packing(
    site: SealNeeds,
    changed: dict[str, Any],
    at: BoxPressure,
    rule: str,
    severity: Severity,
) -> None:
    verdict = named(check(PACKING, OWN_LIQUID, site=site, at=at, **changed), rule)
    assert (verdict.severity, verdict.needs_reason) == (severity, True)


def test_grit_wears_a_soft_sleeve_under_packing():
    """50 HRC is about 475 HB (ASTM E140, from memory)."""
    wet = needs(clean_flush_available=True)
    soft = check(PACKING, CLEAN_WATER, sleeve="C90500", site=wet, sand_ppm=51.0)
    hard = check(PACKING, CLEAN_WATER, sleeve="420-H", site=wet, sand_ppm=51.0)
    assert "soft sleeve under packing" in rules_of(soft)
    assert "soft sleeve under packing" not in rules_of(hard)


def test_clean_water_that_nobody_has_is_asked_about():
    assert "clean water not at hand" in rules_of(check(PACKING, CLEAN_WATER))
    assert "clean water not at hand" not in rules_of(
        check(PACKING, CLEAN_WATER, site=needs(clean_flush_available=True))
    )


def test_a_seal_needs_its_static_limit_and_holds_no_more():
    missing = named(check(SEAL, "11"), "static limit not stated")
    assert (missing.severity, missing.needs_words) == (Severity.REFUSE, True)
    low = named(check(SEAL, "11", limit=1.4e5), "static limit")
    assert (low.severity, low.overridable) == (Severity.REFUSE, False)
    assert "1.41 bar" in low.sentence
    assert named(check(SEAL, "11", limit=1.41e5), "static limit").severity is Severity.FITS


@pytest.mark.parametrize(
    ("plan", "changed", "rule", "severity"),
    [
        ("11", {"sand_ppm": 51.0}, "grit at the seal", Severity.AVOID),
        ("32", {"sand_ppm": 51.0}, "clean flush not at hand", Severity.AVOID),
        ("11", {"temperature_k": celsius(80)}, "hot seal", Severity.CAUTION),
        ("61", {}, "unknown flush plan", Severity.REFUSE),
        (OWN_LIQUID, {}, "unknown flush plan", Severity.REFUSE),
    ],
)
def test_what_stands_against_a_seal_plan(
    plan: str, changed: dict[str, Any], rule: str, severity: Severity
) -> None:
    assert named(check(SEAL, plan, limit=10e5, **changed), rule).severity is severity


def test_a_plan_is_explained_with_its_certainty():
    verdict = named(check(SEAL, "11", limit=10e5), "flush plan")
    assert "discharge through an orifice" in verdict.sentence
    assert "both boxes" in verdict.sentence
    assert verdict.certainty is Certainty.CONFIRMED_2ND
    assert named(check(SEAL, "13", limit=10e5), "flush plan").certainty is Certainty.MEMORY


def test_bleeding_back_in_a_lift_runs_the_faces_dry():
    lifted = check(SEAL, "13", limit=10e5, at=box(low=-0.3e5))
    assert "seal draws air" in rules_of(lifted)
    assert "seal draws air" not in rules_of(check(SEAL, "11", limit=10e5, at=box(low=-0.3e5)))


def test_a_seal_plan_says_nothing_about_packing():
    assert named(check(PACKING, "11"), "lantern ring water").severity is Severity.REFUSE
    remark = named(check(PACKING, OWN_LIQUID, limit=10e5), "static limit with packing")
    assert not remark.needs_reason


def test_the_seal_is_tested_at_the_lowest_of_three():
    """Highest box pressure, the seal's static limit, the weakest part: common practice."""
    at = box()
    assert seal_test_pressure_pa(at, 10e5, 16e5) == at.highest_pa
    assert seal_test_pressure_pa(at, 1.2e5, 16e5) == 1.2e5
    assert seal_test_pressure_pa(at, 10e5, 1.1e5) == 1.1e5
    with pytest.raises(BadQuantity, match="static limit"):
        seal_test_pressure_pa(at, 0.0, 16e5)


@pytest.mark.parametrize(
    ("low", "high", "differential"),
    [(1e5, 0.5e5, 8e5), (-1.5e5, 1e5, 8e5), (0.0, 1e5, -1.0), (0.0, float("nan"), 8e5)],
)
def test_impossible_box_pressures_are_refused(low: float, high: float, differential: float) -> None:
    with pytest.raises(BadQuantity, match="pascal"):
        box(low, high, differential)


def test_impossible_settings_are_refused():
    with pytest.raises(BadQuantity, match="box share"):
        SealSettings(box_share=1.5)
