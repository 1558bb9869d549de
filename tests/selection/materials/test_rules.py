"""The shipped rules against published limits, and the engine's own manners."""

import dataclasses
import pickle
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from selection.materials import (
    RULE_HEAD,
    BadQuantity,
    ChosenMetals,
    Liquid,
    Part,
    Severity,
    WrongPart,
    evaluate,
    evaluate_part,
    load_rules,
    rule_of,
    worst,
)
from tests.selection.materials.smallest import (
    DATA,
    METALS,
    celsius,
    chosen,
    named,
    rules_of,
    service,
)
from works.standards import BadTable, Certainty

RULES = DATA.rules


def spoke(
    rule: str, *, tip_speed_m_s: float | None = 30.0, metals: dict[str, str] | None = None
) -> Callable[..., bool]:
    """Judge with a service changed later: returns a function of the service."""

    def of(**changed: Any) -> bool:
        verdicts = evaluate(
            RULES, service(**changed), chosen(**(metals or {})), tip_speed_m_s=tip_speed_m_s
        )
        return rule in rules_of(verdicts)

    return of


# -- limits against their sources --------------------------------------------------------------


@pytest.mark.parametrize(
    ("code", "chloride", "severity"),
    [
        # Nickel institute guideline 11003 (abstract): 304 rare below 100 to 200, 316 below 1000
        ("CF8", 100, None),
        ("CF8", 150, Severity.CAUTION),
        ("CF8", 200, Severity.CAUTION),
        ("CF8", 201, Severity.AVOID),
        ("CF8M", 500, None),
        ("CF8M", 800, Severity.CAUTION),
        ("CF8M", 1000, Severity.CAUTION),
        ("CF8M", 1001, Severity.AVOID),
        ("CD4MCuN", 1001, None),
    ],
)
def test_chloride_limits(code: str, chloride: float, severity: Severity | None) -> None:
    verdicts = [
        v
        for v in evaluate_part(RULES, service(chloride_ppm=chloride), Part.IMPELLER, METALS[code])
        if v.topic == "chloride"
    ]
    assert [v.severity for v in verdicts] == ([] if severity is None else [severity])
    for verdict in verdicts:
        assert verdict.certainty is Certainty.CONFIRMED_2ND
        assert f"{chloride} mg/kg" in verdict.sentence


def test_316_must_not_stand_in_sea_water():
    assert spoke("316 stagnant in chlorides", metals={"impeller": "CF8M"})(
        liquid=Liquid.SEA, stagnant=True
    )
    assert not spoke("316 stagnant in chlorides", metals={"impeller": "CF8M"})(
        liquid=Liquid.SEA, stagnant=False
    )


@pytest.mark.parametrize(
    ("code", "loses_zinc"),
    [("C86500", True), ("C83600", False), ("C90500", False), ("C95800", False)],
)
def test_more_than_15_percent_zinc_is_avoided_in_salt_water(code: str, loses_zinc: bool) -> None:
    """15 % from memory; C86500 has 36 to 42 %, C83600 4 to 6 %, C90500 1 to 3 %."""
    verdicts = evaluate_part(RULES, service(liquid=Liquid.SEA), Part.IMPELLER, METALS[code])
    assert ("zinc in salt water" in rules_of(verdicts)) is loses_zinc


def test_soft_acid_and_salty_water_take_zinc_out():
    metals = {"impeller": "C86500"}
    assert not spoke("zinc and soft water", metals=metals)()
    assert spoke("zinc and soft water", metals=metals)(saturation_index=-0.1)
    assert spoke("zinc and acid water", metals=metals)(ph=6.9)
    assert spoke("zinc and chloride", metals=metals)(chloride_ppm=251.0)


def test_a_contract_for_zinc_free_bronze_refuses_c90500():
    """C90500 has 1 to 3 % zinc, so it is not zinc-free: published composition."""
    tin_bronze = {"impeller": "C90500", "ring": "420-H"}
    verdicts = evaluate(RULES, service(zinc_free=True), chosen(**tin_bronze))
    verdict = named(verdicts, "zinc-free called for")
    assert (verdict.severity, verdict.needs_words) == (Severity.REFUSE, True)
    for fine in ("CC480K", "C95800"):
        verdicts = evaluate(RULES, service(zinc_free=True), chosen(impeller=fine))
        assert "zinc-free called for" not in rules_of(verdicts)


@pytest.mark.parametrize("ph", [5.9, 9.1])
def test_iron_and_bronze_want_a_ph_of_6_to_9(ph: float) -> None:
    verdicts = evaluate(RULES, service(ph=ph), chosen())
    topics = {v.part for v in verdicts if v.topic == "pH"}
    assert {"casing", "impeller"} <= topics
    assert not [v for v in evaluate(RULES, service(ph=6.0), chosen()) if v.topic == "pH"]
    assert not [v for v in evaluate(RULES, service(ph=9.0), chosen()) if v.topic == "pH"]


@pytest.mark.parametrize("flag", ["ammonia", "hydrogen_sulphide"])
def test_ammonia_and_sulphide_attack_copper_only(flag: str) -> None:
    copper = evaluate(RULES, service(**{flag: True}), chosen())
    steel = evaluate(RULES, service(**{flag: True}), chosen(impeller="CA6NM"))
    assert worst(v for v in copper if v.topic == "ammonia and sulphide") is Severity.AVOID
    assert not [v for v in steel if v.topic == "ammonia and sulphide"]


def test_sand_wants_hard_rings_a_slow_tip_and_at_last_another_pump():
    """About 50 mg/kg, 25 to 30 m/s and 0.5 % by weight: common practice."""
    soft = {"ring": "C90500", "impeller": "CA6NM"}
    assert spoke("sand on soft rings", metals=soft)(sand_ppm=51.0)
    assert not spoke("sand on soft rings", metals=soft)(sand_ppm=50.0)
    assert not spoke("sand on soft rings")(sand_ppm=51.0), "420-H is hard enough"
    assert spoke("tip speed over 25 with sand", tip_speed_m_s=25.1)(sand_ppm=51.0)
    assert spoke("tip speed over 30 with sand", tip_speed_m_s=30.1)(sand_ppm=51.0)
    assert not spoke("tip speed over 25 with sand", tip_speed_m_s=40.0)(sand_ppm=5.0)
    assert spoke("too much sand for this kind of pump")(sand_ppm=5001.0)
    assert not spoke("too much sand for this kind of pump")(sand_ppm=5000.0)


@pytest.mark.parametrize(
    ("code", "limit"),
    [("GJL-250", 40), ("CC480K", 45), ("C95800", 50), ("GJS-400-15", 60), ("CA6NM", 90)],
)
def test_every_metal_has_its_own_tip_speed(code: str, limit: float) -> None:
    """Screening limits from memory; a verdict on them is only as sure."""
    metals = {"impeller": code}
    assert not spoke("tip speed of the metal", metals=metals, tip_speed_m_s=limit)()
    verdicts = evaluate(RULES, service(), chosen(**metals), tip_speed_m_s=limit + 2)
    verdict = named(verdicts, "tip speed of the metal")
    assert "2 m/s over" in verdict.sentence
    assert verdict.certainty is Certainty.MEMORY


@pytest.mark.parametrize(
    ("ring", "neck", "gap", "severity"),
    [
        # API 610: at least 50 HB apart unless both are over 400 HB; public article, confirmed-2nd
        ("420-H", "CA6NM", 65, Severity.FITS),
        ("410-T", "CA6NM", 0, Severity.AVOID),
        ("316-HF", "CF8M", 205, Severity.FITS),
        ("1.4462", "CD4MCuN", 0, Severity.AVOID),
        ("316", "CF8M", 0, Severity.AVOID),
        ("C90500", "CC480K", 5, Severity.CAUTION),
        ("C90500", "CF8M", 90, Severity.FITS),
        ("GJL-250", "CC480K", 100, Severity.FITS),
        ("GJL-250", "GJS-400-15", 0, Severity.CAUTION),
        ("GJL-250", "CA6NM", 15, Severity.CAUTION),
    ],
)
def test_hardness_at_the_running_fit(ring: str, neck: str, gap: float, severity: Severity) -> None:
    verdicts = evaluate(RULES, service(), chosen(ring=ring, impeller=neck))
    galling = [v for v in verdicts if v.topic == "galling"]
    assert worst(galling) is severity
    for verdict in galling:
        assert f"{gap:g} HB" in verdict.sentence or "austenitic on austenitic" in verdict.sentence


def test_two_very_hard_partners_need_no_difference():
    """API 610: unless both are over 400 HB."""
    hard = dataclasses.replace(METALS["420-H"], code="HARD", hardness_low_hb=420.0)
    metals = ChosenMetals(
        casing=METALS["GJS-400-15"],
        impeller=METALS["CA6NM"],
        ring=hard,
        impeller_ring=hard,
        shaft=METALS["431"],
        sleeve=METALS["420-H"],
    )
    assert not [v for v in evaluate(RULES, service(), metals) if v.topic == "galling"]


def test_an_impeller_ring_takes_the_place_of_the_neck():
    """A ring of hard steel on the impeller cures an austenitic impeller in an austenitic ring."""
    bare = ChosenMetals(
        casing=METALS["CF8M"],
        impeller=METALS["CF8M"],
        ring=METALS["316"],
        shaft=METALS["316"],
        sleeve=METALS["316"],
    )
    ringed = dataclasses.replace(bare, impeller_ring=METALS["316-HF"])
    galls = "galling, austenitic on austenitic"
    assert galls in rules_of(evaluate(RULES, service(), bare))
    assert galls not in rules_of(evaluate(RULES, service(), ringed))
    parts = [v for v in evaluate(RULES, service(), ringed) if v.part == "ring"]
    assert {v.metal for v in parts if v.topic == "suitability"} == {"316", "316-HF"}


def test_the_smaller_part_is_the_nobler():
    """Potentials in flowing sea water: iron -610, bronze -310, 410 active -520 mV (published)."""
    sea = service(liquid=Liquid.SEA)
    wrong = evaluate(RULES, sea, chosen(casing="C90500", impeller="GJL-250"))
    verdict = named(wrong, "galvanic, impeller in salt water")
    assert verdict.severity is Severity.AVOID
    assert "-300 mV" in verdict.sentence
    right = evaluate(RULES, sea, chosen(casing="GJL-250", impeller="C90500"))
    assert "galvanic, impeller in salt water" not in rules_of(right)


def test_the_same_pair_weighs_less_in_fresh_water():
    wrong = evaluate(RULES, service(), chosen(casing="C90500", impeller="GJL-250"))
    assert named(wrong, "galvanic, impeller in fresh water").severity is Severity.CAUTION


@pytest.mark.parametrize(
    ("liquid", "part", "code", "severity"),
    [
        # Table of usual materials by liquid: common practice of the trade
        (Liquid.CLEAN_FRESH, Part.CASING, "GJL-250", Severity.FITS),
        (Liquid.CLEAN_FRESH, Part.IMPELLER, "CC480K", Severity.FITS),
        (Liquid.CLEAN_FRESH, Part.IMPELLER, "CF8M", Severity.FITS),
        (Liquid.CLEAN_FRESH, Part.IMPELLER, "GJL-250", Severity.CAUTION),
        (Liquid.RAW_RIVER, Part.CASING, "GJS-400-15", Severity.FITS),
        (Liquid.RAW_RIVER, Part.CASING, "GJL-250", Severity.CAUTION),
        (Liquid.RAW_RIVER, Part.IMPELLER, "CA6NM", Severity.FITS),
        (Liquid.RAW_RIVER, Part.IMPELLER, "C90500", Severity.CAUTION),
        (Liquid.SEA, Part.CASING, "C95800", Severity.FITS),
        (Liquid.SEA, Part.CASING, "D-2", Severity.CAUTION),
        (Liquid.SEA, Part.CASING, "GJL-250", Severity.AVOID),
        (Liquid.SEA, Part.IMPELLER, "5A", Severity.FITS),
        (Liquid.SEA, Part.IMPELLER, "CA6NM", Severity.AVOID),
        (Liquid.BRACKISH, Part.CASING, "GJL-250", Severity.CAUTION),
        (Liquid.BRACKISH, Part.IMPELLER, "CF8M", Severity.CAUTION),
        (Liquid.HOT, Part.CASING, "GJS-400-15", Severity.FITS),
        (Liquid.HOT, Part.CASING, "GJL-250", Severity.CAUTION),
        (Liquid.HOT, Part.CASING, "WCB", Severity.FITS),
        (Liquid.CONDENSATE, Part.IMPELLER, "CA6NM", Severity.FITS),
        (Liquid.EFFLUENT, Part.CASING, "GJL-250", Severity.FITS),
        (Liquid.EFFLUENT, Part.IMPELLER, "C90500", Severity.CAUTION),
        (Liquid.FIRE, Part.IMPELLER, "C90500", Severity.FITS),
        (Liquid.CHLORINATED, Part.IMPELLER, "C95800", Severity.CAUTION),
    ],
)
def test_suitability_by_liquid(liquid: Liquid, part: Part, code: str, severity: Severity) -> None:
    verdicts = [
        v
        for v in evaluate_part(RULES, service(liquid=liquid), part, METALS[code])
        if v.topic == "suitability"
    ]
    assert [v.severity for v in verdicts] == [severity]


def test_hot_casings_stand_on_their_centreline():
    assert spoke("centreline support")(temperature_k=celsius(121))
    assert not spoke("centreline support")(temperature_k=celsius(120))
    assert spoke("grey iron over 120")(temperature_k=celsius(121))


# -- the engine's manners ----------------------------------------------------------------------


def test_an_ordinary_choice_in_clean_water_meets_no_warning():
    verdicts = evaluate(RULES, service(), chosen(), tip_speed_m_s=33.0)
    assert worst(verdicts) is Severity.FITS
    assert rules_of(verdicts), "what fits is said too"


def test_verdicts_come_heaviest_first():
    verdicts = evaluate(
        RULES, service(liquid=Liquid.SEA, chloride_ppm=19000.0), chosen(impeller="CF8M")
    )
    ranks = [v.severity.rank for v in verdicts]
    assert ranks == sorted(ranks, reverse=True)
    assert ranks[0] == Severity.AVOID.rank


def test_a_warning_of_weight_always_asks_for_words():
    for rule in RULES:
        if rule.severity.rank >= Severity.AVOID.rank:
            assert rule.needs_reason, rule.rule


def test_a_missing_value_is_said_once_with_the_rules_that_wait_for_it():
    verdicts = evaluate(RULES, service(ph=None), chosen())
    verdict = named(verdicts, "not stated: ph")
    assert verdict.needs_reason
    assert "does not state the pH" in verdict.sentence
    assert "iron and low pH" in verdict.sentence
    assert "copper and low pH" in verdict.sentence
    assert "GJL-250" in verdict.sentence


def test_a_missing_value_that_no_rule_waits_for_is_not_mentioned():
    """Chloride matters to stainless steel, not to this iron and bronze set."""
    verdicts = evaluate(RULES, service(chloride_ppm=None), chosen(ring="C90500", sleeve="C90500"))
    assert "not stated: chloride_ppm" not in rules_of(verdicts)


def test_a_condition_that_fails_already_needs_no_second_value():
    """No tip speed over 25 m/s: the unknown sand content is not asked for that rule's sake."""
    rules = [rule for rule in RULES if rule.topic == "tip speed" and len(rule.conditions) == 2]
    assert not evaluate(rules, service(sand_ppm=None), chosen(), tip_speed_m_s=20.0)
    slow = evaluate(rules, service(sand_ppm=None), chosen(), tip_speed_m_s=26.0)
    assert rules_of(slow) == {"not stated: sand_ppm"}


def test_a_hardness_that_the_list_lacks_is_laid_at_its_door():
    ring = dataclasses.replace(METALS["GJL-250"], hardness_low_hb=None, hardness_high_hb=None)
    metals = dataclasses.replace(chosen(), ring=ring)
    verdict = named(evaluate(RULES, service(), metals), "not stated: hardness_gap_hb")
    assert verdict.sentence.startswith("The metals' list does not state")
    assert "GJL-250 / CC480K" in verdict.sentence


def test_an_unlisted_metal_is_said_to_be_unlisted():
    verdicts = evaluate(RULES, service(liquid=Liquid.RAW_RIVER), chosen(ring="GJL-250"))
    verdict = named(verdicts, "unlisted: ring in raw river water")
    assert verdict.needs_reason
    assert "no experience on record" in verdict.sentence


def test_a_row_by_code_outweighs_one_by_family():
    broad = next(r for r in RULES if r.rule == "clean fresh water 1")
    narrow = dataclasses.replace(
        broad, rule="ours", metals=("GJL-250",), severity=Severity.CAUTION, needs_reason=True
    )
    for order in ((broad, narrow), (narrow, broad)):
        assert rules_of(evaluate(order, service(), chosen())) == {"ours"}
        assert rules_of(evaluate_part(order, service(), Part.CASING, METALS["GJL-250"])) == {"ours"}
        other = chosen(casing="GJS-400-15")
        assert rules_of(evaluate(order, service(), other)) == {broad.rule}


def test_a_verdict_is_no_surer_than_the_metals_row_it_reads():
    """The hardness rule is confirmed-2nd; CF8M's typical hardness is too, 316's from memory."""
    verdicts = evaluate(RULES, service(), chosen(ring="1.4462", impeller="CD4MCuN"))
    galling = named(verdicts, "hardness difference, stainless ring")
    assert galling.certainty is Certainty.MEMORY


def test_rules_are_judged_alone_or_together_alike():
    verdicts = evaluate(RULES, service(), chosen(), tip_speed_m_s=33.0)
    for part in (Part.CASING, Part.IMPELLER, Part.RING, Part.SLEEVE):
        alone = evaluate_part(RULES, service(), part, chosen().one(part), tip_speed_m_s=33.0)
        assert set(alone) == {v for v in verdicts if v.part == part}


def test_a_bar_steel_makes_no_casing():
    with pytest.raises(WrongPart, match="431 is not listed for a casing, but for: shaft"):
        chosen(casing="431")


@pytest.mark.parametrize("speed", [-1.0, float("nan"), float("inf"), 251.0])
def test_an_impossible_tip_speed_is_refused(speed: float) -> None:
    with pytest.raises(BadQuantity, match="tip speed"):
        evaluate(RULES, service(), chosen(), tip_speed_m_s=speed)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"temperature_k": 20.0}, "20 °C is 293.15 K"),
        ({"temperature_k": float("nan")}, "temperature"),
        ({"ph": 15.0}, "pH"),
        ({"chloride_ppm": -1.0}, "chloride"),
        ({"sand_ppm": float("inf")}, "sand"),
        ({"free_chlorine_ppm": -0.1}, "free chlorine"),
        ({"saturation_index": 40.0}, "Langelier"),
    ],
)
def test_an_impossible_service_is_refused(changed: dict[str, float], words: str) -> None:
    with pytest.raises(BadQuantity, match=words):
        service(**changed)


def test_one_rule_name_in_two_files_is_refused(tmp_path: Path) -> None:
    source = Path(__file__).parents[3] / "selection/materials/rules/zinc.csv"
    for name in ("one.csv", "two.csv"):
        (tmp_path / name).write_bytes(source.read_bytes())
    with pytest.raises(BadTable, match="'zinc in salt water' twice"):
        load_rules(METALS, tmp_path)


def test_a_folder_without_rules_is_refused(tmp_path: Path) -> None:
    with pytest.raises(BadTable, match="no rule"):
        load_rules(METALS, tmp_path)


def test_a_rule_survives_the_way_through_a_form_and_to_another_process():
    for rule in RULES:
        cells = rule.as_cells()
        assert list(cells) == list(RULE_HEAD)
        assert rule_of(cells, file="form", row=None, metals=METALS) == rule
    assert pickle.loads(pickle.dumps(DATA)) == DATA


def test_every_shipped_rule_can_speak():
    """Each rule is about at least one metal that the list holds for one of its parts."""
    for rule in RULES:
        able = [
            metal
            for metal in METALS.values()
            if (not rule.metals or metal.is_one_of(rule.metals))
            and (Part.NECK in rule.parts or set(rule.parts) & set(metal.parts))
        ]
        assert able, rule.rule
