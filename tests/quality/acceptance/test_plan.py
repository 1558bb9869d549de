"""The inspection plan follows the order's facts and fits the route template."""

from dataclasses import replace

import pytest

from quality.acceptance.errors import BadPlanRule, UnknownCondition
from quality.acceptance.plan import PlannedPoint, write_plan
from quality.acceptance.plan_conditions import CONDITIONS
from quality.acceptance.plan_rules import (
    COLUMNS,
    STANDARD,
    Letter,
    Timing,
    read_rules,
    rules_from_json,
    standard_rules,
)
from quality.acceptance.terms import Terms, Witnessable
from schedule.planning.template import standard_template
from selection.configuration import PatternWork, Sealing
from tests.quality.acceptance.builders import configuration

WITNESSED = Terms(
    customer_inspects=True,
    witnessed=(Witnessable.HYDROSTATIC, Witnessable.PERFORMANCE),
    notice_days=15,
)


def plan(terms: Terms | None = None, **changes) -> dict[str, PlannedPoint]:
    points = write_plan(standard_rules("pump"), configuration(**changes), terms or Terms())
    return {point.code: point for point in points}


@pytest.mark.parametrize("name", STANDARD)
def test_every_operation_of_a_plan_stands_in_the_route_template(name):
    operations = {operation.code for operation in standard_template(name).operations}
    assert {rule.operation for rule in standard_rules(name)} <= operations


@pytest.mark.parametrize("name", STANDARD)
def test_a_point_appears_only_where_its_operation_does(name):
    """A rule carries at least the conditions of the operation it stands at."""
    same = {"casing crack test": "critical casting"}
    template = standard_template(name)
    for rule in standard_rules(name):
        needed = {same.get(word, word) for word in template.operation(rule.operation).only_when}
        assert needed <= set(rule.only_when), rule.code


HELD = {
    "GI-MOTOR", "GI-COUPLING", "GI-SEAL", "GI-BEARINGS", "GI-BAR",
    "FDY-U-GAUGE", "FDY-L-GAUGE", "FDY-MELT", "FDY-BARS", "FDY-U-BLAST", "FDY-L-BLAST",
    "FDY-U-DIMENSIONS", "FDY-L-DIMENSIONS", "FDY-I-DIMENSIONS", "MCH-CASING-CRACK",
    "MCH-I-CRACK", "MCH-I-BALANCE", "MCH-CONCENTRIC", "ASM-HYDRO", "ASM-KIT", "ASM-ROTOR",
    "ASM-BUILD", "TST-PERFORM", "TST-SEAL", "DSP-RELEASE",
}  # fmt: skip


def test_every_hold_of_the_trade_is_in_the_plan():
    terms = Terms(critical_casting=True, crack_test_called_for=True)
    held = {point.operation_code for point in plan(terms).values() if point.holds}
    assert held >= HELD


def test_a_witnessed_pressure_test_does_not_start_without_the_inspector():
    points = plan(WITNESSED)
    start, test = points["HYDRO-START"], points["HYDRO"]
    assert (start.timing, start.customer) == (Timing.BEFORE, Letter.HOLD)
    assert (test.timing, test.customer) == (Timing.AFTER, Letter.WITNESS)
    assert start.notice_days == test.notice_days == 15


def test_only_the_pressure_test_and_dispatch_can_never_be_passed_at_risk():
    assert {code for code, point in plan(WITNESSED).items() if point.never_at_risk} == {
        "HYDRO-START",
        "HYDRO",
        "PAPERS",
        "FINAL",
    }


def test_some_contracts_make_a_witnessed_test_a_hold():
    assert plan(WITNESSED)["PERFORM"].customer is Letter.WITNESS
    assert plan(replace(WITNESSED, witness_is_hold=True))["PERFORM"].customer is Letter.HOLD


def test_a_customer_who_does_not_inspect_has_no_part():
    points = plan().values()
    assert {point.customer for point in points} == {Letter.NONE}
    assert {point.notice_days for point in points} == {0}


def test_a_customer_reviews_what_it_does_not_witness():
    assert plan(WITNESSED)["BALANCE"].customer is Letter.REVIEW
    assert plan(WITNESSED)["BALANCE"].notice_days == 0


def test_a_third_party_has_letters_of_its_own():
    terms = Terms(third_party="Atlantic Survey", third_party_witnesses=(Witnessable.HYDROSTATIC,))
    point = plan(terms)["HYDRO-START"]
    assert (point.customer, point.third_party) == (Letter.NONE, Letter.HOLD)
    assert point.notice_days == 10


@pytest.mark.parametrize(
    ("code", "terms", "changes"),
    [
        ("SEAL", Terms(), {"sealing": Sealing.PACKING}),
        ("HEAT-UPPER", Terms(), {}),
        ("CASING-CRACK", Terms(), {}),
        ("IMPELLER-CRACK", Terms(), {}),
        ("BARE", Terms(), {}),
        ("BARS", Terms(test_bars=False), {}),
        ("MELT", Terms(casings_cast=False), {}),
        ("GOODS-MOTOR", Terms(motor_to_works=False), {}),
        ("PATTERN-CASING-NEW", Terms(), {}),
        ("NPSH", Terms(), {}),
        ("NOISE", Terms(), {}),
        ("STRIP", Terms(), {}),
    ],
)
def test_a_point_is_left_out_when_its_condition_fails(code, terms, changes):
    assert code not in plan(terms, **changes)


@pytest.mark.parametrize(
    ("code", "terms", "changes"),
    [
        ("SEAL", Terms(), {}),
        ("HEAT-LOWER", Terms(), {"casing_heat_treated": True}),
        ("CASING-CRACK", Terms(critical_casting=True), {}),
        ("IMPELLER-CRACK", Terms(crack_test_called_for=True), {}),
        ("IMPELLER-CRACK", Terms(), {"crack_test": True}),
        ("BARE", Terms(bare_until_hydrostatic=True), {}),
        ("PATTERN-CASING-NEW", Terms(), {"casing_pattern_work": PatternWork.NEW}),
        ("PATTERN-IMPELLER-MODIFIED", Terms(), {"impeller_pattern_work": PatternWork.MODIFY}),
        ("NPSH", Terms(npsh_test=True), {}),
    ],
)
def test_a_point_appears_when_its_condition_holds(code, terms, changes):
    assert code in plan(terms, **changes)


def test_criteria_carry_the_orders_own_figures():
    points = plan(Terms(grade="1B", hydrostatic_minutes=45))
    assert "13.5 bar held for 45 min" in points["HYDRO"].criterion
    assert "540 m³/h at 62 m, ISO 9906:2012 grade 1B" in points["PERFORM"].criterion


def test_a_spare_without_a_hydraulic_choice_gets_a_plan():
    terms = Terms(impeller_pattern_work=PatternWork.NEW)
    codes = {p.code for p in write_plan(standard_rules("spares_impeller"), None, terms)}
    assert {"PATTERN-IMPELLER-NEW", "BALANCE", "FINAL"} <= codes
    assert "IMPELLER-CRACK" not in codes


@pytest.mark.parametrize("name", STANDARD)
def test_every_text_fits_its_column(name):
    longest = {
        "code": 60, "characteristic": 120, "method": 120, "extent": 60, "criterion": 200,
        "reference": 120, "record_kind": 40,
    }  # fmt: skip
    pump = configuration(casing_heat_treated=True) if name == "pump" else None
    for point in write_plan(standard_rules(name), pump, Terms(critical_casting=True)):
        for field, most in longest.items():
            assert len(getattr(point, field)) <= most, (point.code, field)


def test_every_condition_is_used_by_some_plan():
    used = {word for name in STANDARD for rule in standard_rules(name) for word in rule.only_when}
    assert used == set(CONDITIONS) - {"packing", "data book"}


@pytest.mark.parametrize("name", STANDARD)
def test_rules_survive_being_kept_as_rows(name):
    rules = standard_rules(name)
    assert rules_from_json(name, [rule.as_json() for rule in rules]) == rules


def test_terms_survive_being_kept_as_json():
    terms = replace(WITNESSED, impeller_pattern_work=PatternWork.NEW)
    assert Terms.from_json(terms.as_json()) == terms


GOOD = dict(
    zip(
        COLUMNS,
        ["X", "ASM-KIT", "after", "a", "b", "c", "d", "e", "f", "H", "", "", "", "", ""],
        strict=True,
    )
)


@pytest.mark.parametrize(
    ("column", "value", "says"),
    [
        ("timing", "sometime", "must be one of 'before', 'during', 'after'"),
        ("maker", "X", "maker is 'X'"),
        ("test", "tasting", "test is 'tasting'"),
        ("criterion", "{preassure}", "a figure in criterion is 'preassure'"),
        ("criterion", "{open", "closed braces"),
        ("marks", "always", "empty or never at risk"),
        ("record", " ", "record is ''"),
    ],
)
def test_a_rule_that_cannot_be_read_is_refused_with_what_would_be_right(column, value, says):
    with pytest.raises(BadPlanRule, match=says):
        rules_from_json("mine", [{**GOOD, column: value}])


def test_an_unknown_condition_is_refused_with_those_there_are():
    with pytest.raises(UnknownCondition, match="'full moon'; known are NPSH test"):
        rules_from_json("mine", [{**GOOD, "only_when": "full moon"}])


def test_two_rules_of_one_code_are_refused():
    with pytest.raises(BadPlanRule, match="used once"):
        rules_from_json("mine", [GOOD, GOOD])


def test_a_table_with_another_heading_is_refused():
    with pytest.raises(BadPlanRule, match="heading"):
        read_rules("mine", "code,operation\nX,Y\n")


def test_a_plan_of_unknown_name_is_refused():
    with pytest.raises(BadPlanRule, match="pump, spares_impeller"):
        standard_rules("turbine")


def test_witnessed_tests_without_anybody_to_witness_them_are_refused():
    with pytest.raises(BadPlanRule, match="customer_inspects"):
        Terms(witnessed=(Witnessable.SEAL,))
    with pytest.raises(BadPlanRule, match="third_party"):
        Terms(third_party_witnesses=(Witnessable.SEAL,))


def test_terms_of_another_version_are_refused_with_the_field():
    with pytest.raises(BadPlanRule, match="tea_breaks"):
        Terms.from_json({"tea_breaks": 2})


@pytest.mark.parametrize("days", [-1, 366])
def test_notice_of_absurd_length_is_refused(days):
    with pytest.raises(BadPlanRule, match="from 0 to 365"):
        Terms(notice_days=days)
