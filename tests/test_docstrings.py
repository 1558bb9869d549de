"""Every public docstring of the pure packages: its names, its units, its promises.

A docstring has one line a quantity, `name : shape, bound [unit]`; several names may share a line.
`returns`, `raises` and `source` are words, not names. A documented name must be one of the
signature's (or a field of the dataclass), and whoever documents one name documents every number.
In hydraulics and planning a number's line holds its unit; acceptance and materials carry
quantities in whatever unit their limit was written in, and name that instead.
"""

import dataclasses
import importlib
import inspect
import pkgutil
import re
from collections.abc import Iterator
from types import ModuleType
from typing import Any

import pytest

PURE = (
    "selection.hydraulics",
    "selection.materials",
    "schedule.planning",
    "quality.acceptance",
)
IN_SI = ("selection.hydraulics", "schedule.planning")
WORDS = {"returns", "raises", "source"}
LINE = re.compile(r"^(?P<names>\*{0,2}[a-z_]\w*(?:, *\*{0,2}[a-z_]\w*)*) : (?P<told>.*)$")
ARRAY = r"numpy\.ndarray\[.*(float64|intp)\]\]"
NUMBERS = re.compile(rf"(float|int|{ARRAY})( \| (None|float|{ARRAY}))*")
UNITS = re.compile(rf"(float|{ARRAY})( \| (None|float|{ARRAY}))*")
UNIT = re.compile(r"\[[^\]]+\]")


def modules() -> Iterator[ModuleType]:
    """All modules of the pure packages that are there."""
    for name in PURE:
        package = importlib.import_module(name)
        yield package
        for found in pkgutil.walk_packages(package.__path__, f"{name}."):
            yield importlib.import_module(found.name)


def documented(thing: Any) -> dict[str, str]:
    """Names that a docstring has lines for, with what each line and those under it say."""
    told: dict[str, str] = {}
    names: list[str] = []
    for line in inspect.cleandoc(thing.__doc__ or "").splitlines():
        match = LINE.match(line)
        if match:
            names = [name.strip().lstrip("*") for name in match["names"].split(",")]
            told |= dict.fromkeys(names, match["told"])
        elif names and line.startswith(" "):
            told |= {name: f"{told[name]} {line.strip()}" for name in names}
        else:
            names = []
    return told


def expected(thing: Any) -> dict[str, str]:
    """Names of the signature or the dataclass's fields, with their annotations as text."""
    if dataclasses.is_dataclass(thing):
        return {
            field.name: str(field.type) if isinstance(field.type, str) else _text(field.type)
            for field in dataclasses.fields(thing)
            if not field.name.startswith("_")
        }
    parameters = inspect.signature(thing).parameters.values()
    return {
        parameter.name: _text(parameter.annotation)
        for parameter in parameters
        if parameter.name not in {"self", "cls"}
    }


def _text(annotation: Any) -> str:
    return annotation.__name__ if isinstance(annotation, type) else str(annotation)


def public() -> Iterator[tuple[str, Any]]:
    """Public functions, dataclasses and methods, once each, by where they are written."""
    for module in modules():
        for name, thing in vars(module).items():
            if name.startswith("_") or getattr(thing, "__module__", "") != module.__name__:
                continue
            if inspect.isclass(thing):
                yield f"{module.__name__}.{name}", thing
                for inner, method in vars(thing).items():
                    plain = getattr(method, "__func__", method)
                    if inspect.isfunction(plain) and not inner.startswith("_"):
                        yield f"{module.__name__}.{name}.{inner}", plain
            elif inspect.isfunction(inspect.unwrap(thing)) or hasattr(thing, "py_func"):
                yield f"{module.__name__}.{name}", getattr(thing, "py_func", thing)


THINGS = dict(public())


def test_the_packages_have_public_things_to_look_at():
    packages = {name.split(".")[0] + "." + name.split(".")[1] for name in THINGS}
    assert packages == set(PURE)
    assert len(THINGS) > 200


@pytest.mark.parametrize("name", sorted(THINGS))
def test_a_docstring_names_what_the_signature_names(name):
    thing = THINGS[name]
    assert thing.__doc__, f"{name} has no docstring"
    lines = documented(thing)
    if inspect.isclass(thing) and not dataclasses.is_dataclass(thing):
        return
    names = expected(thing)
    unknown = set(lines) - WORDS - set(names)
    assert not unknown, f"{name} documents {sorted(unknown)}, which it does not take"
    if set(lines) - WORDS:
        missing = {key for key, text in names.items() if NUMBERS.fullmatch(text)} - set(lines)
        assert not missing, f"{name} does not document {sorted(missing)}"


@pytest.mark.parametrize("name", sorted(name for name in THINGS if name.startswith(IN_SI)))
def test_a_number_is_documented_with_its_unit(name):
    thing = THINGS[name]
    if inspect.isclass(thing) and not dataclasses.is_dataclass(thing):
        return
    lines = documented(thing)
    for quantity, annotation in expected(thing).items():
        if quantity in lines and UNITS.fullmatch(annotation):
            assert UNIT.search(lines[quantity]), f"{name}: {quantity} has no unit"
