"""A state as word, shape and tone: `{% state "late" %}`, `{% state "late" "4 d late" %}`.

The word carries the meaning, the shape repeats it for those who can't tell the colours apart or
stand far from the screen, and the tone comes third.
"""

from dataclasses import dataclass
from typing import Any

from django import template

register = template.Library()


@dataclass(frozen=True)
class State:
    """How one state is shown.

    word : said on screen
    shape : symbol drawn before it, see `works/_shape.html`
    tone : colour family of `tokens.css`: good, warn, bad, hold, info or plain
    """

    word: str
    shape: str
    tone: str


STATES: dict[str, State] = {
    "on-time": State("On time", "tick", "good"),
    "at-risk": State("At risk", "triangle", "warn"),
    "late": State("Late", "diamond", "bad"),
    "held": State("Held", "bars", "hold"),
    "open": State("Open", "ring", "info"),
    "released": State("Released", "unbarred", "good"),
    "failed": State("Failed", "cross", "bad"),
    "passed": State("Passed", "tick", "good"),
    "waiting": State("Waiting", "hourglass", "plain"),
    "done": State("Done", "square", "good"),
    "running": State("Running", "arrow", "info"),
    "planned": State("Planned", "square-open", "plain"),
    "blocked": State("Blocked", "bars", "bad"),
    "due": State("Due", "half", "warn"),
    "overdue": State("Overdue", "diamond", "bad"),
    "warned": State("Warned", "triangle", "warn"),
    "draft": State("Draft", "dashes", "plain"),
    "frozen": State("Frozen", "lock", "info"),
    "published": State("Published", "flag", "info"),
    "cancelled": State("Cancelled", "slash", "plain"),
    "scrapped": State("Scrapped", "cross", "bad"),
    "at-own-risk": State("At risk, by name", "unbarred", "warn"),
}


@register.inclusion_tag("works/_state.html")
def state(key: str, word: str = "", *, big: bool = False) -> dict[str, Any]:
    """Show a state; `word` says more than the table's own word, such as "4 d late"."""
    if key not in STATES:
        raise template.TemplateSyntaxError(
            f"{key!r} is no state; give one of {', '.join(sorted(STATES))}."
        )
    shown = STATES[key]
    return {
        "key": key,
        "word": word or shown.word,
        "shape": shown.shape,
        "tone": shown.tone,
        "big": big,
    }
