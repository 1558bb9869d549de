"""The rules of inspection plans: the works' own, or those kept with the program."""

from quality.acceptance.errors import AcceptanceError
from quality.acceptance.plan_rules import PlanRule, rules_from_json, standard_rules
from quality.errors import BadRecord
from quality.models import PlanTemplate


def rules_for(kind: str) -> tuple[PlanRule, ...]:
    """The works' own rules for a kind of item, or those kept with the program.

    raises : BadRecord when the works' own rows cannot be read
    """
    try:
        own = PlanTemplate.objects.filter(kind=kind).order_by("-version").first()
        if own is not None:
            return rules_from_json(own.name, own.rows)
        return standard_rules(kind.replace(" ", "_"))
    except AcceptanceError as error:
        raise BadRecord(error.sentence) from error
