"""The performance test entered: readings kept as typed, judged at the guarantee point."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

from django.db import transaction

from quality import errors
from quality.acceptance.errors import AcceptanceError
from quality.acceptance.grades import Guarantee, OwnTolerances
from quality.acceptance.readings import Reading, SetUp
from quality.acceptance.terms import Terms
from quality.acceptance.verdicts import CrossRule
from quality.actions.records import check_day, enter, operation_for, terms_of
from quality.evidence import PERFORMANCE
from quality.judging.performance import PerformanceInputs, judge_performance
from quality.keeping import kept
from quality.models import Instrument, PerformanceTest
from quality.register import fit_for_use
from quality.standards import tables
from works.models import CrossRule as SiteCrossRule
from works.models import Person, Site
from works.people import Group, require

CROSS = {SiteCrossRule.EITHER: CrossRule.EITHER, SiteCrossRule.BOTH: CrossRule.BOTH}


@transaction.atomic
def record_performance_test(
    *,
    operation_id: int,
    tested_on: date,
    guarantee: Guarantee,
    set_up: SetUp,
    readings: Sequence[Reading],
    typed_in: Mapping[str, str],
    instrument_ids: Sequence[int],
    typed: Mapping[str, Any] | None = None,
    own: OwnTolerances | None = None,
    note: str = "",
    replaces_id: int | None = None,
    by: Person,
    at: datetime,
) -> PerformanceTest:
    """Keep a performance test and judge it by the contract's grade.

    typed_in : key of the unit each quantity was typed in, by field of a reading
    instrument_ids : every instrument that was read
    typed : the sheet as it was typed, kept beside the figures
    own : the contract's own tolerances
    raises : NotAllowed, WrongOperation, TimeInFuture, InstrumentNotFit, StandardsMissing,
        BadRecord for readings that cannot be judged as they stand, AlreadyReplaced
    """
    require(by, Group.QUALITY_ENGINEER, Group.SUPERVISOR, deed="record a performance test")
    check_day(tested_on, at)
    operation = operation_for(PERFORMANCE, operation_id)
    rows = Instrument.objects.prefetch_related("calibrations").in_bulk(list(instrument_ids))
    if not rows:
        raise errors.BadRecord(
            "Name the instruments that were read: without one in calibration a reading proves "
            "nothing."
        )
    used = fit_for_use(rows.values(), tested_on)
    terms = Terms.from_json(terms_of(operation))
    inputs = PerformanceInputs(
        guarantee=guarantee,
        standard=terms.standard,
        edition=terms.edition,
        grade=terms.grade,
        set_up=set_up,
        readings=tuple(readings),
        typed_in=dict(typed_in),
        instruments=tuple(used.values()),
        own=own,
        cross=CROSS[SiteCrossRule(Site.current().tolerance_cross)],
    )
    try:
        judged = judge_performance(inputs, tables())
    except AcceptanceError as error:
        raise errors.BadRecord(error.sentence) from error
    return enter(
        PerformanceTest,
        PERFORMANCE,
        operation=operation,
        tested_on=tested_on,
        inputs={**kept(inputs), "typed": dict(typed or {}), "note": note.strip()},
        judged=judged,
        instruments=list(rows.values()),
        replaces_id=replaces_id,
        by=by,
        at=at,
    )
