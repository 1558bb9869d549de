"""The seal leakage test: mechanical seals only, last of all, at the lowest of its limits."""

import pytest

from quality.actions.seal_tests import plan_of_test, record_seal_test
from quality.errors import BadRecord
from quality.models import SealTest, SignedRecord
from selection.configuration import Sealing
from tests.factories import quality as q
from tests.factories.schedule import NOW, configuration

pytestmark = pytest.mark.django_db


def sealed(of, code="TST-SEAL", **changes):
    fields = {
        "operation_id": q.operation(of, code).pk,
        "tested_on": q.TODAY,
        "instrument_id": q.gauges()[0].pk,
        "start_pa": 305_000.0,
        "end_pa": 303_000.0,
        "held_s": 600.0,
        "drops_per_min": {"drive end": 0.0, "free end": 0.0},
        "by": q.inspector(),
        "at": NOW,
        **changes,
    }
    return record_seal_test(**fields)


@pytest.fixture
def tested():
    """A unit whose performance test is signed."""
    plan = q.plan()
    q.signed(q.performance_test(plan), "performance")
    return plan


def test_the_pressure_is_the_lowest_of_box_seal_and_weakest_part(tested):
    _, required, _ = plan_of_test(q.operation(tested, "TST-SEAL").pk)
    assert (required.pressure_pa, required.set_by) == (300_000.0, "highest box pressure")


@pytest.mark.parametrize(
    ("changes", "pressure"),
    [
        ({"seal_static_limit_pa": 250_000.0}, 250_000.0),
        ({"box_pressure_max_pa": 2_000_000.0}, 900_000.0),
    ],
)
def test_another_limit_sets_it_when_it_is_lower(changes, pressure):
    plan = q.plan(pump=configuration(casing_metal="GJL-250", **changes))
    q.signed(q.performance_test(plan), "performance")
    _, required, _ = plan_of_test(q.operation(plan, "TST-SEAL").pk)
    assert required.pressure_pa == pressure


def test_a_dry_seal_passes_and_names_the_performance_test_before_it(tested):
    made = sealed(tested)
    assert made.verdict == SignedRecord.Verdict.PASSED
    assert made.performance_test.operation.code == "TST-PERFORM"


def test_drops_fail(tested):
    made = sealed(tested, drops_per_min={"drive end": 0.0, "free end": 4.0})
    assert made.verdict == SignedRecord.Verdict.FAILED
    assert "4 drops a minute at the free end" in made.result["reasons"][0]


def test_too_short_a_time_is_not_judged(tested):
    assert sealed(tested, held_s=60.0).verdict == SignedRecord.Verdict.NOT_JUDGED


def test_packing_leaks_by_design_and_is_not_tested():
    plan = q.plan(
        pump=configuration(
            casing_metal="GJL-250", sealing=Sealing.PACKING, seal_static_limit_pa=None
        )
    )
    q.signed(q.performance_test(plan), "performance")
    with pytest.raises(BadRecord, match="gland packing, which leaks by design"):
        sealed(plan, code="TST-PERFORM")


def test_the_performance_test_comes_first():
    plan = q.plan()
    with pytest.raises(BadRecord, match="performance test comes first"):
        sealed(plan)
    assert not SealTest.objects.exists()


def test_an_unsigned_performance_test_is_not_enough():
    plan = q.plan()
    q.performance_test(plan)
    with pytest.raises(BadRecord, match="record and sign it"):
        sealed(plan)


def test_a_failed_performance_test_is_settled_first():
    plan = q.plan()
    q.signed(q.performance_test(plan, readings=q.readings(head_factor=0.8)), "performance")
    with pytest.raises(BadRecord, match="did not pass"):
        sealed(plan)


def test_another_units_performance_test_does_not_count():
    plan = q.plan(units=2)
    q.signed(q.performance_test(plan, unit=2), "performance")
    with pytest.raises(BadRecord, match="comes first"):
        sealed(plan)
