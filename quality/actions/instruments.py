"""The register of instruments: added, calibrated again, withdrawn."""

from datetime import date, datetime

from django.db import IntegrityError, transaction
from django.utils import timezone

from quality import errors
from quality.facts import Fact
from quality.models import Calibration, Instrument
from works.errors import ReasonMissing
from works.events import record
from works.models import Person
from works.people import Group, require


@transaction.atomic
def add_instrument(
    *,
    tag: str,
    kind: str,
    unit: str,
    uncertainty_percent: float,
    calibrated_on: date,
    due_on: date,
    certificate: str = "",
    range_low: float | None = None,
    range_high: float | None = None,
    resolution: float | None = None,
    by: Person,
    at: datetime,
) -> Instrument:
    """Enter an instrument with its calibration.

    range_low, range_high, resolution : in the instrument's own unit
    uncertainty_percent : systematic, of reading, 95 % [%]
    raises : NotAllowed, TagTaken, BadCalibration
    """
    require(by, Group.QUALITY_ENGINEER, deed="add an instrument")
    _check(calibrated_on, due_on, uncertainty_percent, today=timezone.localdate(at))
    if range_low is not None and range_high is not None and range_high <= range_low:
        raise errors.BadCalibration(
            f"The range of {tag} runs from {range_low:g} to {range_high:g} {unit}: "
            "its upper end must lie above its lower one."
        )
    try:
        with transaction.atomic():
            instrument = Instrument.objects.create(
                tag=tag.strip(),
                kind=kind.strip(),
                unit=unit.strip(),
                range_low=range_low,
                range_high=range_high,
                resolution=resolution,
                uncertainty_percent=uncertainty_percent,
                certificate=certificate.strip(),
                calibrated_on=calibrated_on,
                due_on=due_on,
            )
    except IntegrityError as error:
        raise errors.TagTaken(tag=tag.strip()) from error
    _keep(instrument, within_limits=True, by=by, at=at)
    record(
        Fact.INSTRUMENT_ADDED,
        about=instrument,
        by=by,
        at=at,
        after={"calibrated on": str(calibrated_on), "due on": str(due_on)},
    )
    return instrument


@transaction.atomic
def calibrate(
    *,
    instrument_id: int,
    calibrated_on: date,
    due_on: date,
    certificate: str = "",
    uncertainty_percent: float | None = None,
    within_limits: bool = True,
    by: Person,
    at: datetime,
) -> Instrument:
    """Write a new calibration down; the earlier ones are kept.

    within_limits : as found, before any adjustment
    uncertainty_percent : None when it stays as it was [%]
    raises : NotAllowed, BadCalibration
    """
    require(by, Group.QUALITY_ENGINEER, deed="calibrate an instrument")
    instrument = Instrument.objects.select_for_update().get(pk=instrument_id)
    uncertainty = (
        instrument.uncertainty_percent if uncertainty_percent is None else uncertainty_percent
    )
    _check(calibrated_on, due_on, uncertainty, today=timezone.localdate(at))
    if calibrated_on <= instrument.calibrated_on:
        raise errors.BadCalibration(
            f"{instrument.tag} was last calibrated on {instrument.calibrated_on}: a new "
            f"calibration is of a later day, not of {calibrated_on}."
        )
    before = {"calibrated on": str(instrument.calibrated_on), "due on": str(instrument.due_on)}
    instrument.calibrated_on, instrument.due_on = calibrated_on, due_on
    instrument.certificate = certificate.strip()
    instrument.uncertainty_percent = uncertainty
    instrument.save(update_fields=["calibrated_on", "due_on", "certificate", "uncertainty_percent"])
    _keep(instrument, within_limits=within_limits, by=by, at=at)
    record(
        Fact.INSTRUMENT_CALIBRATED,
        about=instrument,
        by=by,
        at=at,
        before=before,
        after={
            "calibrated on": str(calibrated_on),
            "due on": str(due_on),
            "within limits": within_limits,
        },
    )
    return instrument


@transaction.atomic
def withdraw_instrument(*, instrument_id: int, why: str, by: Person, at: datetime) -> Instrument:
    """Take an instrument out of use.

    raises : NotAllowed, ReasonMissing
    """
    require(by, Group.QUALITY_ENGINEER, deed="withdraw an instrument")
    if not why.strip():
        raise ReasonMissing(deed="withdraw an instrument")
    instrument = Instrument.objects.select_for_update().get(pk=instrument_id)
    if not instrument.withdrawn:
        instrument.withdrawn = True
        instrument.save(update_fields=["withdrawn"])
        record(
            Fact.INSTRUMENT_WITHDRAWN, about=instrument, by=by, at=at, after={"why": why.strip()}
        )
    return instrument


def _check(calibrated_on: date, due_on: date, uncertainty: float, *, today: date) -> None:
    if calibrated_on > today:
        raise errors.BadCalibration(
            f"The calibration is stated for {calibrated_on}, and today is {today}: "
            "give the day on which it was done."
        )
    if due_on <= calibrated_on:
        raise errors.BadCalibration(
            f"The next calibration is due on {due_on}, which is not after {calibrated_on}, "
            "the day of this one."
        )
    if uncertainty < 0:
        raise errors.BadCalibration(
            f"The uncertainty is {uncertainty:g} %: it must be zero or more."
        )


def _keep(instrument: Instrument, *, within_limits: bool, by: Person, at: datetime) -> None:
    Calibration.objects.create(
        instrument=instrument,
        calibrated_on=instrument.calibrated_on,
        due_on=instrument.due_on,
        certificate=instrument.certificate,
        uncertainty_percent=instrument.uncertainty_percent,
        within_limits=within_limits,
        by=by,
        at=at,
    )
