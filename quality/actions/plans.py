"""Inspection plans: written by rules from the pump and the contract, and again after a revision.

A rule's point stands at every operation of its code, once a unit. A point in which some party
holds opens a gate, which the schedule keeps and the database obeys. Points that were released are
never touched: a rewritten plan withdraws and adds around them.
"""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import transaction

from quality import errors
from quality.acceptance.plan import PlannedPoint
from quality.acceptance.plan import write_plan as planned
from quality.acceptance.plan_rules import Timing
from quality.acceptance.terms import Terms
from quality.facts import Fact
from quality.keeping import restored
from quality.models import InspectionPlan, InspectionPoint
from quality.rules import rules_for
from schedule.actions.gates import NewGate, open_gates, withdraw_gate
from schedule.actions.locks import lock_route
from schedule.models import Gate, Operation, Route
from selection.configuration import Configuration
from works.events import record
from works.models import Person
from works.people import Group, require

WRITERS = (Group.QUALITY_ENGINEER, Group.PLANNER, Group.APPLICATION_ENGINEER)

SHOWN = (
    "timing",
    "characteristic",
    "method",
    "extent",
    "criterion",
    "reference",
    "record_kind",
    "maker",
    "customer",
    "third_party",
    "notice_days",
)


@dataclass(frozen=True, kw_only=True)
class PlanDifference:
    """What rewriting a plan changed, by point."""

    added: tuple[InspectionPoint, ...]
    withdrawn: tuple[InspectionPoint, ...]
    changed: tuple[InspectionPoint, ...]
    kept: tuple[InspectionPoint, ...]

    @property
    def changes_nothing(self) -> bool:
        return not (self.added or self.withdrawn or self.changed)


@transaction.atomic
def write_plan(
    *,
    route_id: int,
    configuration: Configuration | None,
    terms: Terms,
    calendar_id: int | None = None,
    by: Person | None,
    at: datetime,
) -> InspectionPlan:
    """Write the inspection plan of a route and open its gates.

    calendar_id : of the inspectors from outside, by which notice is counted
    by : None when the program does so while an order is taken
    raises : NotAllowed, PlanExists, BadRecord for rules that cannot be read
    """
    if by is not None:
        require(by, *WRITERS, deed="write an inspection plan")
    route = lock_route(route_id)
    if InspectionPlan.objects.filter(route=route).exists():
        raise errors.PlanExists(route=str(route))
    plan = InspectionPlan.objects.create(route=route, terms=terms.as_json())
    wanted = _wanted(route, configuration, terms)
    points = _add(plan, wanted, calendar_id, by, at)
    record(
        Fact.PLAN_WRITTEN,
        about=plan,
        by=by,
        at=at,
        after={"route": route.pk, "points": len(points)},
    )
    return plan


@transaction.atomic
def rewrite_plan(
    *,
    plan_id: int,
    configuration: Configuration | None,
    terms: Terms,
    calendar_id: int | None = None,
    by: Person | None,
    at: datetime,
) -> PlanDifference:
    """Bring a plan to what its route and contract are now.

    Points of dropped operations and of rules that no longer hold are withdrawn with their gates,
    new ones are added, unreleased ones are changed; a point that some party released stays.
    raises : NotAllowed, BadRecord for rules that cannot be read
    """
    if by is not None:
        require(by, *WRITERS, deed="rewrite an inspection plan")
    lock_route(InspectionPlan.objects.values_list("route_id", flat=True).get(pk=plan_id))
    plan = InspectionPlan.objects.select_related("route__template").get(pk=plan_id)
    wanted = {(op.pk, p.code): (op, p) for op, p in _wanted(plan.route, configuration, terms)}
    added, withdrawn, changed, kept = [], [], [], []
    points = list(
        plan.points.filter(withdrawn_at=None)
        .select_related("gate", "operation")
        .prefetch_related("releases")
    )
    for point in points:
        pair = wanted.pop((point.operation_id, point.code), None)
        if point.releases.all():
            kept.append(point)
        elif pair is None:
            _withdraw(point, by, at)
            withdrawn.append(point)
        elif _change(point, pair[1], calendar_id, at):
            changed.append(point)
        else:
            kept.append(point)
    added = _add(plan, list(wanted.values()), calendar_id, by, at)
    difference = PlanDifference(
        added=tuple(added),
        withdrawn=tuple(withdrawn),
        changed=tuple(changed),
        kept=tuple(kept),
    )
    if difference.changes_nothing and plan.terms == kept_terms(terms):
        return difference
    plan.terms, plan.revision = terms.as_json(), plan.revision + 1
    plan.save(update_fields=["terms", "revision"])
    record(
        Fact.PLAN_REWRITTEN,
        about=plan,
        by=by,
        at=at,
        before={"revision": plan.revision - 1},
        after={
            "route": plan.route_id,
            "revision": plan.revision,
            "added": [point.pk for point in added],
            "withdrawn": [point.pk for point in withdrawn],
            "changed": [point.pk for point in changed],
        },
    )
    return difference


def follow_route(*, route_id: int, by: Person | None, at: datetime) -> PlanDifference | None:
    """Bring a route's plan to the operations it has now; None for a route without a plan.

    Called after work was repeated or dropped, with the terms that the plan was written by.
    """
    plan = InspectionPlan.objects.select_related("route").filter(route_id=route_id).first()
    if plan is None:
        return None
    facts = plan.route.configuration
    return rewrite_plan(
        plan_id=plan.pk,
        configuration=restored(Configuration, facts) if "size" in facts else None,
        terms=Terms.from_json(plan.terms),
        by=by,
        at=at,
    )


def kept_terms(terms: Terms) -> dict[str, Any]:
    """Terms as the database gives them back: JSON knows lists, no tuples."""
    found: dict[str, Any] = json.loads(json.dumps(terms.as_json()))
    return found


def _wanted(
    route: Route, configuration: Configuration | None, terms: Terms
) -> list[tuple[Operation, PlannedPoint]]:
    """Each rule's point at each live operation of its code, in the route's order."""
    by_code: dict[str, list[PlannedPoint]] = {}
    for point in planned(rules_for(route.template.kind), configuration, terms):
        by_code.setdefault(point.operation_code, []).append(point)
    operations = Operation.objects.live().filter(route=route, code__in=by_code)
    return [
        (operation, point)
        for operation in operations.order_by("position", "pk")
        for point in by_code[operation.code]
    ]


def _add(
    plan: InspectionPlan,
    wanted: Sequence[tuple[Operation, PlannedPoint]],
    calendar_id: int | None,
    by: Person | None,
    at: datetime,
) -> list[InspectionPoint]:
    points = [
        InspectionPoint(
            plan=plan,
            operation=operation,
            code=point.code,
            **{name: str(getattr(point, name)) for name in SHOWN if name != "notice_days"},
            notice_days=point.notice_days,
        )
        for operation, point in wanted
    ]
    there = _repeated_gates(plan)
    for row, (_, point) in zip(points, wanted, strict=True):
        if point.holds:
            row.gate = there.pop((row.operation_id, row.code), None)
    for orphan in there.values():
        withdraw_gate(gate_id=orphan.pk, by=None, at=at, reason="no longer in the inspection plan")
    held = [
        (row, point)
        for row, (operation, point) in zip(points, wanted, strict=True)
        if row.gate is None and point.holds and not _is_past(operation, point)
    ]
    # The program puts them there by its rules, whoever asked for the plan.
    gates = open_gates(
        gates=[_new_gate(row, point, calendar_id) for row, point in held], by=None, at=at
    )
    for (row, _), gate in zip(held, gates, strict=True):
        row.gate = gate
    return InspectionPoint.objects.bulk_create(points)


def _repeated_gates(plan: InspectionPlan) -> dict[tuple[int, str], Gate]:
    """Gates that the schedule put on repeated work as on the first, and no point has yet.

    By operation and the code of the point that the first one belonged to; one that repeats a
    nonconformance's gate has no point to go to and gets that code, which no rule has.
    """
    gates = Gate.objects.filter(
        operation__route_id=plan.route_id,
        operation__dropped_in=None,
        repeats__isnull=False,
        withdrawn_at=None,
        point=None,
    ).select_related("repeats__point", "repeats__nonconformance")
    found = {}
    for gate in gates:
        first = gate.repeats
        if first is not None and hasattr(first, "point"):
            found[gate.operation_id, first.point.code] = gate
        elif first is not None and hasattr(first, "nonconformance"):
            found[gate.operation_id, first.nonconformance.number] = gate
    return found


def _is_past(operation: Operation, point: PlannedPoint) -> bool:
    """Work has gone by the place where the hold would stand; the point remains to be recorded."""
    if point.timing is Timing.BEFORE:
        return operation.started_at is not None
    return point.timing is Timing.DURING and operation.finished_at is not None


def _new_gate(row: InspectionPoint, point: PlannedPoint, calendar_id: int | None) -> NewGate:
    return NewGate(
        operation_id=row.operation_id,
        timing=row.timing,
        reason=row.characteristic,
        notice_days=row.notice_days,
        calendar_id=calendar_id if row.notice_days else None,
        never_at_risk=point.never_at_risk,
    )


def _withdraw(point: InspectionPoint, by: Person | None, at: datetime) -> None:
    if point.gate is not None and point.gate.withdrawn_at is None:
        withdraw_gate(
            gate_id=point.gate.pk, by=None, at=at, reason="no longer in the inspection plan"
        )
    point.withdrawn_at = at
    point.save(update_fields=["withdrawn_at"])


def _change(
    point: InspectionPoint, wanted: PlannedPoint, calendar_id: int | None, at: datetime
) -> bool:
    """Bring an unreleased point and its gate to what is wanted; True when anything changed."""
    fresh = {name: str(getattr(wanted, name)) for name in SHOWN if name != "notice_days"}
    fresh["notice_days"] = wanted.notice_days  # type: ignore[assignment]
    differs = [name for name in SHOWN if getattr(point, name) != fresh[name]]
    if not differs:
        return False
    for name in differs:
        setattr(point, name, fresh[name])
    gate = point.gate
    stands = gate is not None and gate.withdrawn_at is None
    if gate is not None and stands and (not wanted.holds or {"timing", "notice_days"} & {*differs}):
        withdraw_gate(gate_id=gate.pk, by=None, at=at, reason="the inspection plan was rewritten")
        stands = False
    if wanted.holds and not stands and not _is_past(point.operation, wanted):
        (point.gate,) = open_gates(gates=[_new_gate(point, wanted, calendar_id)], by=None, at=at)
    point.save(update_fields=[*differs, "gate"])
    return True
