"""An inspection plan's page, and what rewriting it would change."""

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils import timezone

from quality.acceptance.plan import PlannedPoint, write_plan
from quality.acceptance.terms import Terms
from quality.models import InspectionPlan, Visit
from quality.queries.points import PointRow, points_of
from quality.queries.visits import VisitRow, visit_rows
from quality.rules import rules_for
from schedule.models import Route
from selection.configuration import Configuration


@dataclass(frozen=True, kw_only=True)
class Group:
    """The points of one unit, or those that the units share."""

    title: str
    points: tuple[PointRow, ...]


@dataclass(frozen=True, kw_only=True)
class PlanView:
    """The page of a plan."""

    plan: InspectionPlan
    route: Route
    terms: Terms
    groups: tuple[Group, ...]
    visits: tuple[VisitRow, ...]

    @property
    def count(self) -> int:
        return sum(len(group.points) for group in self.groups)

    @property
    def released(self) -> int:
        return sum(point.state == "released" for group in self.groups for point in group.points)


def plan_view(plan_id: int) -> PlanView:
    """A plan with its points by unit; a constant number of SQL queries.

    raises : InspectionPlan.DoesNotExist
    """
    plan = InspectionPlan.objects.select_related("route").get(pk=plan_id)
    by_unit: dict[str, list[PointRow]] = {}
    for row in points_of(plan_id):
        by_unit.setdefault(row.unit, []).append(row)
    return PlanView(
        plan=plan,
        route=plan.route,
        terms=Terms.from_json(plan.terms),
        groups=tuple(
            Group(title=unit or "Shared by all units", points=tuple(points))
            for unit, points in by_unit.items()
        ),
        visits=tuple(visit_rows(Visit.objects.filter(route=plan.route), timezone.localdate())),
    )


@dataclass(frozen=True, kw_only=True)
class PlanPreview:
    """What a changed pump or contract would do to a plan, before anybody decides it."""

    added: tuple[PlannedPoint, ...]
    dropped: tuple[PlannedPoint, ...]
    changed: tuple[tuple[PlannedPoint, PlannedPoint], ...]


def preview(
    *,
    kind: str,
    before: tuple[Configuration | None, Terms],
    after: tuple[Configuration | None, Terms],
    operation_codes: Sequence[str] | None = None,
) -> PlanPreview:
    """Points that a change adds, drops and alters.

    kind : of the route's template
    before, after : pump and terms
    operation_codes : of the route after the change; None to compare by the rules alone
    """
    rules = rules_for(kind)
    old = {point.code: point for point in write_plan(rules, *before)}
    new = {
        point.code: point
        for point in write_plan(rules, *after)
        if operation_codes is None or point.operation_code in operation_codes
    }
    return PlanPreview(
        added=tuple(point for code, point in new.items() if code not in old),
        dropped=tuple(point for code, point in old.items() if code not in new),
        changed=tuple(
            (old[code], point) for code, point in new.items() if code in old and old[code] != point
        ),
    )
