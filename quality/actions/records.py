"""What every record goes through: entered by somebody, judged at once, corrected, signed.

A record is never edited. Whoever mistyped enters a correction, a new record that replaces the old
one; both stay. Signing freezes a record and releases nothing by itself.
"""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any, TypeVar

from django.db import transaction
from django.utils import timezone

from quality import errors
from quality.acceptance.evidence import Outcome
from quality.evidence import HYDROSTATIC, MEASURED, PERFORMANCE, SEAL, TESTS
from quality.facts import Fact
from quality.judging import ENGINE_VERSION
from quality.judging.verdict import Judged
from quality.keeping import restored
from quality.models import InspectionPlan, Instrument, Measurement, SignedRecord
from schedule.models import Operation
from selection.configuration import Configuration
from works import events, formats
from works.errors import TimeInFuture
from works.models import Person
from works.people import Group, require

Kept = TypeVar("Kept", bound=SignedRecord)

VERDICTS = {
    Outcome.PASSED: SignedRecord.Verdict.PASSED,
    Outcome.FAILED: SignedRecord.Verdict.FAILED,
    Outcome.NOT_JUDGED: SignedRecord.Verdict.NOT_JUDGED,
}
KINDS: dict[str, type[SignedRecord]] = {**TESTS, MEASURED: Measurement}
ENTERED = {
    HYDROSTATIC: Fact.PRESSURE_TEST_RECORDED,
    PERFORMANCE: Fact.PERFORMANCE_TEST_RECORDED,
    SEAL: Fact.SEAL_TEST_RECORDED,
    MEASURED: Fact.MEASUREMENT_RECORDED,
}


def operation_for(kind: str, operation_id: int) -> Operation:
    """The operation that a test is recorded on, if its inspection plan asks for that test there.

    raises : WrongOperation
    """
    operation = (
        Operation.objects.select_related("route__choice", "unit", "route__template")
        .filter(pk=operation_id)
        .first()
    )
    if operation is None or operation.dropped_in is not None:
        raise errors.WrongOperation("This operation is no longer part of its route.")
    asked = operation.points.filter(withdrawn_at=None, record_kind=kind).exists()
    if not asked:
        raise errors.WrongOperation(
            f"The inspection plan asks for no {kind} record at “{operation}”. Open the plan of "
            f"{operation.route} and choose the operation from there."
        )
    return operation


def configuration_of(operation: Operation) -> Configuration:
    """The pump as chosen.

    raises : WrongOperation for a spare without one
    """
    facts = operation.route.configuration
    if "size" not in facts:
        raise errors.WrongOperation(
            f"{operation.route} is a spare without a chosen pump, which has no such test."
        )
    return restored(Configuration, facts)


def check_day(tested_on: date, at: datetime) -> None:
    """Refuse a test that has not been done yet.

    raises : TimeInFuture
    """
    today = timezone.localdate(at)
    if tested_on > today:
        raise TimeInFuture(what="The test", stated=str(tested_on), now=str(today))


def enter(
    model: type[Kept],
    record_kind: str,
    *,
    operation: Operation,
    tested_on: date,
    inputs: Mapping[str, Any],
    judged: Judged,
    instruments: Sequence[Instrument],
    replaces_id: int | None,
    by: Person,
    at: datetime,
    **more: Any,
) -> Kept:
    """Write a judged record down, as a correction if it replaces one.

    raises : AlreadyReplaced, WrongOperation when the record replaced is of another operation
    """
    replaced = _replaced(model, replaces_id, operation) if replaces_id else None
    made = model._default_manager.create(
        operation=operation,
        tested_on=tested_on,
        entered_by=by,
        entered_at=at,
        inputs=dict(inputs),
        verdict=VERDICTS[judged.outcome],
        result=dict(judged.result),
        engine_version=ENGINE_VERSION,
        replaces=replaced,
        **more,
    )
    made.instruments.set(instruments)
    events.record(
        Fact.RECORD_CORRECTED if replaced else ENTERED[record_kind],
        about=made,
        by=by,
        at=at,
        before={"record": replaced.pk} if replaced else None,
        after={
            "route": operation.route_id,
            "operation": operation.pk,
            "kind": record_kind,
            "verdict": made.verdict,
        },
    )
    return made


@transaction.atomic
def sign_record(*, kind: str, record_id: int, by: Person, at: datetime) -> SignedRecord:
    """Sign a record; from then on it never changes. The points it proves are still to be released.

    kind : hydrostatic, performance, seal or measured
    raises : NotAllowed, AlreadySigned, AlreadyReplaced, NothingToSign
    """
    require(by, Group.QUALITY_ENGINEER, deed="sign a record")
    model = KINDS[kind]
    found = (
        model._default_manager.select_for_update(of=("self",))
        .select_related("operation")
        .get(pk=record_id)
    )
    name = str(found._meta.verbose_name)
    if found.signed_at is not None:
        raise errors.AlreadySigned(
            record=name, by=str(found.signed_by), at=formats.instant(found.signed_at)
        )
    if found.is_replaced:
        raise errors.AlreadyReplaced(record=name)
    if found.verdict == SignedRecord.Verdict.NOT_JUDGED:
        raise errors.NothingToSign(record=name)
    found.signed_by, found.signed_at = by, at
    found.version += 1
    found.save(update_fields=["signed_by", "signed_at", "version"])
    events.record(
        Fact.RECORD_SIGNED,
        about=found,
        by=by,
        at=at,
        after={
            "route": found.operation.route_id,
            "operation": found.operation_id,
            "kind": kind,
            "verdict": found.verdict,
        },
    )
    return found


def terms_of(operation: Operation) -> Mapping[str, Any]:
    """The terms that the route's inspection plan was written by, as kept."""
    plan = InspectionPlan.objects.filter(route=operation.route_id).first()
    return plan.terms if plan else {}


def _replaced(model: type[Kept], record_id: int, operation: Operation) -> Kept:
    found = model._default_manager.select_for_update().get(pk=record_id)
    if found.operation_id != operation.pk:
        raise errors.WrongOperation(
            f"The record to be corrected is of “{found.operation}”, not of “{operation}”."
        )
    if found.is_replaced:
        raise errors.AlreadyReplaced(record=str(found._meta.verbose_name))
    return found
