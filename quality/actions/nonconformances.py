"""Nonconformances: opened, put to the buyer, answered, decided, closed.

A major one stops what follows its operation at once: a gate behind the operation refuses every
start after it. No repair goes ahead, and nothing is accepted as it is, before the buyer's written
answer is recorded; scrapping may be decided at once.
"""

from collections.abc import Collection
from datetime import datetime

from django.db import connection, transaction

from quality import errors
from quality.actions.plans import follow_route
from quality.concessions import may_be_decided
from quality.facts import Fact
from quality.models import Concession, Nonconformance, PressureTest
from schedule.actions.gates import clear_gate, open_gate, withdraw_gate
from schedule.actions.growing import repeat_operations
from schedule.actions.locks import lock_operations, lock_route, lock_routes
from schedule.actions.pieces import scrap_piece
from schedule.models import Gate, Operation, Piece, Unit
from works.errors import ChangedMeanwhile, ReasonMissing
from works.events import record
from works.models import Person, Revision
from works.people import Group, require

Disposition = Nonconformance.Disposition
Severity = Nonconformance.Severity

NUMBERING_LOCK = 0x6E63  # any constant: the transaction lock behind which numbers are given


@transaction.atomic
def open_nonconformance(
    *,
    operation_id: int,
    defect: str,
    severity: Severity | str,
    cause: str = "",
    piece_id: int | None = None,
    pressure_test: PressureTest | None = None,
    by: Person,
    at: datetime,
) -> Nonconformance:
    """Write a nonconformance down; a major one stops what follows the operation.

    raises : NotAllowed, ReasonMissing when the defect is not described
    """
    require(by, Group.QUALITY_ENGINEER, Group.SUPERVISOR, deed="open a nonconformance")
    if not defect.strip():
        raise ReasonMissing(deed="open a nonconformance")
    lock_operations([operation_id])
    operation = Operation.objects.select_related("unit", "route").get(pk=operation_id)
    piece = Piece.objects.get(pk=piece_id) if piece_id else None
    severity = Severity(severity)
    number = _next_number(at)
    gate = None
    if severity == Severity.MAJOR:
        gate = open_gate(
            operation_id=operation.pk,
            timing=Gate.Timing.AFTER,
            reason=f"{number}, major: {defect.strip()}"[:200],
            never_at_risk=True,
            by=None,  # the rule puts it there, whoever found the defect
            at=at,
        )
    found = Nonconformance.objects.create(
        number=number,
        route=operation.route,
        operation=operation,
        unit=operation.unit,
        piece=piece,
        pressure_test=pressure_test,
        defect=defect.strip(),
        cause=cause.strip(),
        severity=severity,
        gate=gate,
        opened_by=by,
        opened_at=at,
    )
    record(
        Fact.NONCONFORMANCE_OPENED,
        about=found,
        by=by,
        at=at,
        after={"number": number, "severity": severity, "route": operation.route_id},
    )
    return found


@transaction.atomic
def ask_buyer(
    *,
    nonconformance_id: int,
    proposed: Disposition | str,
    question: str,
    by: Person,
    at: datetime,
) -> Concession:
    """Put a proposal to the buyer, in words that the buyer will read.

    raises : NotAllowed, NonconformanceIsClosed, QuestionOpen, ReasonMissing, BadRecord for a
        proposal that needs no answer
    """
    require(by, Group.QUALITY_ENGINEER, deed="ask the buyer for a concession")
    found = _locked(nonconformance_id)
    proposed = Disposition(proposed)
    if proposed in {Disposition.UNDECIDED, Disposition.SCRAP}:
        raise errors.BadRecord(
            "Ask the buyer about accepting as it is, rework or repair; scrapping needs no answer."
        )
    if not question.strip():
        raise ReasonMissing(deed="ask the buyer")
    if found.concessions.filter(answer="").exists():
        raise errors.QuestionOpen(number=found.number)
    concession = found.concessions.create(
        proposed=proposed, question=question.strip(), asked_by=by, asked_at=at
    )
    record(
        Fact.BUYER_ASKED,
        about=found,
        by=by,
        at=at,
        after={"proposed": proposed, "question": concession.question, "route": found.route_id},
    )
    return concession


@transaction.atomic
def answer_concession(
    *,
    concession_id: int,
    answer: Concession.Answer | str,
    words: str,
    answered_by: str,
    recorded_by: Person | None = None,
    paper: Revision | None = None,
    at: datetime,
) -> Concession:
    """Keep the buyer's written answer: who gave it, when, in which words. It never changes.

    recorded_by : who copies a letter; None when the customer answers on its own page
    raises : NotAllowed, AlreadyAnswered, SignatureMissing, ReasonMissing without words where a
        letter is copied or a proposal refused
    """
    if recorded_by is not None:
        require(recorded_by, Group.QUALITY_ENGINEER, deed="record the buyer's answer")
    concession = (
        Concession.objects.select_for_update(of=("self",))
        .select_related("nonconformance")
        .get(pk=concession_id)
    )
    answer = Concession.Answer(answer)
    found = concession.nonconformance
    if concession.answer:
        raise errors.AlreadyAnswered(
            number=found.number, answer=concession.answer, by=concession.answered_by
        )
    if not answered_by.strip():
        raise errors.SignatureMissing
    if not words.strip() and (recorded_by is not None or answer == Concession.Answer.REFUSED):
        raise ReasonMissing(deed="record the buyer's answer")
    concession.answer, concession.answer_words = answer, words.strip()
    concession.answered_by, concession.answered_at = answered_by.strip(), at
    concession.recorded_by, concession.paper = recorded_by, paper
    concession.save(
        update_fields=[
            "answer",
            "answer_words",
            "answered_by",
            "answered_at",
            "recorded_by",
            "paper",
        ]
    )
    accepted = answer == Concession.Answer.ACCEPTED
    record(
        Fact.BUYER_ACCEPTED if accepted else Fact.BUYER_REFUSED,
        about=found,
        by=recorded_by,
        by_name=concession.answered_by,
        at=at,
        after={
            "proposed": concession.proposed,
            "answered by": concession.answered_by,
            "words": concession.answer_words,
            "route": found.route_id,
        },
    )
    return concession


@transaction.atomic
def dispose(
    *,
    nonconformance_id: int,
    version: int,
    disposition: Disposition | str,
    note: str = "",
    replacement_id: int | None = None,
    again: Collection[int] = (),
    by: Person,
    at: datetime,
) -> Nonconformance:
    """Decide what becomes of the part; its gate clears, since what follows is now agreed.

    Scrap takes the piece out: it is cast again, or another piece takes its place. Either way the
    route grows, the forecast moves at once, and the plan's points stand on the new operations.

    replacement_id : with scrap, a piece from the shelf or of another unit; None to cast again
    again : operations whose work is done again, such as the test after a repair
    raises : NotAllowed, NonconformanceIsClosed, AlreadyScrapped, ChangedMeanwhile,
        ApprovalMissing, BadRecord; from the schedule, a replacement that does not fit
    """
    require(by, Group.QUALITY_ENGINEER, deed="decide a nonconformance")
    lock_routes(_routes_of(nonconformance_id, replacement_id))
    found = _locked(nonconformance_id)
    if found.version != version:
        raise ChangedMeanwhile(what=f"Nonconformance {found.number}")
    disposition = Disposition(disposition)
    if disposition == Disposition.UNDECIDED:
        raise errors.BadRecord("Choose accept as it is, rework, repair or scrap.")
    if found.disposition == Disposition.SCRAP:
        raise errors.AlreadyScrapped(number=found.number)
    if not may_be_decided(found, disposition):
        raise errors.ApprovalMissing(number=found.number, disposition=disposition)
    before = found.disposition
    found.disposition, found.disposition_note = disposition, note.strip()
    found.disposition_by, found.disposition_at = by, at
    found.version += 1
    found.save(
        update_fields=[
            "disposition",
            "disposition_note",
            "disposition_by",
            "disposition_at",
            "version",
        ]
    )
    _let_go_on(found, by, at)
    touched = {found.route_id}
    if disposition == Disposition.SCRAP and found.piece_id is not None:
        touched |= _scrap(found, replacement_id, by, at)
    if again:
        repeat_operations(operation_ids=again, reason=str(found)[:200], by=None, at=at)
    for route_id in sorted(touched):
        follow_route(route_id=route_id, by=None, at=at)
    record(
        Fact.NONCONFORMANCE_DISPOSED,
        about=found,
        by=by,
        at=at,
        before={"disposition": before},
        after={
            "disposition": disposition,
            "note": found.disposition_note,
            "route": found.route_id,
            "replaced by": replacement_id,
            "again": sorted(again),
        },
    )
    return found


def _let_go_on(found: Nonconformance, by: Person, at: datetime) -> None:
    """Clear the gate before work is repeated, or the schedule would hold that work as well."""
    gate = found.gate
    if gate is None or not gate.is_open:
        return
    if found.disposition == Disposition.SCRAP:
        withdraw_gate(gate_id=gate.pk, by=None, at=at, reason=f"{found.number}: scrapped")
    else:
        clear_gate(gate_id=gate.pk, by=by, at=at)


def _scrap(found: Nonconformance, replacement_id: int | None, by: Person, at: datetime) -> set[int]:
    """Scrap the piece; the routes that its loss touches."""
    piece = found.piece
    assert piece is not None
    taken = piece.state == Piece.State.TAKEN
    donors = _routes_of_donor(replacement_id)
    scrap_piece(
        piece_id=piece.pk,
        reason=str(found)[:200],
        recast=taken and replacement_id is None,
        replacement_id=replacement_id,
        by=by,
        at=at,
    )
    return donors


def _routes_of(nonconformance_id: int, replacement_id: int | None) -> set[int]:
    """Routes to be locked, the other unit's before anything is changed."""
    route_id = Nonconformance.objects.values_list("route_id", flat=True).get(pk=nonconformance_id)
    return {route_id} | _routes_of_donor(replacement_id)


def _routes_of_donor(piece_id: int | None) -> set[int]:
    """The route whose unit has the piece now; none for one on the shelf."""
    if piece_id is None:
        return set()
    units = Unit.objects.filter(pieces=piece_id)
    return set(units.values_list("route_id", flat=True))


@transaction.atomic
def close(*, nonconformance_id: int, version: int, by: Person, at: datetime) -> Nonconformance:
    """Close a nonconformance whose disposition has been carried out.

    raises : NotAllowed, NonconformanceIsClosed, ChangedMeanwhile, NotDecided
    """
    require(by, Group.QUALITY_ENGINEER, deed="close a nonconformance")
    found = _locked(nonconformance_id)
    if found.version != version:
        raise ChangedMeanwhile(what=f"Nonconformance {found.number}")
    if found.disposition == Disposition.UNDECIDED:
        raise errors.NotDecided(number=found.number)
    found.closed_by, found.closed_at = by, at
    found.version += 1
    found.save(update_fields=["closed_by", "closed_at", "version"])
    record(
        Fact.NONCONFORMANCE_CLOSED,
        about=found,
        by=by,
        at=at,
        after={"disposition": found.disposition, "route": found.route_id},
    )
    return found


def _locked(nonconformance_id: int) -> Nonconformance:
    lock_route(Nonconformance.objects.values_list("route_id", flat=True).get(pk=nonconformance_id))
    found = (
        Nonconformance.objects.select_for_update(of=("self",))
        .select_related("gate", "piece")
        .get(pk=nonconformance_id)
    )
    if found.closed_at is not None:
        raise errors.NonconformanceIsClosed(number=found.number)
    return found


def _next_number(at: datetime) -> str:
    """The next number of the year; one at a time, so that two people never get the same."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [NUMBERING_LOCK])
    start = f"NC{at:%y}-"
    last = (
        Nonconformance.objects.filter(number__startswith=start)
        .order_by("-number")
        .values_list("number", flat=True)
        .first()
    )
    count = int(last.removeprefix(start)) if last else 0
    return f"{start}{count + 1:04d}"
