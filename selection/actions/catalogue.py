"""Deeds on the catalogue: patterns, casings, impellers and their tested curves."""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from django.db import transaction

from selection.errors import BadCurve
from selection.facts import Fact
from selection.hydraulics.catalogue import pack
from selection.hydraulics.errors import HydraulicsError
from selection.models import CurveTest, Impeller, Pattern, PumpSize
from selection.outfit import flange_made
from selection.queries.catalogue import catalogue_impeller, points_of
from works.errors import ChangedMeanwhile
from works.events import record
from works.models import Person
from works.people import Group, require

KEEPERS = (Group.APPLICATION_ENGINEER,)


@transaction.atomic
def add_pattern(*, fields: dict[str, Any], by: Person, at: datetime) -> Pattern:
    """Enter a pattern in the register.

    raises : NotAllowed; ValidationError for a number taken; BadFlangeWords
    """
    require(by, *KEEPERS, Group.SUPERVISOR, deed="enter a pattern")
    pattern = Pattern(**fields)
    _check_flanges(pattern)
    pattern.full_clean()
    pattern.save()
    record(Fact.PATTERN_ADDED, about=pattern, by=by, at=at, after={"number": pattern.number})
    return pattern


@transaction.atomic
def change_pattern(
    *, pattern_id: int, version: int, fields: dict[str, Any], by: Person, at: datetime
) -> Pattern:
    """Change what the register says; a new revision makes castings poured to the old one found.

    raises : NotAllowed; ChangedMeanwhile; BadFlangeWords
    """
    require(by, *KEEPERS, Group.SUPERVISOR, deed="change a pattern")
    pattern = Pattern.objects.select_for_update().get(pk=pattern_id)
    if pattern.version != version:
        raise ChangedMeanwhile(what=f"Pattern {pattern.number}")
    before = {name: str(getattr(pattern, name)) for name in fields}
    for name, value in fields.items():
        setattr(pattern, name, value)
    pattern.version += 1
    _check_flanges(pattern)
    pattern.full_clean()
    pattern.save()
    after = {name: str(getattr(pattern, name)) for name in fields}
    record(Fact.PATTERN_CHANGED, about=pattern, by=by, at=at, before=before, after=after)
    return pattern


def _check_flanges(pattern: Pattern) -> None:
    """A casing's pattern says what it is drilled for: the choice of flanges starts from it."""
    if pattern.part == Pattern.Part.CASING:
        flange_made(pattern.drilled_for, pattern.number)
    for words in filter(None, (pattern.drilled_for, *pattern.blanks_for)):
        flange_made(words, pattern.number)


@transaction.atomic
def add_size(*, fields: dict[str, Any], by: Person, at: datetime) -> PumpSize:
    """Enter a casing.

    raises : NotAllowed; ValidationError
    """
    require(by, *KEEPERS, deed="enter a casing")
    size = PumpSize(**fields)
    size.full_clean()
    size.save()
    record(Fact.SIZE_ADDED, about=size, by=by, at=at, after={"name": size.name})
    return size


@transaction.atomic
def change_size(
    *, size_id: int, version: int, fields: dict[str, Any], by: Person, at: datetime
) -> PumpSize:
    """Change a casing, or withdraw it; choices made with it keep their own figures.

    raises : NotAllowed; ChangedMeanwhile; ValidationError; BadCurve
    """
    require(by, *KEEPERS, deed="change a casing")
    size = PumpSize.objects.select_for_update().get(pk=size_id)
    _change(size, f"Casing {size}", version, fields, Fact.SIZE_CHANGED, by, at)
    for impeller in size.impellers.select_related("size", "pattern"):
        _prove(impeller)
    return size


@transaction.atomic
def add_impeller(*, fields: dict[str, Any], by: Person, at: datetime) -> Impeller:
    """Enter an impeller pattern of a casing.

    raises : NotAllowed; ValidationError
    """
    require(by, *KEEPERS, deed="enter an impeller")
    impeller = Impeller(**fields)
    impeller.full_clean()
    impeller.save()
    record(Fact.IMPELLER_ADDED, about=impeller, by=by, at=at, after={"name": str(impeller)})
    return impeller


@transaction.atomic
def change_impeller(
    *, impeller_id: int, version: int, fields: dict[str, Any], by: Person, at: datetime
) -> Impeller:
    """Change an impeller's figures; choices made with it keep their own.

    raises : NotAllowed; ChangedMeanwhile; ValidationError; BadCurve
    """
    require(by, *KEEPERS, deed="change an impeller")
    impeller = (
        Impeller.objects.select_for_update(of=("self",))
        .select_related("size", "pattern")
        .get(pk=impeller_id)
    )
    _change(impeller, f"Impeller {impeller}", version, fields, Fact.IMPELLER_CHANGED, by, at)
    _prove(impeller)
    return impeller


def _change(
    thing: PumpSize | Impeller,
    name: str,
    version: int,
    fields: dict[str, Any],
    fact: Fact,
    by: Person,
    at: datetime,
) -> None:
    if thing.version != version:
        raise ChangedMeanwhile(what=name)
    before = {key: getattr(thing, key) for key in fields if getattr(thing, key) != fields[key]}
    for key in before:
        setattr(thing, key, fields[key])
    thing.version += 1
    thing.full_clean()
    thing.save()
    record(
        fact,
        about=thing,
        by=by,
        at=at,
        before={key: _told(value) for key, value in before.items()},
        after={key: _told(fields[key]) for key in before},
    )


def _told(value: Any) -> Any:
    return value if isinstance(value, dict | float | int | str | None) else str(value)


def _prove(impeller: Impeller) -> None:
    """Let the search take the impeller in, so that no entry can break every later search.

    raises : BadCurve
    """
    tests = list(impeller.tests.filter(withdrawn=False))
    if all(test.origin != CurveTest.Origin.CATALOGUE for test in tests):
        return
    try:
        taken = catalogue_impeller(impeller, tests)
        pack([taken])
        taken.family().curve_at(impeller.full_diameter_mm, tests[0].speed_rpm)
    except HydraulicsError as error:
        raise BadCurve(why=str(error)) from error


@transaction.atomic
def add_curve(
    *,
    impeller_id: int,
    origin: str = CurveTest.Origin.CATALOGUE,
    diameter_mm: float,
    speed_rpm: float,
    flow_m3s: Sequence[float],
    head_m: Sequence[float],
    efficiency: Sequence[float],
    npshr_m: Sequence[float | None] = (),
    tested_on: date | None = None,
    serial_number: str = "",
    source: str = "",
    by: Person,
    at: datetime,
) -> CurveTest:
    """Enter tested points; the computation's own door says whether they make a curve.

    raises : NotAllowed; BadCurve; ValidationError
    """
    require(by, *KEEPERS, deed="enter a curve")
    test = CurveTest(
        impeller=Impeller.objects.select_related("size", "pattern").get(pk=impeller_id),
        origin=origin,
        diameter_mm=diameter_mm,
        speed_rpm=speed_rpm,
        flow_m3s=list(flow_m3s),
        head_m=list(head_m),
        efficiency=list(efficiency),
        npshr_m=list(npshr_m),
        tested_on=tested_on,
        serial_number=serial_number,
        source=source,
    )
    try:
        points_of(test)
    except HydraulicsError as error:
        raise BadCurve(why=str(error)) from error
    test.full_clean()
    test.save()
    _prove(test.impeller)
    record(Fact.CURVE_ADDED, about=test.impeller, by=by, at=at, after={"test": str(test)})
    return test


@transaction.atomic
def withdraw_curve(*, test_id: int, by: Person, at: datetime) -> CurveTest:
    """Leave a curve out from now on; choices made with it keep their own numbers.

    raises : NotAllowed
    """
    require(by, *KEEPERS, deed="withdraw a curve")
    test = _locked(test_id)
    return _use(test, Fact.CURVE_WITHDRAWN, by, at)


@transaction.atomic
def bring_curve_back(*, test_id: int, by: Person, at: datetime) -> CurveTest:
    """Use a curve again that was left out.

    raises : NotAllowed; BadCurve when it no longer agrees with the others
    """
    require(by, *KEEPERS, deed="bring a curve back")
    test = _locked(test_id)
    _use(test, Fact.CURVE_BROUGHT_BACK, by, at)
    _prove(test.impeller)
    return test


def _locked(test_id: int) -> CurveTest:
    return (
        CurveTest.objects.select_for_update(of=("self",))
        .select_related("impeller__size", "impeller__pattern")
        .get(pk=test_id)
    )


def _use(test: CurveTest, fact: Fact, by: Person, at: datetime) -> CurveTest:
    """Leave a curve out or take it in; twice is once."""
    left_out = fact is Fact.CURVE_WITHDRAWN
    if test.withdrawn != left_out:
        test.withdrawn = left_out
        test.save(update_fields=["withdrawn"])
        record(fact, about=test.impeller, by=by, at=at, after={"test": str(test)})
    return test
