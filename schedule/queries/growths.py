"""Routes and templates of the database as the pure package grows them."""

from collections.abc import Iterable

from schedule.models import Link, Operation, RouteTemplate
from schedule.planning.growing import GrownOperation, Growth, key_of
from schedule.planning.network import Link as PlanningLink
from schedule.planning.template import Step, Template, TemplateOperation


def template_of(template: RouteTemplate) -> Template:
    """The template as its rows say it now.

    raises : BadTemplate
    """
    rows = tuple(TemplateOperation.from_json(row.row) for row in template.rows.all())
    return Template(template.name, rows)


def key(operation: Operation) -> str:
    """An operation's name in its growth, such as FDY-U-MOULD/2#1; its unit must be at hand."""
    number = operation.unit.number if operation.unit else None
    return key_of(operation.code, number, operation.repeat)


def grown_fields(operation: GrownOperation) -> dict[str, object]:
    """What the row keeps for growing again, as JSON."""
    return {
        "row": operation.row,
        "pattern": operation.pattern,
        "facts": [list(fact) for fact in operation.facts],
        "remade_with": list(operation.remade_with),
        "holds": [list(hold) for hold in operation.holds],
    }


def grown(operation: Operation) -> GrownOperation:
    """A row as the pure package knows it."""
    kept = operation.grown
    return GrownOperation(
        key=key(operation),
        code=operation.code,
        row=kept.get("row", operation.code),
        name=operation.name,
        area=operation.area,
        work_centre=operation.work_centre.code if operation.work_centre else "",
        kind=Step(operation.kind),
        minutes=operation.minutes,
        unit=operation.unit.number if operation.unit else None,
        repeat=operation.repeat,
        pattern=kept.get("pattern", ""),
        confirmations=tuple(operation.confirmations),
        caution=operation.caution,
        safety_related=operation.safety_related,
        splits=operation.splits,
        facts=tuple((name, value) for name, value in kept.get("facts", ())),
        remade_with=tuple(kept.get("remade_with", ())),
        holds=tuple((resource, until) for resource, until in kept.get("holds", ())),
    )


def growth_of(operations: Iterable[Operation]) -> Growth:
    """The growth that rows of one route stand for, with the links among them."""
    rows = list(operations)
    keys = {operation.pk: key(operation) for operation in rows}
    links = Link.objects.filter(before__in=keys, after__in=keys).order_by("pk")
    return Growth(
        tuple(grown(operation) for operation in rows),
        tuple(
            PlanningLink(
                before=keys[link.before_id], after=keys[link.after_id], lag_minutes=link.lag_minutes
            )
            for link in links
        ),
    )
