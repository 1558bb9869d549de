"""Routes grown from templates, and grown again after a change."""

from dataclasses import replace
from typing import Any

import pytest

from schedule.planning import (
    STANDARD,
    Difference,
    Growth,
    Progress,
    Template,
    TemplateOperation,
    Terms,
    WorkCentre,
    forecast,
    grow,
    read_template,
    regrow,
    remake,
    standard_template,
)
from schedule.planning.conditions import CONDITIONS
from schedule.planning.errors import BadTemplate, BadTerms, UnknownOperation
from schedule.planning.template import After, Step
from selection.configuration import Configuration, Flange, PatternWork, Sealing
from tests.schedule.planning.pumps import configuration
from tests.schedule.planning.works import DAY, always, day_shift, minute

PUMP = standard_template("pump")


def codes(growth: Growth) -> set[str]:
    return {operation.code for operation in growth.operations}


def before(growth: Growth, key: str) -> dict[str, int]:
    return {link.before: link.lag_minutes for link in growth.links if link.after == key}


def grown(
    chosen: Configuration | None = None, terms: Terms | None = None, units: int = 1
) -> Growth:
    return grow(PUMP, chosen or configuration(), terms or Terms(), units=units)


def test_a_single_pump_grows_to_some_seventy_operations_in_every_area() -> None:
    growth = grown()
    assert 60 <= len(growth.operations) <= 80
    assert {operation.area for operation in growth.operations} == {
        "engineering",
        "buying",
        "pattern shop",
        "foundry",
        "machine shop",
        "assembly",
        "test bed",
        "dispatch",
    }


def test_three_pumps_share_engineering_buying_and_patterns() -> None:
    growth = grown(units=3)
    for operation in growth.operations:
        shared = operation.area in ("engineering", "buying", "pattern shop")
        assert (operation.unit is None) == (shared or operation.code == "DSP-DATA-BOOK")
    assert sum(operation.code == "MCH-BORE" for operation in growth.operations) == 3


def test_castings_of_one_pattern_follow_one_after_another() -> None:
    growth = grown(units=3)
    assert "FDY-U-MOULD/1" in before(growth, "FDY-U-MOULD/2")
    assert "FDY-U-MOULD/2" in before(growth, "FDY-U-MOULD/3")
    assert "FDY-U-MOULD/1" not in before(growth, "FDY-L-MOULD/2")


def test_an_item_operation_waits_for_every_unit() -> None:
    assert set(before(grown(units=3), "DSP-DATA-BOOK")) == {f"TST-STRIP/{n}" for n in (1, 2, 3)}


@pytest.mark.parametrize(
    ("chosen", "terms", "code"),
    [
        ({"sealing": Sealing.MECHANICAL_SEAL}, {}, "TST-SEAL"),
        ({"sealing": Sealing.MECHANICAL_SEAL}, {}, "BUY-SEAL"),
        ({}, {}, "BUY-PACKING"),
        ({"crack_test": True}, {}, "MCH-I-CRACK"),
        ({}, {"crack_test_called_for": True}, "MCH-I-CRACK"),
        ({}, {"casing_crack_test": True}, "MCH-CASING-CRACK"),
        ({"motor_special": True}, {}, "BUY-MOTOR-DRAWING"),
        ({"casing_heat_treated": True}, {}, "FDY-U-HEAT"),
        ({"casing_pattern_work": PatternWork.MODIFY}, {}, "PAT-CASING-MODIFY"),
        ({"casing_pattern_work": PatternWork.NEW}, {}, "PAT-CASING-NEW"),
        ({"impeller_pattern_work": PatternWork.NEW}, {}, "PAT-IMPELLER-NEW"),
        ({"impeller_pattern_work": PatternWork.MODIFY}, {}, "PAT-IMPELLER-MODIFY"),
        ({}, {"plan_approval_days": 10}, "ENG-PLAN-APPROVAL"),
        ({}, {"paint_after_hydrostatic": True}, "ASM-PRIME-1"),
        ({}, {"contract_motor_on_test": True}, "TST-MOTOR"),
    ],
)
def test_an_operation_appears_when_its_condition_holds_and_not_otherwise(
    chosen: Any, terms: Any, code: Any
) -> None:
    plain = codes(grown(configuration(sealing=Sealing.PACKING), Terms()))
    with_it = codes(grown(configuration(**chosen), Terms(**terms)))
    assert code in with_it
    assert (code in plain) == (not chosen and not terms)


def test_every_condition_is_used_by_a_standard_template() -> None:
    used = {
        name
        for template in STANDARD
        for operation in standard_template(template).operations
        for name in operation.only_when
    }
    assert used == set(CONDITIONS)


def test_what_is_left_out_is_stepped_over_and_its_own_lag_goes_with_it() -> None:
    primed_first = grown()
    assert before(primed_first, "MCH-MARK/1") == {
        "FDY-U-PRIME-2/1": round(0.7 * DAY),
        "FDY-L-PRIME-2/1": round(0.7 * DAY),
    }
    bare = grown(terms=Terms(paint_after_hydrostatic=True))
    assert before(bare, "MCH-MARK/1") == {"FDY-U-BLAST-2/1": 0, "FDY-L-BLAST-2/1": 0}
    assert before(bare, "ASM-KIT/1")["ASM-PRIME-2/1"] == round(0.7 * DAY)


def test_approval_rounds_follow_one_another() -> None:
    growth = grown(terms=Terms(approval_rounds=2, days_a_round=7))
    assert before(growth, "ENG-APPROVAL-R2") == {"ENG-APPROVAL": 0}
    assert "ENG-APPROVAL-R2" in before(growth, "ENG-PARTS")
    assert growth.operation("ENG-APPROVAL-R2").minutes == 7 * DAY
    assert growth.operation("ENG-APPROVAL-R2").name.endswith("round 2")
    none = grown(terms=Terms(approval_rounds=0))
    assert "ENG-ARRANGE" in before(none, "ENG-PARTS")


def test_castings_from_the_shelf_need_no_foundry_for_their_unit() -> None:
    growth = grown(terms=Terms(shelf_casings=(1,), shelf_impellers=(2,)), units=2)
    keys = {operation.key for operation in growth.operations}
    assert "FDY-U-MOULD/1" not in keys and "FDY-U-MOULD/2" in keys
    assert "FDY-I-MOULD/1" in keys and "FDY-I-MOULD/2" not in keys
    assert set(before(growth, "MCH-MARK/1")) == {"PAT-CASING", "ENG-PLAN"}
    assert "FDY-U-MOULD/1" not in before(growth, "FDY-U-MOULD/2")


def test_spares_grow_without_a_hydraulic_choice() -> None:
    impeller = grow(
        standard_template("spares_impeller"),
        None,
        Terms(impeller_pattern_work=PatternWork.NEW),
        units=2,
    )
    assert "PAT-IMPELLER-NEW" in codes(impeller)
    shaft = grow(standard_template("spares_shaft"), None, Terms(), units=1)
    assert "MCH-SHAFT" in codes(shaft)


def test_the_grown_route_forecasts_in_plausible_weeks() -> None:
    rows = read_centres()
    growth = grown(terms=Terms(approval_rounds=2), units=3)
    problem = growth.problem(
        due=minute(2026, 8, 3), work_centres=rows, calendars=[day_shift()], key="lead order"
    )
    found = forecast(problem, now=minute(2026, 2, 2, 8), days_calendar=0)
    weeks = (found.finish - minute(2026, 2, 2, 8)) / (7 * DAY)
    assert 8 < weeks < 17
    assert found.binding_chain()[0].operation == "ENG-REVIEW"
    assert found.binding_chain()[-1].operation.startswith("DSP-RELEASE")


def read_centres() -> list[WorkCentre]:
    used = sorted({operation.work_centre for operation in PUMP.operations} - {""})
    return [WorkCentre(key=code, calendar=0) for code in used]


def test_a_route_without_its_work_centre_says_which() -> None:
    with pytest.raises(UnknownOperation, match="ENGINEERING"):
        grown().problem(due=0, work_centres=[], calendars=[always()])


# Growing again


def change(
    chosen: dict[str, object], done: set[str], terms: Terms | None = None, units: int = 1
) -> Difference:
    return regrow(grown(units=units), grown(configuration(**chosen), terms, units=units), done=done)


def test_a_seal_instead_of_packing_adds_and_drops_and_repeats_nothing_undone() -> None:
    found = change({"sealing": Sealing.MECHANICAL_SEAL}, done=set())
    assert set(found.added) == {"BUY-SEAL", "TST-SEAL/1"}
    assert found.dropped == ("BUY-PACKING",)
    assert found.repeated == () and found.superseded == ()


def test_finished_work_no_longer_called_for_stays_on_the_record() -> None:
    found = change({"sealing": Sealing.MECHANICAL_SEAL}, done={"ENG-REVIEW", "BUY-PACKING"})
    assert found.superseded == ("BUY-PACKING",)
    assert found.dropped == ()
    assert found.growth.operation("BUY-PACKING").key == "BUY-PACKING"


CAST = {
    "ENG-REVIEW",
    "ENG-ARRANGE",
    "ENG-APPROVAL",
    "ENG-PARTS",
    "ENG-PLAN",
    "PAT-CASING",
    "FDY-U-CORE/1",
    "FDY-U-GAUGE/1",
    "FDY-U-MOULD/1",
    "FDY-L-CORE/1",
    "FDY-L-GAUGE/1",
    "FDY-L-MOULD/1",
    "FDY-MELT/1",
    "FDY-U-POUR/1",
    "FDY-L-POUR/1",
    "FDY-U-COOL/1",
    "FDY-U-KNOCKOUT/1",
}


def test_another_metal_after_pouring_repeats_the_castings_and_says_why() -> None:
    found = change({"casing_metal": "EN-GJS-400-15"}, done=CAST)
    again = {repetition.key: repetition for repetition in found.repeated}
    assert set(again) == {key for key in CAST if key.startswith("FDY")} | {"ENG-PARTS"}
    assert again["FDY-U-POUR/1"].because == "casing metal was EN-GJL-250, is EN-GJS-400-15"
    assert again["FDY-U-MOULD/1"].because == "used up with FDY-U-POUR/1"
    assert again["FDY-U-KNOCKOUT/1"].because == "follows FDY-U-COOL/1"
    assert again["FDY-U-POUR/1"].again == "FDY-U-POUR/1#1"
    growth = found.growth
    assert "FDY-U-MOULD/1#1" in before(growth, "FDY-MELT/1#1")
    assert "FDY-U-KNOCKOUT/1#1" in before(growth, "FDY-U-BLAST/1")
    assert growth.operation("FDY-U-MOULD/1#1").holds == (("moulding box", "FDY-U-KNOCKOUT/1#1"),)
    assert growth.operation("FDY-U-POUR/1").repeat == 0


def test_another_flange_before_casting_repeats_drawings_but_not_the_pattern_check() -> None:
    flange = Flange(standard="ASME B16.1", rating="Class 125", nominal="NPS 10")
    done = {"ENG-REVIEW", "ENG-ARRANGE", "ENG-APPROVAL", "ENG-PARTS", "PAT-CASING"}
    found = change({"suction_flange": flange}, done=done)
    assert {repetition.key for repetition in found.repeated} == {
        "ENG-ARRANGE",
        "ENG-APPROVAL",
        "ENG-PARTS",
    }


def test_another_motor_leaves_the_castings_alone() -> None:
    found = change({"motor_rating_w": 160_000.0}, done=CAST)
    assert all(repetition.key.startswith("ENG") for repetition in found.repeated)


def test_a_trim_after_the_test_repeats_turning_balance_building_and_test() -> None:
    done = {operation.key for operation in grown().operations if operation.area != "dispatch"}
    found = change({"impeller_diameter_mm": 381.0}, done=done)
    again = {repetition.key for repetition in found.repeated}
    assert {"MCH-I-TURN/1", "MCH-I-BALANCE/1", "ASM-BUILD/1", "TST-PERFORM/1"} <= again
    assert not {"MCH-BORE/1", "ASM-HYDRO/1", "FDY-I-POUR/1", "MCH-SHAFT/1"} & again


def test_a_scrapped_half_is_made_again_and_the_other_half_and_units_stay() -> None:
    growth = grown(units=2)
    done = CAST | {"FDY-U-BLAST/1", "FDY-U-CORE/2", "FDY-U-GAUGE/2", "FDY-U-MOULD/2"}
    found = remake(growth, ["FDY-U-POUR/1"], done=done, why="cold shut found at the visual check")
    again = {repetition.key for repetition in found.repeated}
    assert again == {
        "FDY-U-CORE/1",
        "FDY-U-GAUGE/1",
        "FDY-U-MOULD/1",
        "FDY-MELT/1",
        "FDY-U-POUR/1",
        "FDY-U-COOL/1",
        "FDY-U-KNOCKOUT/1",
        "FDY-U-BLAST/1",
    }
    assert before(found.growth, "FDY-L-POUR/1") == {"FDY-MELT/1": 0}  # poured from the first melt
    assert before(found.growth, "FDY-U-POUR/1#1") == {"FDY-MELT/1#1": 0}


def test_work_scrapped_twice_is_repeated_twice() -> None:
    growth = grown()
    first = remake(growth, ["FDY-U-POUR/1"], done=CAST, why="cold shut")
    done = CAST | {repetition.again for repetition in first.repeated}
    second = remake(first.growth, ["FDY-U-POUR/1#1"], done=done, why="shift")
    assert "FDY-U-POUR/1#2" in {repetition.again for repetition in second.repeated}
    keys = [operation.key for operation in second.growth.operations]
    assert len(keys) == len(set(keys))
    assert {"FDY-U-POUR/1", "FDY-U-POUR/1#1", "FDY-U-POUR/1#2"} <= set(keys)


def test_a_route_regrown_unchanged_is_the_same_route() -> None:
    found = change({}, done=CAST)
    assert (found.added, found.dropped, found.superseded, found.repeated) == ((), (), (), ())
    assert found.growth == grown()


def test_a_regrown_route_still_forecasts_with_its_reports() -> None:
    found = change({"casing_metal": "EN-GJS-400-15"}, done=CAST)
    problem = found.growth.problem(
        due=minute(2026, 9, 1), work_centres=read_centres(), calendars=[day_shift()]
    )
    now = minute(2026, 3, 2, 8)
    reports = [Progress(operation=key, started=now - 60, finished=now) for key in CAST]
    forecasted = forecast(problem, now=now, progress=reports)
    assert forecasted.row("FDY-U-POUR/1#1").earliest_start > now
    assert forecasted.row("FDY-U-BLAST/1").earliest_start > now


def test_done_work_that_the_route_does_not_have_is_refused() -> None:
    with pytest.raises(UnknownOperation, match="FDY-X"):
        regrow(grown(), grown(), done={"FDY-X"})
    with pytest.raises(UnknownOperation, match="FDY-X"):
        remake(grown(), ["FDY-X"], done=set(), why="scrap")


# Templates and terms


def test_templates_and_terms_go_through_json_and_back() -> None:
    import json

    for operation in PUMP.operations:
        row = json.loads(json.dumps(operation.as_json()))
        assert TemplateOperation.from_json(row) == operation
    terms = Terms(shelf_casings=(1, 2), impeller_pattern_work=PatternWork.NEW)
    assert Terms.from_json(json.loads(json.dumps(terms.as_json()))) == terms


def row(code: str, **options: object) -> TemplateOperation:
    values = {"name": code, "area": "foundry", "work_centre": "MOULDING", "minutes": 60, **options}
    return TemplateOperation(code=code, **values)


@pytest.mark.parametrize(
    ("rows", "says"),
    [
        ([row("A", after=(After("B"),)), row("B", after=(After("A"),))], "A, B: .*ring"),
        ([row("A"), row("A")], "stands twice"),
        ([row("A", after=(After("Z"),))], "no operation 'Z'"),
        ([row("A", only_when=("full moon",))], "no condition 'full moon'; there are: .*packing"),
        ([row("A", repeats="often")], "no count 'often'"),
        ([row("A", minutes=None, duration="a while")], "no duration 'a while'"),
        ([row("A", minutes=None)], "either minutes or the name"),
        ([row("A", minutes=-5)], "0 or more is right"),
        ([row("A", work_centre="")], "name their work centre"),
        ([row("A", depends_on=("colour",))], "no fact 'colour'"),
        ([row("A", confirmations=("smile",))], "no confirmation 'smile'"),
        ([row("A", area="canteen")], "no area 'canteen'"),
        ([row("a b")], "capitals"),
        ([row("A-R2")], "rounds are numbered"),
        ([row("A", after=(After("B", -1),)), row("B")], "lag is 0 or more"),
    ],
)
def test_a_bad_template_is_refused_with_what_there_is(rows: Any, says: Any) -> None:
    with pytest.raises(BadTemplate, match=says):
        Template("trial", tuple(rows))


HEAD = (
    "code,name,area,work_centre,kind,duration,per,after,only_when,repeats,pattern,depends_on,"
    "remade_with,confirmations,caution,marks,holds"
)


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("A,a,foundry,MOULDING,working,ten hours,unit,,,,,,,,,,", "no duration 'ten hours'"),
        ("A,a,foundry,MOULDING,working,3 d,unit,,,,,,,,,,", "line 2: '3 d' is no duration here"),
        ("A,a,foundry,,elapsed,3 h,unit,,,,,,,,,,", "write '8 d'"),
        ("A,a,foundry,MOULDING,asleep,3 h,unit,,,,,,,,,,", "'asleep'"),
        ("A,a,foundry,MOULDING,working,3 h,dozen,,,,,,,,,,", "'dozen'"),
        ("A,a,foundry,MOULDING,working,3 h,unit,,,,,,,,,loud,", "safety and whole"),
        ("A,a,foundry", "too few or too many cells"),
    ],
)
def test_a_bad_line_of_a_template_is_refused_with_its_number(line: Any, says: Any) -> None:
    with pytest.raises(BadTemplate, match=says):
        read_template("trial", f"{HEAD}\n{line}\n")


def test_a_template_without_its_columns_is_refused() -> None:
    with pytest.raises(BadTemplate, match=r"missing or unknown columns: .*caution"):
        read_template("trial", "code,name\nA,a\n")
    with pytest.raises(BadTemplate, match="there are pump"):
        standard_template("turbine")


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"days_a_round": -1}, "days_a_round is -1; it must be from 0 to 730"),
        ({"approval_rounds": 10}, "from 0 to 9"),
        ({"shelf_casings": (0,)}, "unit numbers from 1"),
        ({"shelf_casings": (1, 1)}, "each once"),
    ],
)
def test_bad_terms_are_refused(options: Any, says: Any) -> None:
    with pytest.raises(BadTerms, match=says):
        Terms(**options)


def test_units_that_the_item_does_not_have_are_refused() -> None:
    with pytest.raises(BadTerms, match="1 to 2"):
        grown(terms=Terms(shelf_casings=(3,)), units=2)
    with pytest.raises(BadTerms, match="1 or more"):
        grown(units=0)
    with pytest.raises(BadTerms, match="no such term"):
        Terms.from_json({"colour": "green"})


def test_elapsed_steps_take_no_place() -> None:
    for operation in grown().operations:
        assert (operation.work_centre == "") == (operation.kind is not Step.WORKING)


def test_the_same_facts_grow_the_same_route() -> None:
    assert grown() == grow(replace(PUMP), configuration(), Terms(), units=1)
