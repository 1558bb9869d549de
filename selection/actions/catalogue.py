"""Deeds on the catalogue: patterns, casings, impellers and their tested curves."""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from django.db import transaction

from selection.errors import BadCurve
from selection.facts import Fact
from selection.hydraulics.errors import HydraulicsError
from selection.models import CurveTest, Impeller, Pattern, PumpSize
from selection.outfit import flange_made
from selection.queries.catalogue import points_of
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
        impeller=Impeller.objects.get(pk=impeller_id),
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
    record(Fact.CURVE_ADDED, about=test.impeller, by=by, at=at, after={"test": str(test)})
    return test


@transaction.atomic
def withdraw_curve(*, test_id: int, by: Person, at: datetime) -> CurveTest:
    """Leave a curve out from now on; choices made with it keep their own numbers.

    raises : NotAllowed
    """
    require(by, *KEEPERS, deed="withdraw a curve")
    test = (
        CurveTest.objects.select_for_update(of=("self",))
        .select_related("impeller__size")
        .get(pk=test_id)
    )
    test.withdrawn = True
    test.save(update_fields=["withdrawn"])
    record(Fact.CURVE_WITHDRAWN, about=test.impeller, by=by, at=at, after={"test": str(test)})
    return test
