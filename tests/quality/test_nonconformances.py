"""From a leak through the body to the buyer's written answer, and what each answer allows."""

import pytest
from django.db import IntegrityError, transaction

from quality.acceptance.hydrostatic import Leak, Place
from quality.actions.holds import release
from quality.actions.nonconformances import (
    answer_concession,
    ask_buyer,
    close,
    dispose,
    open_nonconformance,
)
from quality.errors import (
    AlreadyAnswered,
    AlreadyScrapped,
    ApprovalMissing,
    BadRecord,
    NonconformanceIsClosed,
    NotDecided,
    QuestionOpen,
    SignatureMissing,
)
from quality.facts import Fact
from quality.models import Concession, InspectionPoint, Nonconformance, Party
from schedule.actions.gates import pass_at_risk
from schedule.errors import GateOpen, NeverAtRisk
from schedule.models import Piece
from tests.factories import quality as q
from tests.factories.schedule import NOW, PatternFactory, PieceFactory
from works.errors import ChangedMeanwhile, NotAllowed, ReasonMissing
from works.models import Event
from works.people import Group

pytestmark = pytest.mark.django_db

BODY = Leak(place=Place.BODY, where="upper half")


@pytest.fixture
def plan():
    """A unit whose casing stands at the pressure test, started and not finished."""
    plan = q.plan()
    engineer = q.inspector()
    q.cast(plan)
    for code, party in (
        ("IMPELLER-CASTING", Party.MAKER),
        ("PRESSURE-PAPERS", Party.MAKER),
        ("HYDRO-START", Party.MAKER),
        ("HYDRO-START", Party.CUSTOMER),
    ):
        release(
            point_id=q.point(plan, code).pk, party=party, signed_by="A. Reis", by=engineer, at=NOW
        )
    q.started(q.operation(plan, "ASM-HYDRO"))
    return plan


@pytest.fixture
def leak(plan):
    q.passed_pressure_test(plan, leaks=[BODY])
    return Nonconformance.objects.get()


def decide(found, disposition, **changes):
    found.refresh_from_db()
    said = {"version": found.version, "by": q.inspector(), "at": NOW, **changes}
    return dispose(nonconformance_id=found.pk, disposition=disposition, **said)


def ask(found, proposed="repair"):
    return ask_buyer(
        nonconformance_id=found.pk,
        proposed=proposed,
        question="May we plug the porous spot and test again at full pressure?",
        by=q.inspector(),
        at=NOW,
    )


def say(concession, answer, **changes):
    said = {
        "words": "Letter of 2026-03-04: agreed.",
        "answered_by": "E. Amadhila",
        "recorded_by": q.inspector(),
        "at": NOW,
        **changes,
    }
    return answer_concession(concession_id=concession.pk, answer=answer, **said)


def test_a_body_leak_blocks_repair_until_the_buyers_written_approval(plan, leak):
    with pytest.raises(ApprovalMissing, match="accepted that in writing"):
        decide(leak, "repair")
    concession = ask(leak)
    with pytest.raises(ApprovalMissing):
        decide(leak, "repair")
    say(concession, Concession.Answer.ACCEPTED)
    decided = decide(leak, "repair", note="plug M16, remake thread")
    assert decided.disposition == "repair"
    assert not Nonconformance.objects.get(pk=leak.pk).gate.is_open


def test_what_follows_the_pressure_test_may_not_start_meanwhile(plan, leak):
    q.finished(q.operation(plan, "ASM-HYDRO"))
    with pytest.raises(GateOpen, match=leak.number):
        q.started(q.operation(plan, "ASM-BUILD"))


def test_nobody_passes_a_majors_gate_at_risk(leak):
    with pytest.raises(NeverAtRisk):
        pass_at_risk(gate_id=leak.gate_id, scope="build", limit="Friday", by=q.inspector(), at=NOW)


def test_the_database_keeps_what_follows_from_starting(plan, leak):
    build = q.operation(plan, "ASM-BUILD")
    with pytest.raises(IntegrityError, match="gate open"), transaction.atomic():
        type(build).objects.filter(pk=build.pk).update(started_at=NOW, state="started")


def test_a_refusal_leaves_it_blocked(leak):
    say(ask(leak), Concession.Answer.REFUSED)
    with pytest.raises(ApprovalMissing):
        decide(leak, "repair")
    assert Event.objects.get(deed=Fact.BUYER_REFUSED).after["answered by"] == "E. Amadhila"


def test_approval_of_one_proposal_is_none_of_another(leak):
    say(ask(leak, "repair"), Concession.Answer.ACCEPTED)
    with pytest.raises(ApprovalMissing):
        decide(leak, "accept as it is")


def test_the_last_answer_counts(leak):
    say(ask(leak), Concession.Answer.ACCEPTED)
    say(ask(leak), Concession.Answer.REFUSED)
    with pytest.raises(ApprovalMissing):
        decide(leak, "repair")


def test_a_minor_one_is_reworked_without_asking(plan):
    found = open_nonconformance(
        operation_id=q.operation(plan, "FDY-I-DIMENSIONS").pk,
        defect="burr at the eye",
        severity="minor",
        by=q.person(Group.SUPERVISOR),
        at=NOW,
    )
    assert found.gate is None
    assert decide(found, "rework").disposition == "rework"


def test_even_a_minor_one_is_accepted_as_it_is_only_by_concession(plan):
    found = open_nonconformance(
        operation_id=q.operation(plan, "FDY-I-DIMENSIONS").pk,
        defect="wall 0.3 mm thin",
        severity="minor",
        by=q.inspector(),
        at=NOW,
    )
    with pytest.raises(ApprovalMissing):
        decide(found, "accept as it is")
    say(ask(found, "accept as it is"), Concession.Answer.ACCEPTED)
    assert decide(found, "accept as it is").disposition == "accept as it is"


def test_an_accepted_concession_releases_the_point_of_a_failed_record(plan, leak):
    test = leak.pressure_test
    q.signed(test, "hydrostatic")
    say(ask(leak, "accept as it is"), Concession.Answer.ACCEPTED)
    decide(leak, "accept as it is")
    done = release(
        point_id=q.point(plan, "HYDRO").pk,
        party=Party.MAKER,
        signed_by="A. Reis",
        by=q.inspector(),
        at=NOW,
    )
    assert done.kind == "released"


def test_the_customer_answers_on_its_own_page(leak):
    concession = say(ask(leak), Concession.Answer.ACCEPTED, recorded_by=None, words="")
    event = Event.objects.get(deed=Fact.BUYER_ACCEPTED)
    assert concession.recorded_by is None
    assert (event.by, event.by_name) == (None, "E. Amadhila")


def test_an_answer_is_given_once(leak):
    concession = ask(leak)
    say(concession, Concession.Answer.REFUSED)
    with pytest.raises(AlreadyAnswered, match="refused by E"):
        say(concession, Concession.Answer.ACCEPTED)


def test_the_database_keeps_an_answer_as_it_was_given(leak):
    concession = say(ask(leak), Concession.Answer.REFUSED)
    with pytest.raises(IntegrityError, match="never change"), transaction.atomic():
        Concession.objects.filter(pk=concession.pk).update(answer="accepted")


def test_an_answer_names_who_gave_it(leak):
    with pytest.raises(SignatureMissing):
        say(ask(leak), Concession.Answer.ACCEPTED, answered_by=" ")


def test_a_copied_answer_keeps_its_words(leak):
    with pytest.raises(ReasonMissing):
        say(ask(leak), Concession.Answer.ACCEPTED, words="")


def test_a_refusal_on_the_customers_page_says_why(leak):
    with pytest.raises(ReasonMissing):
        say(ask(leak), Concession.Answer.REFUSED, words="", recorded_by=None)


def test_one_question_at_a_time(leak):
    ask(leak)
    with pytest.raises(QuestionOpen):
        ask(leak)


def test_nobody_asks_the_buyer_about_scrapping(leak):
    with pytest.raises(BadRecord, match="needs no answer"):
        ask(leak, "scrap")


def test_a_question_has_words(leak):
    with pytest.raises(ReasonMissing):
        ask_buyer(
            nonconformance_id=leak.pk, proposed="repair", question=" ", by=q.inspector(), at=NOW
        )


def test_a_defect_is_described(plan):
    with pytest.raises(ReasonMissing):
        open_nonconformance(
            operation_id=q.operation(plan, "ASM-HYDRO").pk,
            defect=" ",
            severity="minor",
            by=q.inspector(),
            at=NOW,
        )


def test_undecided_is_no_decision(leak):
    with pytest.raises(BadRecord):
        decide(leak, "undecided")


def test_two_people_deciding_at_once_the_second_is_told(leak):
    say(ask(leak), Concession.Answer.ACCEPTED)
    seen = Nonconformance.objects.get(pk=leak.pk).version
    decide(leak, "repair")
    with pytest.raises(ChangedMeanwhile):
        dispose(
            nonconformance_id=leak.pk,
            version=seen,
            disposition="scrap",
            by=q.inspector(),
            at=NOW,
        )


def test_a_supervisor_decides_nothing(leak):
    with pytest.raises(NotAllowed):
        decide(leak, "scrap", by=q.person(Group.SUPERVISOR))


def test_scrap_goes_at_once_and_the_casting_work_is_done_again(plan):
    PatternFactory.create(number="P-IMPELLER")
    impeller = PieceFactory.create(
        pattern__number="P-IMPELLER", state=Piece.State.TAKEN, unit=q.unit_of(plan.route)
    )
    forecast = plan.route.forecast_ship_at
    found = open_nonconformance(
        operation_id=q.operation(plan, "FDY-I-DIMENSIONS").pk,
        defect="shrinkage through two vanes",
        severity="major",
        piece_id=impeller.pk,
        by=q.inspector(),
        at=NOW,
    )
    decide(found, "scrap", note="recast")
    impeller.refresh_from_db()
    plan.route.refresh_from_db()
    again = q.operation(plan, "FDY-I-DIMENSIONS")
    assert impeller.state == Piece.State.SCRAPPED
    assert again.repeat == 1
    assert plan.route.forecast_ship_at > forecast
    point = InspectionPoint.objects.get(
        plan=plan, code="IMPELLER-CASTING", operation=again, withdrawn_at=None
    )
    assert point.gate.is_open
    assert again.gates.filter(withdrawn_at=None).count() == 1


def test_a_piece_from_the_shelf_takes_the_scrapped_ones_place(plan):
    lost = PieceFactory.create(
        pattern__number="P-IMPELLER", state=Piece.State.TAKEN, unit=q.unit_of(plan.route)
    )
    spare = PieceFactory.create(pattern__number="P-IMPELLER")
    found = open_nonconformance(
        operation_id=q.operation(plan, "FDY-I-DIMENSIONS").pk,
        defect="cracked",
        severity="major",
        piece_id=lost.pk,
        by=q.inspector(),
        at=NOW,
    )
    decide(found, "scrap", replacement_id=spare.pk)
    spare.refresh_from_db()
    assert spare.unit == q.unit_of(plan.route)


def test_scrapping_is_not_taken_back(leak):
    decide(leak, "scrap")
    with pytest.raises(AlreadyScrapped):
        decide(leak, "rework")


def test_a_repair_repeats_the_test_and_its_holds(plan, leak):
    say(ask(leak), Concession.Answer.ACCEPTED)
    hydro = q.operation(plan, "ASM-HYDRO")
    decide(leak, "repair", again=[hydro.pk])
    again = q.operation(plan, "ASM-HYDRO")
    codes = set(
        InspectionPoint.objects.filter(operation=again, withdrawn_at=None).values_list(
            "code", flat=True
        )
    )
    assert again.repeat == 1
    assert codes == {"PRESSURE-PAPERS", "HYDRO-START", "HYDRO"}
    assert again.gates.filter(withdrawn_at=None).count() == 3
    with pytest.raises(GateOpen, match="Ready for the pressure test"):
        q.started(again)


def test_a_closed_one_is_decided_before_and_stays_closed(leak):
    leak.refresh_from_db()
    with pytest.raises(NotDecided):
        close(nonconformance_id=leak.pk, version=leak.version, by=q.inspector(), at=NOW)
    decided = decide(leak, "scrap")
    close(nonconformance_id=leak.pk, version=decided.version, by=q.inspector(), at=NOW)
    with pytest.raises(NonconformanceIsClosed):
        ask(leak)


def test_numbers_count_up_within_the_year(plan):
    numbers = [
        open_nonconformance(
            operation_id=q.operation(plan, "ASM-HYDRO").pk,
            defect="scratch",
            severity="minor",
            by=q.inspector(),
            at=NOW,
        ).number
        for _ in range(2)
    ]
    assert numbers == ["NC26-0001", "NC26-0002"]
