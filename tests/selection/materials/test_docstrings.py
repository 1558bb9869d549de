"""Docstrings name the quantities that the signature has, with their units."""

import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable
from typing import Any

import pytest

import selection.materials

LINE = re.compile(r"^([a-z_][a-z0-9_]*(?:, [a-z_][a-z0-9_]*)*) : ", re.MULTILINE)
SPECIAL = {"returns", "raises", "source"}
UNITS = {
    "_pa": "[Pa]",
    "_k": "[K]",
    "_m": "[m]",
    "_mm": "[mm]",
    "_m_s": "[m/s]",
}


def public_functions() -> list[Callable[..., Any]]:
    found: list[Callable[..., Any]] = []
    for info in pkgutil.iter_modules(selection.materials.__path__):
        module = importlib.import_module(f"selection.materials.{info.name}")
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if function.__module__ == module.__name__ and not name.startswith("_"):
                found.append(function)
    return found


@pytest.mark.parametrize("function", public_functions(), ids=lambda f: f.__qualname__)
def test_docstrings_name_the_parameters_there_are(function: Callable[..., Any]) -> None:
    doc = inspect.getdoc(function) or ""
    assert doc, "a docstring"
    documented = {n for line in LINE.findall(doc) for n in line.split(", ")} - SPECIAL
    parameters = set(inspect.signature(function).parameters)
    assert documented <= parameters
    if documented:
        assert documented == parameters


@pytest.mark.parametrize("function", public_functions(), ids=lambda f: f.__qualname__)
def test_quantities_carry_their_unit(function: Callable[..., Any]) -> None:
    doc = inspect.getdoc(function) or ""
    for name in inspect.signature(function).parameters:
        suffix = max((s for s in UNITS if name.endswith(s)), key=len, default="")
        if suffix and f"{name} : " in doc:
            about = doc.split(f"{name} : ")[1].split("\n\n")[0]
            assert UNITS[suffix] in about, f"{name} lacks {UNITS[suffix]}"
