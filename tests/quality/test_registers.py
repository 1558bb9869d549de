"""Instruments and certificates: calibrations kept, one certificate a heat, named acceptance."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction

from quality.actions.certificates import accept_certificate, receive_certificate
from quality.actions.instruments import add_instrument, calibrate, withdraw_instrument
from quality.actions.measurements import record_measurement
from quality.errors import (
    BadCalibration,
    BadRecord,
    CertificateNotReceived,
    HeatTaken,
    InstrumentNotFit,
    TagTaken,
)
from quality.judging.measurement import Value
from quality.models import Calibration, SignedRecord
from quality.queries.certificates import certificates_missing
from quality.register import fit_for_use, instrument_on
from schedule.models import Piece
from tests.factories import quality as q
from tests.factories.schedule import NOW, PieceFactory
from works.errors import NotAllowed, ReasonMissing, TimeInFuture
from works.people import Group

pytestmark = pytest.mark.django_db


def again(instrument, **changes):
    fields = {
        "instrument_id": instrument.pk,
        "calibrated_on": q.TODAY,
        "due_on": q.TODAY + timedelta(days=365),
        "certificate": "C-2",
        "by": q.inspector(),
        "at": NOW,
        **changes,
    }
    return calibrate(**fields)


def test_a_tag_is_given_once():
    q.gauge("PG-1")
    with pytest.raises(TagTaken, match="PG-1"):
        q.gauge("PG-1")


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"due_on": q.TODAY - timedelta(days=61)}, "not after"),
        ({"calibrated_on": q.TODAY + timedelta(days=1)}, "today is"),
        ({"uncertainty_percent": -1.0}, "zero or more"),
        ({"range_low": 50.0}, "upper end must lie above"),
    ],
)
def test_figures_that_contradict_each_other_are_refused(changes, says):
    with pytest.raises(BadCalibration, match=says):
        q.gauge("PG-1", **changes)


def test_only_a_quality_engineer_keeps_the_register():
    with pytest.raises(NotAllowed):
        add_instrument(
            tag="PG-1",
            kind="pressure",
            unit="bar",
            uncertainty_percent=0.6,
            calibrated_on=q.TODAY,
            due_on=q.TODAY + timedelta(days=1),
            by=q.person(Group.SUPERVISOR),
            at=NOW,
        )


def test_every_calibration_is_kept_and_never_changes():
    instrument = q.gauge("PG-1")
    again(instrument)
    assert instrument.calibrations.count() == 2
    with pytest.raises(IntegrityError, match="never change"), transaction.atomic():
        Calibration.objects.update(within_limits=False)


def test_a_new_calibration_is_of_a_later_day():
    instrument = q.gauge("PG-1")
    with pytest.raises(BadCalibration, match="of a later day"):
        again(instrument, calibrated_on=instrument.calibrated_on)


def test_an_instrument_is_judged_by_the_calibration_of_the_day():
    instrument = q.gauge(
        "PG-1",
        calibrated_on=q.TODAY - timedelta(days=200),
        due_on=q.TODAY - timedelta(days=50),
        uncertainty_percent=1.0,
    )
    again(instrument, uncertainty_percent=0.4)
    instrument.refresh_from_db()
    then = instrument_on(instrument, q.TODAY - timedelta(days=100))
    now = instrument_on(instrument, q.TODAY)
    assert (then.uncertainty_share, now.uncertainty_share) == (0.01, 0.004)
    fit_for_use([instrument], q.TODAY - timedelta(days=50))
    with pytest.raises(InstrumentNotFit, match="was due for calibration"):
        fit_for_use([instrument], q.TODAY - timedelta(days=10))


def test_a_withdrawn_instrument_is_not_used():
    instrument = q.gauge("PG-1")
    withdraw_instrument(instrument_id=instrument.pk, why="dropped", by=q.inspector(), at=NOW)
    instrument.refresh_from_db()
    with pytest.raises(InstrumentNotFit, match="withdrawn"):
        fit_for_use([instrument], q.TODAY)


def test_withdrawing_says_why():
    instrument = q.gauge("PG-1")
    with pytest.raises(ReasonMissing):
        withdraw_instrument(instrument_id=instrument.pk, why="", by=q.inspector(), at=NOW)


def received(heat="H-1", **changes):
    fields = {
        "heat": heat,
        "metal": "GJL-250",
        "received_on": q.TODAY,
        "chemistry": {"C": 3.35},
        "by": q.inspector(),
        "at": NOW,
        **changes,
    }
    return receive_certificate(**fields)


def test_one_certificate_a_heat():
    received()
    with pytest.raises(HeatTaken):
        received()


def test_a_certificate_does_not_come_tomorrow():
    with pytest.raises(TimeInFuture):
        received(received_on=q.TODAY + timedelta(days=1))


def test_a_buyer_receives_and_a_quality_engineer_accepts():
    buyer = q.person(Group.BUYER)
    certificate = received(by=buyer)
    with pytest.raises(NotAllowed):
        accept_certificate(certificate_id=certificate.pk, by=buyer, at=NOW)
    engineer = q.inspector()
    done = accept_certificate(certificate_id=certificate.pk, by=engineer, at=NOW)
    assert (done.accepted_by, done.accepted_on) == (engineer, q.TODAY)


def test_what_has_not_come_is_not_accepted():
    certificate = q.MaterialCertificateFactory.create(received_on=None)
    with pytest.raises(CertificateNotReceived):
        accept_certificate(certificate_id=certificate.pk, by=q.inspector(), at=NOW)


def test_heats_in_work_without_an_accepted_certificate_are_missing(django_assert_num_queries):
    plan = q.plan()
    unit = q.unit_of(plan.route)
    PieceFactory.create(heat="H-1", state=Piece.State.TAKEN, unit=unit)
    PieceFactory.create(heat="H-2", part="ring", state=Piece.State.TAKEN, unit=unit)
    PieceFactory.create(heat="H-3")
    received("H-2")
    with django_assert_num_queries(2):
        missing = certificates_missing()
    assert [(row.heat, row.received) for row in missing] == [("H-1", False), ("H-2", True)]
    accept_certificate(certificate_id=received("H-1").pk, by=q.inspector(), at=NOW)
    assert [row.heat for row in certificates_missing()] == ["H-2"]


def measured(plan, value, **changes):
    caliper = q.gauge("MM-1", kind="length", unit="mm", range_high=500.0, uncertainty_percent=0.01)
    fields = {
        "operation_id": q.operation(plan, "ASM-BUILD").pk,
        "kind": "measured: clearance",
        "tested_on": q.TODAY,
        "values": [
            Value(
                what="ring clearance, drive end",
                unit="mm",
                lowest=0.43,
                highest=0.60,
                measured=value,
                instrument="MM-1",
            )
        ],
        "instrument_ids": [caliper.pk],
        "by": q.inspector(),
        "at": NOW,
        **changes,
    }
    return record_measurement(**fields)


@pytest.mark.parametrize(
    ("value", "verdict", "stand"),
    [
        (0.52, SignedRecord.Verdict.PASSED, "within"),
        (0.75, SignedRecord.Verdict.FAILED, "outside"),
        (0.44, SignedRecord.Verdict.NOT_JUDGED, "inside the uncertainty of the limit"),
    ],
)
def test_a_value_is_within_outside_or_inside_the_uncertainty_of_its_limit(value, verdict, stand):
    # A step of 0.1 mm is worth 2 × 0.1/√12 = 0.058 mm, as GUM F.2.2.1 has it.
    made = measured(q.plan(), value)
    assert made.verdict == verdict
    assert made.result["values"][0]["stand"] == stand
    assert made.result["values"][0]["uncertainty"] == pytest.approx(0.0577, abs=1e-3)


def test_a_value_of_an_instrument_not_named_is_refused():
    value = Value(what="bore", unit="mm", lowest=1.0, highest=2.0, measured=1.5, instrument="MM-7")
    with pytest.raises(BadRecord, match="MM-7"):
        measured(q.plan(), 0.5, values=[value])
