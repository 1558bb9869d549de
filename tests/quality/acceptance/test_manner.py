"""The manner of the package: pure, documented by quantity, its words of one kind."""

import ast
import importlib
import inspect
import pkgutil
import re
from pathlib import Path

import pytest

import quality.acceptance
from quality.acceptance.errors import AcceptanceError
from quality.acceptance.evidence import SAYS, Certainty, Outcome, Row, least_certain, together
from tests.quality.acceptance.builders import row
from works.standards import Certainty as TableCertainty

FOLDER = Path(quality.acceptance.__file__).parent
MODULES = [
    importlib.import_module(found.name)
    for found in pkgutil.iter_modules(quality.acceptance.__path__, "quality.acceptance.")
]
FUNCTIONS = [
    function
    for module in MODULES
    for name, function in vars(module).items()
    if inspect.isfunction(function)
    and function.__module__ == module.__name__
    and not name.startswith("_")
]


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda f: f"{f.__module__}.{f.__name__}")
def test_a_docstring_names_every_argument_in_order_of_its_own_line(function):
    doc = inspect.getdoc(function) or ""
    named = {
        name.strip()
        for line in re.findall(r"^([\w, ]+) : ", doc, flags=re.MULTILINE)
        for name in line.split(",")
    }
    asked = set(inspect.signature(function).parameters)
    assert asked <= named, sorted(asked - named)
    assert named - asked <= {"returns", "raises", "source"}


PHYSICAL = re.compile(r"(_m3s|_m|_pa|_w|_k|_rpm|_mm|_um|_s|_kg|_kg_m3|_gmm|_db|_mm_s|_nm|_hb|_m2)$")


@pytest.mark.parametrize("function", FUNCTIONS, ids=lambda f: f"{f.__module__}.{f.__name__}")
def test_a_quantity_says_its_unit_in_brackets(function):
    doc = inspect.getdoc(function) or ""
    for line in re.split(r"\n(?=\w[\w, ]* : )", doc):
        names = line.partition(" : ")[0]
        if any(PHYSICAL.search(name.strip()) for name in names.split(",")) and " : " in line:
            assert "[" in line, line


@pytest.mark.parametrize("path", sorted(FOLDER.glob("*.py")), ids=lambda p: p.stem)
def test_no_module_imports_a_framework_or_grows_beyond_measure(path):
    text = path.read_text(encoding="utf-8")
    imported = {
        (node.module or "").split(".")[0] if isinstance(node, ast.ImportFrom) else alias.name
        for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.Import | ast.ImportFrom)
        for alias in node.names
    }
    assert not {name.split(".")[0] for name in imported} & {"django", "celery", "scipy"}
    # The list of public names is long by nature; every other file keeps to one subject.
    assert path.stem == "__init__" or len(text.splitlines()) <= 450


def test_every_error_speaks_and_can_cross_a_process():
    import pickle

    from quality.acceptance import errors

    kinds = [k for k in vars(errors).values() if isinstance(k, type) and k is not AcceptanceError]
    for kind in kinds:
        if not issubclass(kind, AcceptanceError):
            continue
        fields = re.findall(r"{(\w+)", kind.says)
        error = kind(**dict.fromkeys(fields, 1))
        again = pickle.loads(pickle.dumps(error))
        assert (type(again), again.sentence, again.data) == (kind, error.sentence, error.data)


def test_public_names_exist_and_are_sorted():
    assert quality.acceptance.__all__ == sorted(quality.acceptance.__all__, key=_as_ruff_sorts)
    assert all(hasattr(quality.acceptance, name) for name in quality.acceptance.__all__)


def _as_ruff_sorts(name: str) -> tuple[int, str]:
    return (0 if name.isupper() else 1 if name[0].isupper() else 2, name)


def test_certainties_are_those_of_the_tables_and_the_contracts():
    own = {str(c) for c in Certainty}
    assert own == {str(c) for c in TableCertainty} | {"contract"}
    assert set(SAYS) == set(Certainty)
    order = [c for c in Certainty if c is not Certainty.CONTRACT]
    assert [str(c) for c in order] == [str(c) for c in TableCertainty]


def test_a_verdict_is_as_sure_as_its_least_sure_unchecked_row():
    sure, remembered = row(certainty=Certainty.CONFIRMED), row(certainty=Certainty.MEMORY)
    assert least_certain([sure, remembered]) is Certainty.MEMORY
    checked = Row(
        standard="x", name="y", certainty=Certainty.MEMORY, checked="by A. Name on 2026-02-14"
    )
    assert least_certain([sure, checked]) is Certainty.CONFIRMED
    assert "checked against our copy by A. Name" in checked.sentence
    assert not checked.needs_checking
    assert remembered.needs_checking


@pytest.mark.parametrize(
    ("parts", "whole"),
    [
        ([], Outcome.NOT_JUDGED),
        ([Outcome.PASSED], Outcome.PASSED),
        ([Outcome.PASSED, Outcome.NOT_JUDGED], Outcome.NOT_JUDGED),
        ([Outcome.NOT_JUDGED, Outcome.FAILED], Outcome.FAILED),
    ],
)
def test_a_failure_decides_before_what_was_not_judged(parts, whole):
    assert together(parts) is whole
