"""Freezing a choice at the desk: what is kept, what is refused, and that it never changes."""

from collections.abc import Mapping
from typing import Any

import pytest

from tests.factories.selection import ChoiceFactory, frozen

pytestmark = pytest.mark.django_db


def shape(value: Any) -> Any:
    """Names of a kept result, without its figures."""
    if isinstance(value, Mapping):
        return {name: shape(inner) for name, inner in value.items()}
    if isinstance(value, list) and value and isinstance(value[0], Mapping):
        return [shape(value[0])]
    return type(value).__name__ if isinstance(value, list) else None


def test_the_factorys_choice_is_shaped_like_one_that_the_desk_froze() -> None:
    real, made = frozen(), ChoiceFactory.create()
    real.refresh_from_db()
    assert shape(made.results) == shape(real.results)
    assert set(made.configuration) == set(real.configuration)
    assert made.as_configuration() != real.as_configuration()
