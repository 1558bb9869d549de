"""The seal leakage test: at which pressure, on which pumps, when."""

from datetime import date

import pytest

from quality.acceptance.errors import BadTestRecord, NotANumber, TestNotAllowed
from quality.acceptance.evidence import Outcome
from quality.acceptance.seal_test import SealRecord, judge_seal_test, seal_pressure
from selection.configuration import Sealing
from tests.quality.acceptance.builders import configuration, pressure_gauge

RATINGS = {"casing": 9e5, "flush pipe": 6e5}
REQUIRED = seal_pressure(configuration(), RATINGS)


def record(**changes):
    values = {
        "on": date(2026, 5, 4),
        "gauge": pressure_gauge(highest=6.0),
        "start_pa": 2.5e5,
        "end_pa": 2.5e5,
        "held_s": 600.0,
        "drops_per_min": {"drive end": 0.0, "outer end": 0.0},
    }
    return SealRecord(**{**values, **changes})


def judged(**changes):
    done = changes.pop("performance_test_done", True)
    allowed = changes.pop("allowed_drops_per_min", 0.0)
    return judge_seal_test(
        record(**changes),
        required=REQUIRED,
        performance_test_done=done,
        allowed_drops_per_min=allowed,
    )


@pytest.mark.parametrize(
    ("changes", "ratings", "pressure", "set_by"),
    [
        ({}, RATINGS, 2.5e5, "highest box pressure"),
        ({"box_pressure_max_pa": 20e5}, RATINGS, 6e5, "rating of flush pipe"),
        ({"box_pressure_max_pa": 20e5}, {"casing": 30e5}, 16e5, "seal's static limit"),
    ],
)
def test_the_lowest_of_the_three_limits_sets_the_pressure(changes, ratings, pressure, set_by):
    found = seal_pressure(configuration(**changes), ratings)
    assert found.pressure_pa == pressure
    assert found.set_by == set_by


def test_a_pump_with_packing_has_no_seal_test():
    with pytest.raises(TestNotAllowed, match="gland packing"):
        seal_pressure(configuration(sealing=Sealing.PACKING), RATINGS)


def test_the_performance_test_comes_first():
    with pytest.raises(TestNotAllowed, match="performance test comes first"):
        judged(performance_test_done=False)


def test_dry_seals_pass_and_drops_fail():
    assert judged().outcome is Outcome.PASSED
    wet = judged(drops_per_min={"drive end": 3.0, "outer end": 0.0})
    assert wet.outcome is Outcome.FAILED
    assert "3 drops a minute at the drive end" in wet.reasons[0]


def test_the_contract_may_allow_drops():
    wet = judged(drops_per_min={"drive end": 3.0}, allowed_drops_per_min=5.0)
    assert wet.outcome is Outcome.PASSED


def test_a_pressure_that_falls_fails_and_one_never_reached_is_not_judged():
    assert judged(end_pa=2.4e5).outcome is Outcome.FAILED
    assert judged(start_pa=2.4e5, end_pa=2.4e5).outcome is Outcome.NOT_JUDGED


def test_a_test_cut_short_or_with_a_gauge_overdue_is_not_judged():
    assert judged(held_s=300.0).outcome is Outcome.NOT_JUDGED
    late = pressure_gauge(due_on=date(2026, 5, 3))
    assert judged(gauge=late).outcome is Outcome.NOT_JUDGED


def test_a_seal_pressed_beyond_its_limit_is_said():
    assert any("look the seal" in reason for reason in judged(start_pa=3.0e5).reasons)


def test_a_choice_without_the_seals_limit_is_refused():
    with pytest.raises(BadTestRecord, match="static pressure limit"):
        seal_pressure(configuration(seal_static_limit_pa=None), RATINGS)


def test_a_test_without_ratings_or_without_seals_is_refused():
    with pytest.raises(BadTestRecord, match="weakest part"):
        seal_pressure(configuration(), {})
    with pytest.raises(BadTestRecord, match="no seal was looked at"):
        judged(drops_per_min={})


@pytest.mark.parametrize("changes", [{"held_s": -1.0}, {"end_pa": float("nan")}])
def test_absurd_values_are_refused(changes):
    with pytest.raises(NotANumber, match="zero or more"):
        judged(**changes)


def test_a_rating_of_nothing_is_refused():
    with pytest.raises(NotANumber, match="rating of casing"):
        seal_pressure(configuration(), {"casing": 0.0})
