"""Errors speak in sentences and keep their figures when they travel between processes."""

import inspect
import pickle

import numpy as np
import pytest

from selection.hydraulics import HydraulicsError, errors
from selection.hydraulics.door import column, number
from selection.hydraulics.errors import NotFinite, OutOfBounds

KINDS = [
    kind
    for _, kind in inspect.getmembers(errors, inspect.isclass)
    if issubclass(kind, HydraulicsError) and kind is not HydraulicsError
]


def example(kind):
    """Fill every field with something of its type."""
    by_type = {"str": "Thing.", "float": 2.5, "int": 3, "tuple[str, ...]": ("a", "b")}
    values = {}
    for name, text in kind.__annotations__.items():
        plain = text.__name__ if text in (str, float, int) else str(text)
        values[name] = by_type.get(plain.replace(" | None", ""))
    return kind(**values)


@pytest.mark.parametrize("kind", KINDS)
def test_an_error_is_a_sentence_and_survives_pickling(kind):
    error = example(kind)
    assert str(error)[0].isupper()
    assert str(error).endswith(".")
    again = pickle.loads(pickle.dumps(error))
    assert type(again) is kind
    assert str(again) == str(error)


def test_a_word_in_place_of_a_number_is_refused():
    with pytest.raises(NotFinite, match="Give a plain number"):
        number("many", "duty flow", "m3/s")


def test_a_bound_on_one_side_is_told_as_such():
    with pytest.raises(OutOfBounds, match="at least 0"):
        number(-1.0, "loss", "m", 0.0)
    with pytest.raises(OutOfBounds, match="at most 5"):
        number(6.0, "loss", "m", high=5.0)


def test_a_column_names_the_point_that_is_wrong():
    with pytest.raises(OutOfBounds, match="flow at point 2 is -3") as refusal:
        column([1.0, -3.0], "flow", "m3/s", 0.0)
    assert (refusal.value.index, refusal.value.value) == (1, -3.0)


def test_gaps_are_taken_only_where_they_are_allowed():
    assert np.isnan(column([1.0, np.nan], "NPSH", "m", gaps=True)[1])
    with pytest.raises(NotFinite):
        column([1.0, np.inf], "NPSH", "m", gaps=True)
