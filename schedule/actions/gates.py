"""Holds on operations: opened, cleared, passed at risk, withdrawn; and what is known of their day.

`quality` decides when a gate is cleared; the database refuses the start or finish that an open
gate guards, whoever asks.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.db import transaction

from schedule.actions.forecast import reforecast
from schedule.actions.locks import lock_routes
from schedule.errors import BadFigure, GateNotOpen, GateTooLate, NeverAtRisk, NoSuchThing
from schedule.facts import Fact
from schedule.models import Gate, Operation
from works.errors import ReasonMissing
from works.events import record
from works.models import Person
from works.people import Group, require


@dataclass(frozen=True, kw_only=True)
class NewGate:
    """A hold to be opened.

    timing : before the start, during (blocks the finish) or after (blocks what follows)
    notice_days : working days of the calendar told ahead, elapsed days without one [d]
    never_at_risk : guards the pressure test or dispatch
    """

    operation_id: int
    timing: str
    reason: str
    notice_days: int = 0
    calendar_id: int | None = None
    release_expected_on: date | None = None
    never_at_risk: bool = False


def open_gate(
    *,
    operation_id: int,
    timing: str,
    reason: str,
    notice_days: int = 0,
    calendar_id: int | None = None,
    release_expected_on: date | None = None,
    never_at_risk: bool = False,
    by: Person | None,
    at: datetime,
) -> Gate:
    """Put one hold on an operation.

    raises : as `open_gates`
    """
    new = NewGate(
        operation_id=operation_id,
        timing=timing,
        reason=reason,
        notice_days=notice_days,
        calendar_id=calendar_id,
        release_expected_on=release_expected_on,
        never_at_risk=never_at_risk,
    )
    return open_gates(gates=[new], by=by, at=at)[0]


@transaction.atomic
def open_gates(*, gates: Sequence[NewGate], by: Person | None, at: datetime) -> list[Gate]:
    """Put holds on operations, in the order given.

    `by` is None when the program itself writes an inspection plan by its rules.
    raises : NotAllowed, NoSuchThing, GateTooLate, ReasonMissing, BadFigure
    """
    if by is not None:
        require(by, Group.QUALITY_ENGINEER, Group.PLANNER, deed="put a hold on an operation")
    operations = _operations([new.operation_id for new in gates])
    for new in gates:
        _check(new, operations)
    made = Gate.objects.bulk_create(
        Gate(
            operation=operations[new.operation_id],
            timing=new.timing,
            reason=new.reason.strip()[:200],
            notice_days=new.notice_days,
            calendar_id=new.calendar_id,
            release_expected_on=new.release_expected_on,
            never_at_risk=new.never_at_risk,
        )
        for new in gates
    )
    by_route: dict[int, list[Gate]] = {}
    for gate in made:
        by_route.setdefault(gate.operation.route_id, []).append(gate)
    for route_id, its in by_route.items():
        record(
            Fact.GATES_OPENED,
            about=its[0].operation.route,
            by=by,
            at=at,
            after={
                "route": route_id,
                "gates": [
                    {
                        "id": g.pk,
                        "operation": g.operation_id,
                        "timing": g.timing,
                        "reason": g.reason,
                    }
                    for g in its
                ],
            },
        )
    reforecast(route_ids=by_route, now=at)
    return made


@transaction.atomic
def clear_gate(*, gate_id: int, by: Person, at: datetime) -> Gate:
    """Let work go on: everybody who had to has released it.

    One that was passed at risk is cleared all the same: the proof came later.
    raises : NotAllowed, NoSuchThing, GateNotOpen
    """
    require(by, Group.QUALITY_ENGINEER, Group.SUPERVISOR, deed="clear a hold")
    gate = _locked(gate_id)
    if gate.cleared_at is not None or gate.withdrawn_at is not None:
        raise GateNotOpen(gate=gate.reason, since=_since(gate))
    gate.cleared_by, gate.cleared_at = by, at
    gate.save(update_fields=["cleared_by", "cleared_at"])
    _done(Fact.GATE_CLEARED, gate, by, at, {"at_risk_before": gate.at_risk_at is not None})
    return gate


@transaction.atomic
def pass_at_risk(*, gate_id: int, scope: str, limit: str, by: Person, at: datetime) -> Gate:
    """Let work go on past an open hold, in writing, by a named person.

    scope : what may be done
    limit : how far, or until when
    raises : NotAllowed, NoSuchThing, GateNotOpen, NeverAtRisk, ReasonMissing
    """
    require(by, Group.QUALITY_ENGINEER, deed="let work go on at risk")
    gate = _locked(gate_id)
    if not gate.is_open:
        raise GateNotOpen(gate=gate.reason, since=_since(gate))
    if gate.never_at_risk:
        raise NeverAtRisk(gate=gate.reason)
    if not scope.strip():
        raise ReasonMissing(deed="let work go on at risk, give its scope")
    if not limit.strip():
        raise ReasonMissing(deed="let work go on at risk, give its limit")
    gate.at_risk_by, gate.at_risk_at = by, at
    gate.at_risk_scope, gate.at_risk_limit = scope.strip()[:300], limit.strip()[:300]
    gate.save(update_fields=["at_risk_by", "at_risk_at", "at_risk_scope", "at_risk_limit"])
    said = {"scope": gate.at_risk_scope, "limit": gate.at_risk_limit}
    _done(Fact.GATE_PASSED_AT_RISK, gate, by, at, said)
    return gate


@transaction.atomic
def withdraw_gate(*, gate_id: int, by: Person | None, at: datetime, reason: str = "") -> Gate:
    """Take a hold away because its point is no longer in the plan.

    `by` is None when the program itself rewrites an inspection plan by its rules.
    raises : NotAllowed, NoSuchThing, GateNotOpen
    """
    if by is not None:
        require(by, Group.QUALITY_ENGINEER, deed="withdraw a hold")
    gate = _locked(gate_id)
    if gate.withdrawn_at is not None:
        raise GateNotOpen(gate=gate.reason, since=_since(gate))
    gate.withdrawn_at = at
    gate.save(update_fields=["withdrawn_at"])
    _done(Fact.GATE_WITHDRAWN, gate, by, at, {"reason": reason})
    return gate


@transaction.atomic
def expect_release(*, gate_id: int, on: date | None, by: Person, at: datetime) -> Gate:
    """Say on which day an open hold is expected to be released; None takes that back.

    raises : NotAllowed, NoSuchThing, GateNotOpen
    """
    require(
        by,
        Group.QUALITY_ENGINEER,
        Group.PLANNER,
        Group.SUPERVISOR,
        deed="say when a hold will be released",
    )
    gate = _locked(gate_id)
    if not gate.is_open:
        raise GateNotOpen(gate=gate.reason, since=_since(gate))
    before = gate.release_expected_on
    gate.release_expected_on = on
    gate.save(update_fields=["release_expected_on"])
    _done(
        Fact.GATE_RELEASE_EXPECTED,
        gate,
        by,
        at,
        {"expected_on": on and on.isoformat()},
        before={"expected_on": before and before.isoformat()},
    )
    return gate


@transaction.atomic
def give_notice(
    *, gate_ids: Iterable[int], on: date, by: Person | None, at: datetime
) -> list[Gate]:
    """Note that the parties to some holds were told on a day: their notice runs from it.

    raises : NoSuchThing
    """
    wanted = set(gate_ids)
    route_ids = set(
        Gate.objects.filter(pk__in=wanted).values_list("operation__route_id", flat=True)
    )
    lock_routes(route_ids)
    gates = list(
        Gate.objects.select_for_update(of=("self",))
        .select_related("operation__route")
        .filter(pk__in=wanted)
        .order_by("pk")
    )
    if missing := wanted - {gate.pk for gate in gates}:
        raise NoSuchThing(what="hold", key=min(missing))
    Gate.objects.filter(pk__in=wanted).update(notified_on=on)
    for gate in gates:
        gate.notified_on = on
        after = {"route": gate.operation.route_id, "notified_on": on.isoformat()}
        record(Fact.GATE_NOTICE_GIVEN, about=gate, by=by, at=at, after=after)
    reforecast(route_ids=route_ids, now=at)
    return gates


def _operations(ids: Sequence[int]) -> dict[int, Operation]:
    """The operations, their routes locked.

    raises : NoSuchThing
    """
    lock_routes(set(Operation.objects.filter(pk__in=ids).values_list("route_id", flat=True)))
    found = {o.pk: o for o in Operation.objects.select_related("route").filter(pk__in=ids)}
    for pk in ids:
        if pk not in found:
            raise NoSuchThing(what="operation", key=pk)
    return found


def _check(new: NewGate, operations: dict[int, Operation]) -> None:
    operation = operations[new.operation_id]
    if new.timing not in Gate.Timing.values:
        raise BadFigure(field="A hold's place", value=new.timing, right="before, during or after")
    if not new.reason.strip():
        raise ReasonMissing(deed="put a hold on an operation")
    if not 0 <= new.notice_days <= 120:
        raise BadFigure(field="The notice", value=new.notice_days, right="0 to 120 working days")
    gone = {
        Gate.Timing.BEFORE: operation.started_at is not None,
        Gate.Timing.DURING: operation.finished_at is not None,
        Gate.Timing.AFTER: False,
    }
    if operation.dropped_in is not None or gone[Gate.Timing(new.timing)]:
        state = "no longer in its route" if operation.dropped_in else operation.get_state_display()
        raise GateTooLate(operation=operation.name, timing=new.timing, state=state)


def _locked(gate_id: int) -> Gate:
    """The gate, its route locked first so that nobody waits in a ring.

    raises : NoSuchThing
    """
    route_id = Gate.objects.filter(pk=gate_id).values_list("operation__route_id", flat=True).first()
    if route_id is None:
        raise NoSuchThing(what="hold", key=gate_id)
    lock_routes({route_id})
    return (
        Gate.objects.select_for_update(of=("self",))
        .select_related("operation__route", "operation__unit")
        .get(pk=gate_id)
    )


def _since(gate: Gate) -> str:
    """What became of it, and who did it when."""
    if gate.withdrawn_at is not None:
        return f"withdrawn on {gate.withdrawn_at:%Y-%m-%d}"
    if gate.cleared_at is not None:
        return f"cleared by {gate.cleared_by} on {gate.cleared_at:%Y-%m-%d}"
    return f"passed at risk by {gate.at_risk_by} on {gate.at_risk_at:%Y-%m-%d}"


def _done(
    fact: Fact,
    gate: Gate,
    by: Person | None,
    at: datetime,
    after: Mapping[str, object],
    before: Mapping[str, object] | None = None,
) -> None:
    route_id = gate.operation.route_id
    said = {"route": route_id, "operation": gate.operation_id, **after}
    record(fact, about=gate, by=by, at=at, before=before, after=said)
    reforecast(route_ids=[route_id], now=at)
