"""A state as word, shape and tone: `{% state "late" %}`, `{% state "late" "4 d late" %}`.

The word carries the meaning, the shape repeats it for those who can't tell the colours apart or
stand far from the screen, and the tone comes third.
"""

from typing import Any

from django import template

from works.states import look

register = template.Library()


@register.inclusion_tag("works/_state.html")
def state(key: str, word: str = "", *, big: bool = False) -> dict[str, Any]:
    """Show a state; `word` says more than the table's own word, such as "4 d late"."""
    shown = look(key)
    return {
        "key": key,
        "word": word or shown.word,
        "shape": shown.shape,
        "tone": shown.tone,
        "big": big,
    }
