"""How a view answers a form: the deed done, or the refusal's sentence on the form, nothing lost."""

from collections.abc import Callable, Collection, Mapping
from typing import TypeVar

from django import forms

from quality.acceptance.errors import AcceptanceError
from works.errors import Refusal

Done = TypeVar("Done")

UNPROCESSABLE = 422


def attempt(form: forms.Form, deed: Callable[[], Done]) -> Done | None:
    """Do a deed; a refusal becomes the form's own error and None comes back."""
    try:
        return deed()
    except Refusal as refusal:
        form.add_error(None, str(refusal))
    except AcceptanceError as error:
        form.add_error(None, error.sentence)
    return None


def not_shown(bound: Mapping[str, forms.Form], shown: Collection[str]) -> list[str]:
    """What was wrong with forms that the page, as things now stand, no longer offers.

    Somebody else was faster: the sentence must be read all the same.
    """
    return [
        str(error)
        for name, form in bound.items()
        if name not in shown
        for errors in form.errors.values()
        for error in errors
    ]


def status_of(*shown: forms.Form) -> int:
    """200 for a fresh page, 422 for one that shows what was wrong with what was sent."""
    return UNPROCESSABLE if any(form.is_bound and form.errors for form in shown) else 200
