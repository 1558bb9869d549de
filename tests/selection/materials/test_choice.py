"""One choice put to everything, and a first one suggested."""

import dataclasses
from collections.abc import Callable
from typing import Any

import pytest

from selection.configuration import PatternWork, Sealing
from selection.materials import (
    CLEAN_WATER,
    Assessment,
    BadFlange,
    BadQuantity,
    CasingRating,
    Family,
    IncompleteData,
    Liquid,
    MaterialChoice,
    Outcome,
    Part,
    Severity,
    Suggestion,
    UnknownMetal,
    WrongPart,
    assess,
    suggest,
    worst,
)
from tests.selection.materials.smallest import (
    DATA,
    celsius,
    choice,
    duty,
    flange,
    iron_class,
    named,
    needs,
    pattern,
    pn,
    pressures,
    rules_of,
    service,
)
from works.standards import Certainty

SALT = {"liquid": Liquid.SEA, "chloride_ppm": 19000.0, "ph": 8.1}
BRONZE = pattern(
    ratings=(
        CasingRating(family=Family.GREY_IRON, pressure_pa=16e5),
        CasingRating(family=Family.DUCTILE_IRON, pressure_pa=25e5),
        CasingRating(family=Family.ALUMINIUM_BRONZE, pressure_pa=16e5),
    )
)


def judge(what: MaterialChoice | None = None, **changed: Any) -> Assessment:
    return assess(
        what or choice(),
        changed.pop("service", service()),
        changed.pop("pressures", pressures()),
        changed.pop("duty", duty()),
        changed.pop("pattern", pattern()),
        changed.pop("needs", needs()),
        DATA,
        **changed,
    )


def offer(**changed: Any) -> Suggestion:
    return suggest(
        changed.pop("service", service()),
        changed.pop("pressures", pressures()),
        changed.pop("duty", duty()),
        changed.pop("pattern", pattern()),
        changed.pop("needs", needs()),
        changed.pop("data", DATA),
        **changed,
    )


def test_an_ordinary_choice_has_nothing_to_answer():
    found = judge()
    assert found.severity is Severity.FITS
    assert found.to_answer == ()
    assert found.blocking == ()
    assert found.pattern_work is PatternWork.NONE
    assert not found.crack_test.wanted
    assert not found.heat_treatment.needed
    assert found.certainty is Certainty.COMMON_PRACTICE


def test_every_area_speaks():
    topics = {v.topic for v in judge().verdicts}
    assert {"suitability", "casing pressure", "flange", "sealing", "foundry"} <= topics


def test_verdicts_come_heaviest_first():
    found = judge(choice(impeller="CF8M", ring="316"), service=service(**SALT))
    ranks = [v.severity.rank for v in found.verdicts]
    assert ranks == sorted(ranks, reverse=True)
    assert found.severity is Severity.AVOID
    assert all(v.needs_reason for v in found.to_answer)


def test_the_discharge_flange_is_put_to_the_working_pressure_and_the_suction_to_its_own():
    found = judge(choice(discharge_flange=pn(10, 250)))
    assert named(found.verdicts, "discharge: flange rating").severity is Severity.FITS
    high = pressures(differential_max_pa=9.5e5, working_max_pa=10.5e5, test_pa=15.75e5)
    found = judge(choice(discharge_flange=pn(10, 250)), pressures=high)
    verdict = named(found.verdicts, "discharge: flange rating")
    assert (verdict.severity, verdict.overridable) == (Severity.REFUSE, False)
    assert verdict in found.blocking
    assert verdict not in found.to_answer
    assert named(found.verdicts, "suction: flange rating").severity is Severity.FITS
    assert "suction: suction flange weaker than the discharge side" in rules_of(found.verdicts)


def test_a_warm_pump_needs_a_higher_flange():
    """EN 1092-2: PN 10 keeps 9 bar at 150 °C in grey iron."""
    hot = service(liquid=Liquid.HOT, temperature_k=celsius(150))
    found = judge(choice(discharge_flange=pn(10, 250)), service=hot)
    assert named(found.verdicts, "discharge: flange rating").severity is Severity.REFUSE
    found = judge(service=hot)
    assert named(found.verdicts, "discharge: flange rating").severity is Severity.FITS


def test_a_flange_that_no_table_rates_is_refused_but_may_be_answered_for():
    found = judge(choice(casing="GJS-400-15", discharge_flange=iron_class(125, 10)))
    verdict = named(found.verdicts, "discharge: flange cannot be rated")
    assert (verdict.severity, verdict.overridable) == (Severity.REFUSE, True)
    assert "ASME B16.42 Class 150" in verdict.sentence
    assert verdict in found.to_answer


def test_the_test_pressure_loads_the_suction_flange_too():
    """Segmental tests need the purchaser's agreement: question set on ISO 13709."""
    found = judge(pressures=pressures(test_pa=16e5))
    assert "suction: test above the flange" in rules_of(found.verdicts)
    assert "suction: test above the flange" not in rules_of(judge().verdicts)


@pytest.mark.parametrize(
    ("discharge", "work"),
    [
        (pn(16, 250), PatternWork.NONE),
        (iron_class(125, 10), PatternWork.DRILL_ONLY),
        (pn(25, 250), PatternWork.MODIFY),
        (pn(40, 250), PatternWork.NEW),
    ],
)
def test_the_heavier_nozzle_decides_the_patterns_work(discharge: Any, work: PatternWork) -> None:
    found = judge(choice(discharge_flange=discharge))
    assert found.pattern_work is work
    if work is PatternWork.NEW:
        assert named(found.verdicts, "discharge: flange and pattern") in found.to_answer


def test_the_customers_pipe_is_looked_at():
    found = judge(choice(discharge_pipe=pn(10, 250), pipe_metal="GJL-250"))
    assert found.discharge.mating is not None
    assert found.discharge.mating.outcome is Outcome.DOES_NOT_MATE
    assert named(found.verdicts, "discharge: flange and pipe").needs_reason
    found = judge(choice(suction_pipe=pn(10, 300), pipe_metal="GJL-250"))
    assert found.suction.joint_pa == pytest.approx(10e5)
    assert named(found.verdicts, "suction: joint rating").severity is Severity.FITS


def test_a_joint_weaker_than_the_pump_is_not_overridable():
    """PN 10 pipe on a DN 150 PN 16 nozzle bolts up and holds 10 bar only."""
    small = pattern(discharge=dataclasses.replace(pattern().discharge, dn=150, blanks_for=()))
    high = pressures(differential_max_pa=11e5, working_max_pa=12e5, test_pa=18e5)
    found = judge(
        choice(discharge_flange=pn(16, 150), discharge_pipe=pn(10, 150), pipe_metal="GJL-250"),
        pattern=small,
        pressures=high,
    )
    verdict = named(found.verdicts, "discharge: joint rating")
    assert (verdict.severity, verdict.overridable) == (Severity.REFUSE, False)
    assert found.discharge.joint_pa == pytest.approx(10e5)


def test_a_high_head_tin_bronze_impeller_needs_an_acceptance_to_be_agreed():
    found = judge(duty=duty(head_m=90.0))
    assert found.crack_test.wanted
    verdict = named(found.verdicts, "crack test of the impeller")
    assert verdict.severity is Severity.CAUTION
    assert "copper-tin" in verdict.sentence


def test_the_casings_heat_treatment_reaches_the_assessment():
    stainless = pattern(ratings=(CasingRating(family=Family.DUPLEX, pressure_pa=16e5),))
    found = judge(
        choice(
            casing="CD4MCuN",
            suction_flange=flange("EN 1092-1", "PN 10", "DN 300"),
            discharge_flange=flange("EN 1092-1", "PN 16", "DN 250"),
        ),
        pattern=stainless,
    )
    assert found.heat_treatment.needed
    assert found.pattern_work is PatternWork.NONE


@pytest.mark.parametrize(
    ("changed", "error", "words"),
    [
        ({"casing": "GG-25"}, UnknownMetal, "GJL-250"),
        ({"casing": "431"}, WrongPart, "shaft"),
        ({"impeller_ring": "C45"}, WrongPart, "shaft"),
        ({"pipe_metal": "tin"}, UnknownMetal, "WCB"),
        ({"discharge_flange": pn(17, 250)}, BadFlange, "PN 16"),
        ({"discharge_pipe": pn(17, 250)}, BadFlange, "PN 16"),
    ],
)
def test_a_wrong_question_is_an_error_that_helps(
    changed: dict[str, Any], error: type[Exception], words: str
) -> None:
    with pytest.raises(error, match=words):
        judge(choice(**changed))


@pytest.mark.parametrize("changed", [{"head_m": 0.0}, {"tip_speed_m_s": -1.0}])
def test_an_impossible_duty_is_refused(changed: dict[str, float]) -> None:
    with pytest.raises(BadQuantity):
        duty(**changed)


# -- suggestions -------------------------------------------------------------------------------

Case = tuple[dict[str, Any], Callable[[MaterialChoice], bool]]
CASES: list[Case] = [
    ({}, lambda c: (c.casing, c.impeller) == ("GJL-250", "CC480K")),
    (
        {"service": service(liquid=Liquid.RAW_RIVER, sand_ppm=120.0)},
        lambda c: (c.casing, c.impeller, c.ring) == ("GJS-400-15", "CA6NM", "420-H"),
    ),
    (
        {"service": service(**SALT), "pattern": BRONZE},
        lambda c: c.casing == "C95800" and c.suction_flange.standard == "EN 1092-3",
    ),
    (
        {"service": service(liquid=Liquid.CONDENSATE, ammonia=True)},
        lambda c: "C9" not in c.impeller + c.ring + c.sleeve and "CC" not in c.impeller,
    ),
    (
        {"service": service(zinc_free=True)},
        lambda c: (c.impeller, c.sleeve) == ("CC480K", "410-T"),
    ),
    (
        {"needs": needs(leakage_allowed=False), "seal_static_limit_pa": 16e5},
        lambda c: c.sealing is Sealing.MECHANICAL_SEAL and c.flush_plan == "11",
    ),
    (
        {"flange_standard": "ASME B16.1"},
        lambda c: c.discharge_flange.standard == "ASME B16.1",
    ),
]


@pytest.mark.parametrize(("given", "expected"), CASES)
def test_a_first_choice_is_what_the_works_would_offer(
    given: dict[str, Any], expected: Callable[[MaterialChoice], bool]
) -> None:
    found = offer(**given)
    assert found.choice is not None
    assert expected(found.choice), found.choice


def test_a_first_choice_for_clean_water_needs_no_reason_at_all():
    found = offer()
    assert found.choice is not None
    assert judge(found.choice).to_answer == ()


def test_every_part_says_why():
    reasons = {why.part: why for why in offer(service=service(**SALT), pattern=BRONZE).reasons}
    assert set(reasons) == {
        "casing",
        "impeller",
        "ring",
        "shaft",
        "sleeve",
        "suction flange",
        "discharge flange",
        "sealing",
    }
    assert "GJL-250 passed over" in reasons["casing"].sentence


def test_equal_questions_get_equal_answers():
    assert offer() == offer()


def test_a_hot_pump_gets_a_metal_and_flange_that_hold():
    """At 150 °C ductile iron keeps 0.97 of PN 16 and grey iron 0.90: 14.9 bar needs ductile."""
    hot = service(liquid=Liquid.HOT, temperature_k=celsius(150))
    high = pressures(differential_max_pa=13.9e5, working_max_pa=14.9e5, test_pa=22.35e5)
    found = offer(service=hot, pressures=high, seal_static_limit_pa=16e5)
    assert found.choice is not None
    assert found.choice.casing == "GJS-400-15"
    assert found.choice.sealing is Sealing.MECHANICAL_SEAL
    assert judge(found.choice, service=hot, pressures=high).blocking == ()


def test_no_flange_means_no_choice_and_says_so():
    high = pressures(differential_max_pa=29e5, working_max_pa=30e5, test_pa=45e5)
    found = offer(pressures=high)
    assert found.choice is None
    why = next(why for why in found.reasons if why.part == "discharge flange")
    assert why.taken == "none"
    assert "30 bar" in why.sentence
    unknown = offer(flange_standard="BS 10")
    assert unknown.choice is None


def test_a_part_nobody_offers_is_an_error():
    bare = dataclasses.replace(
        DATA, preferences=tuple(p for p in DATA.preferences if p.part is not Part.SLEEVE)
    )
    with pytest.raises(IncompleteData, match="sleeve"):
        offer(data=bare)


def test_data_without_rules_is_refused():
    with pytest.raises(IncompleteData, match="no rules"):
        dataclasses.replace(DATA, rules=())


def test_a_reason_can_be_given_for_anything_but_pressure():
    """Every verdict that no reason answers is about a seal, a casing, a flange or a joint."""
    high = pressures(differential_max_pa=29e5, working_max_pa=30e5, test_pa=45e5)
    found = judge(
        choice(
            sealing=Sealing.MECHANICAL_SEAL,
            flush_plan="11",
            seal_static_limit_pa=1e5,
            impeller="C86500",
        ),
        pressures=high,
        service=service(**SALT, zinc_free=True),
    )
    assert {v.topic for v in found.blocking} == {"casing pressure", "flange", "sealing"}
    assert worst(v for v in found.to_answer if v.topic == "zinc") is Severity.REFUSE
    assert all(v.needs_words for v in found.to_answer if v.severity is not Severity.CAUTION)


def test_clean_water_at_hand_lets_a_lift_be_packed():
    lift = pressures(suction_min_pa=-0.4e5)
    wet = needs(clean_flush_available=True)
    found = offer(pressures=lift, needs=wet)
    assert found.choice is not None
    assert found.choice.flush_plan == CLEAN_WATER
    assert judge(found.choice, pressures=lift, needs=wet).to_answer == ()
