"""Holds hold: releases by party, waivers, witnesses, and proceeding at risk."""

import pytest
from django.db import IntegrityError, connection, transaction

from quality.acceptance.hydrostatic import Leak, Place
from quality.actions.holds import parties_still_to_release, proceed_at_risk, release
from quality.errors import (
    AlreadyReleased,
    HoldIsNotAWitness,
    NoPartInPoint,
    NothingToPass,
    NotProved,
    PointWithdrawn,
    SignatureMissing,
    WaiverWithoutWords,
)
from quality.facts import Fact
from quality.models import InspectionPoint, Party, Release
from schedule.errors import GateOpen, NeverAtRisk
from schedule.models import Piece
from tests.factories import quality as q
from tests.factories.schedule import NOW, PieceFactory
from works.errors import NotAllowed, ReasonMissing
from works.models import Event
from works.people import Group

pytestmark = pytest.mark.django_db


def let_go(point, party=Party.MAKER, **changes):
    said = {"signed_by": "A. Reis", "by": q.inspector(), "at": NOW, **changes}
    return release(point_id=point.pk, party=party, **said)


@pytest.fixture
def plan():
    """A route whose work has come to the casting's last check before the pressure test."""
    plan = q.plan()
    q.cast(plan)
    return plan


def test_an_unreleased_hold_refuses_the_start_it_guards(plan):
    let_go(q.point(plan, "IMPELLER-CASTING"))
    with pytest.raises(GateOpen, match="Ready for the pressure test"):
        q.started(q.operation(plan, "ASM-HYDRO"))


def test_the_database_refuses_that_start_whoever_asks(plan):
    hydro = q.operation(plan, "ASM-HYDRO")
    with pytest.raises(IntegrityError, match="gate open"), transaction.atomic():
        type(hydro).objects.filter(pk=hydro.pk).update(started_at=NOW, state="started")


def test_a_hold_after_an_operation_stops_what_follows(plan):
    for code in ("PRESSURE-PAPERS", "HYDRO-START"):
        let_go(q.point(plan, code))
    let_go(q.point(plan, "HYDRO-START"), Party.CUSTOMER, signed_by="E. Amadhila")
    with pytest.raises(GateOpen, match="Impeller casting"):
        q.started(q.operation(plan, "ASM-HYDRO"))
    let_go(q.point(plan, "IMPELLER-CASTING"))
    assert q.started(q.operation(plan, "ASM-HYDRO")).state == "started"


def test_the_gate_clears_when_every_holding_party_has_released(plan):
    point = q.point(plan, "HYDRO-START")
    assert parties_still_to_release(point) == ["maker", "customer"]
    let_go(point)
    assert q.point(plan, "HYDRO-START").gate.is_open
    let_go(point, Party.CUSTOMER, signed_by="E. Amadhila")
    gate = q.point(plan, "HYDRO-START").gate
    assert not gate.is_open
    assert gate.cleared_at == NOW


def test_a_release_keeps_who_gave_the_word_and_who_entered_it(plan):
    engineer = q.inspector()
    done = let_go(
        q.point(plan, "IMPELLER-CASTING"), by=engineer, record="no defect, vane pitch 0.4 mm"
    )
    event = Event.objects.filter(deed=Fact.POINT_RELEASED).latest("id")
    assert (done.signed_by, done.by) == ("A. Reis", engineer)
    assert event.by == engineer
    assert event.after["record"] == "no defect, vane pitch 0.4 mm"


def test_releasing_twice_is_refused_and_says_who_released(plan):
    point = q.point(plan, "IMPELLER-CASTING")
    let_go(point)
    with pytest.raises(AlreadyReleased, match=r"A\. Reis"):
        let_go(point, signed_by="B. Sousa")
    assert point.releases.count() == 1


def test_the_database_lets_one_release_a_point_and_party(plan):
    point = q.point(plan, "IMPELLER-CASTING")
    let_go(point)
    with pytest.raises(IntegrityError, match="release_once_a_point_and_party"):
        point.releases.create(party=Party.MAKER, signed_by="B. Sousa", at=NOW)


def test_a_release_never_changes(plan):
    done = let_go(q.point(plan, "IMPELLER-CASTING"))
    with pytest.raises(IntegrityError, match="never change"), transaction.atomic():
        Release.objects.filter(pk=done.pk).update(signed_by="somebody else")
    with pytest.raises(IntegrityError, match="never change"), transaction.atomic():
        done.delete()


def test_only_a_quality_engineer_releases(plan):
    with pytest.raises(NotAllowed, match="quality engineer"):
        let_go(q.point(plan, "IMPELLER-CASTING"), by=q.person(Group.SUPERVISOR))


def test_a_party_without_a_part_cannot_release(plan):
    with pytest.raises(NoPartInPoint, match="third party has no part"):
        let_go(q.point(plan, "IMPELLER-CASTING"), Party.THIRD_PARTY)


def test_a_release_names_somebody(plan):
    with pytest.raises(SignatureMissing):
        let_go(q.point(plan, "IMPELLER-CASTING"), signed_by="  ")


def test_a_waiver_keeps_its_words(plan):
    point = q.point(plan, "HYDRO-START")
    with pytest.raises(WaiverWithoutWords):
        let_go(point, Party.CUSTOMER, kind=Release.Kind.WAIVED)
    let_go(point)
    let_go(
        point,
        Party.CUSTOMER,
        kind=Release.Kind.WAIVED,
        signed_by="E. Amadhila",
        record="mail of 2026-03-03: test without us",
    )
    assert not q.point(plan, "HYDRO-START").gate.is_open


def test_an_absent_partys_hold_is_no_witness_that_did_not_come(plan):
    with pytest.raises(HoldIsNotAWitness, match="waiver in writing"):
        let_go(q.point(plan, "HYDRO-START"), Party.CUSTOMER, kind=Release.Kind.NOT_ATTENDED)


def test_a_witness_that_did_not_come_is_written_down_and_clears_nothing(plan):
    point = q.point(plan, "PERFORM-START")
    let_go(point, Party.CUSTOMER, kind=Release.Kind.NOT_ATTENDED)
    assert q.point(plan, "PERFORM-START").gate.is_open
    assert Event.objects.filter(deed=Fact.WITNESS_DID_NOT_COME).exists()


def test_the_pressure_test_is_released_on_a_signed_record_that_passed(plan):
    point = q.point(plan, "HYDRO")
    with pytest.raises(NotProved, match="no hydrostatic record"):
        let_go(point)
    test = q.passed_pressure_test(plan)
    with pytest.raises(NotProved, match="not signed"):
        let_go(point)
    q.signed(test, "hydrostatic")
    let_go(point)
    assert not q.point(plan, "HYDRO").gate.is_open


def test_a_failed_record_releases_nothing(plan):
    leaking = q.passed_pressure_test(plan, leaks=[Leak(place=Place.FLANGE, where="discharge")])
    q.signed(leaking, "hydrostatic")
    with pytest.raises(NotProved, match="came to “fail”"):
        let_go(q.point(plan, "HYDRO"))


def test_a_second_test_after_remaking_the_joint_releases(plan):
    leaking = q.passed_pressure_test(plan, leaks=[Leak(place=Place.FLANGE, where="discharge")])
    q.signed(leaking, "hydrostatic")
    q.signed(q.passed_pressure_test(plan), "hydrostatic")
    let_go(q.point(plan, "HYDRO"))
    assert not q.point(plan, "HYDRO").gate.is_open


def test_final_release_waits_for_every_point_and_nonconformance(plan):
    with pytest.raises(NotProved, match="is not released"):
        let_go(q.point(plan, "PAPERS"))


def test_work_goes_on_at_risk_by_a_named_person_with_scope_and_limit(plan):
    point = q.point(plan, "IMPELLER-CASTING")
    engineer = q.inspector()
    proceed_at_risk(
        point_id=point.pk,
        scope="hydrostatic test of the casing",
        limit="impeller not fitted before its release",
        by=engineer,
        at=NOW,
    )
    gate = q.point(plan, "IMPELLER-CASTING").gate
    assert (gate.at_risk_by, gate.at_risk_limit) == (
        engineer,
        "impeller not fitted before its release",
    )
    assert Event.objects.get(deed=Fact.POINT_PASSED_AT_RISK).by == engineer
    let_go(point)
    gate.refresh_from_db()
    assert gate.cleared_at == NOW


@pytest.mark.parametrize("code", ["HYDRO", "HYDRO-START", "PAPERS", "FINAL"])
def test_nobody_passes_the_pressure_test_or_dispatch_at_risk(plan, code):
    with pytest.raises(NeverAtRisk):
        proceed_at_risk(
            point_id=q.point(plan, code).pk, scope="all", limit="none", by=q.inspector(), at=NOW
        )


@pytest.mark.parametrize(("scope", "limit"), [("", "until Friday"), ("all", " ")])
def test_at_risk_without_scope_or_limit_is_refused(plan, scope, limit):
    with pytest.raises(ReasonMissing):
        proceed_at_risk(
            point_id=q.point(plan, "CLEARANCES").pk,
            scope=scope,
            limit=limit,
            by=q.inspector(),
            at=NOW,
        )


def test_a_supervisor_may_not_go_on_at_risk(plan):
    with pytest.raises(NotAllowed):
        proceed_at_risk(
            point_id=q.point(plan, "CLEARANCES").pk,
            scope="all",
            limit="Friday",
            by=q.person(Group.SUPERVISOR),
            at=NOW,
        )


def test_a_point_that_holds_nothing_cannot_be_passed(plan):
    with pytest.raises(NothingToPass):
        proceed_at_risk(
            point_id=q.point(plan, "PACKING").pk, scope="a", limit="b", by=q.inspector(), at=NOW
        )


def test_a_withdrawn_point_is_not_released(plan):
    point = q.point(plan, "CLEARANCES")
    InspectionPoint.objects.filter(pk=point.pk).update(withdrawn_at=NOW)
    with pytest.raises(PointWithdrawn):
        let_go(point)


def test_certificates_of_the_castings_come_before_the_pressure_test(plan):
    PieceFactory.create(
        part=Piece.Part.UPPER_HALF,
        heat="H-77",
        state=Piece.State.TAKEN,
        unit=q.unit_of(plan.route),
    )
    papers = q.point(plan, "PRESSURE-PAPERS")
    with pytest.raises(NotProved, match=r"heat H-77 is not accepted"):
        let_go(papers)
    q.MaterialCertificateFactory.create(heat="H-77", accepted_by=q.inspector(), accepted_on=NOW)
    let_go(papers)
    assert not q.point(plan, "PRESSURE-PAPERS").gate.is_open


def test_nothing_of_a_refused_release_is_kept(plan):
    with pytest.raises(NotProved):
        let_go(q.point(plan, "HYDRO"))
    assert not Release.objects.filter(point__code="HYDRO").exists()
    assert connection.needs_rollback is False
