"""A deed asked for by a form: done, or refused with the sentence on the form."""

from collections.abc import Callable
from typing import TypeVar

from django import forms
from django.core.exceptions import ValidationError

from works.errors import Refusal

Done = TypeVar("Done")

WRONG = 422


def attempt(form: forms.Form, deed: Callable[[], Done]) -> tuple[Done | None, int]:
    """Do it if the form is valid.

    returns : what the deed gave, or None; and the status of the answer: 200 when done
    """
    if not form.is_valid():
        return None, WRONG
    try:
        return deed(), 200
    except ValidationError as error:
        for name, words in _by_field(error).items():
            form.add_error(name if name in form.fields else None, words)
        return None, WRONG
    except Refusal as refusal:
        form.add_error(None, str(refusal))
        return None, refusal.status


def _by_field(error: ValidationError) -> dict[str, list[str]]:
    if hasattr(error, "error_dict"):
        return {name: list(words) for name, words in error.message_dict.items()}
    return {"": list(error.messages)}
