"""`{% caution "hydrostatic" %}`: a caution from `works.cautions` as a box on the page."""

from typing import Any

from django import template

from works.cautions import CAUTIONS, JUDGEMENT

register = template.Library()


@register.inclusion_tag("works/_caution.html")
def caution(key: str) -> dict[str, Any]:
    """Show one of the works' cautions."""
    if key not in CAUTIONS:
        raise template.TemplateSyntaxError(
            f"{key!r} is no caution; give one of {', '.join(sorted(CAUTIONS))}."
        )
    return {"title": CAUTIONS[key].title, "sentences": CAUTIONS[key].sentences}


@register.simple_tag
def judgement() -> str:
    """The sentence that stands at the foot of every page."""
    return JUDGEMENT
