"""Route templates: the house's own brought in, and their rows edited.

A template's change touches routes grown from now on; one in work changes only when it is grown
again.
"""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from schedule.errors import BadFigure, NoSuchThing, TableTrouble
from schedule.facts import Fact
from schedule.models import RouteTemplate, TemplateOperation
from schedule.planning.errors import PlanningError
from schedule.planning.template import STANDARD, Template, read_template, standard_template
from schedule.planning.template import TemplateOperation as PlanningRow
from schedule.queries.growths import template_of
from works.events import record
from works.models import Person
from works.people import Group, require


@transaction.atomic
def load_standard_templates(*, by: Person | None, at: datetime) -> list[RouteTemplate]:
    """Bring in those of the house's templates that are not there yet.

    raises : NotAllowed
    """
    _may(by, "load route templates")
    there = set(RouteTemplate.objects.values_list("name", flat=True))
    return [
        _save(standard_template(name), name.replace("_", " "), by, at)
        for name in STANDARD
        if name.replace("_", " ") not in there
    ]


@transaction.atomic
def load_template(
    *, name: str, kind: str, text: str, by: Person | None, at: datetime
) -> RouteTemplate:
    """Bring a template in from its table; one of that name is replaced.

    text : CSV with the columns of the house's templates
    raises : NotAllowed, BadFigure; TableTrouble with the line or row that is wrong
    """
    _may(by, "load route templates")
    if not name.strip() or len(name) > 60:
        raise BadFigure(field="The template's name", value=repr(name), right="1 to 60 characters")
    try:
        return _save(read_template(name.strip(), text), kind, by, at)
    except PlanningError as error:
        raise TableTrouble(why=str(error)) from error


@transaction.atomic
def edit_row(
    *, template_id: int, code: str, by: Person | None, at: datetime, **changes: Any
) -> TemplateOperation:
    """Change fields of one row, such as its minutes or its work centre.

    raises : NotAllowed, NoSuchThing, TableTrouble
    """
    _may(by, "edit a route template")
    template = RouteTemplate.objects.select_for_update().filter(pk=template_id).first()
    if template is None:
        raise NoSuchThing(what="route template", key=template_id)
    row = template.rows.filter(code=code).first()
    if row is None:
        raise NoSuchThing(what=f"operation in {template}", key=code)
    before = {name: row.row.get(name) for name in changes}
    row.row = {**row.row, **changes}
    row.save(update_fields=["row"])
    try:
        template_of(template)
    except (PlanningError, TypeError, ValueError) as error:
        raise TableTrouble(why=str(error)) from error
    template.version += 1
    template.save(update_fields=["version"])
    after = {"code": code, **_json(changes)}
    said = {"code": code, **before}
    record(Fact.TEMPLATE_CHANGED, about=template, by=by, at=at, before=said, after=after)
    return row


def _json(values: Mapping[str, Any]) -> dict[str, Any]:
    return {name: list(v) if isinstance(v, tuple) else v for name, v in values.items()}


def _save(table: Template, kind: str, by: Person | None, at: datetime) -> RouteTemplate:
    name = table.name.replace("_", " ")
    template, made = RouteTemplate.objects.select_for_update().get_or_create(
        name=name, defaults={"kind": kind}
    )
    if not made:
        template.version += 1
        template.kind = kind
        template.save(update_fields=["version", "kind"])
        template.rows.all().delete()
    TemplateOperation.objects.bulk_create(
        TemplateOperation(
            template=template, position=position, code=row.code, row=PlanningRow.as_json(row)
        )
        for position, row in enumerate(table.operations)
    )
    after = {"rows": len(table.operations), "version": template.version}
    record(Fact.TEMPLATE_LOADED, about=template, by=by, at=at, after=after)
    return template


def _may(by: Person | None, deed: str) -> None:
    if by is not None:
        require(by, Group.PLANNER, deed=deed)
