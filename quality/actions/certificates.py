"""Material certificates, one a heat: received, then accepted by a named person."""

from collections.abc import Mapping
from datetime import date, datetime

from django.db import IntegrityError, transaction
from django.utils import timezone

from quality import errors
from quality.facts import Fact
from quality.models import MaterialCertificate
from works.errors import TimeInFuture
from works.events import record
from works.models import Person, Revision
from works.people import Group, require


@transaction.atomic
def receive_certificate(
    *,
    heat: str,
    metal: str,
    received_on: date,
    type: str = "3.1",
    chemistry: Mapping[str, float] | None = None,
    mechanicals: Mapping[str, float] | None = None,
    paper: Revision | None = None,
    by: Person,
    at: datetime,
) -> MaterialCertificate:
    """Write down that the certificate of a heat has come.

    type : of inspection document, EN 10204
    chemistry : share of each element [%]
    mechanicals : by name, in the certificate's units
    raises : NotAllowed, TimeInFuture, HeatTaken
    """
    require(by, Group.QUALITY_ENGINEER, Group.BUYER, deed="receive a certificate")
    today = timezone.localdate(at)
    if received_on > today:
        raise TimeInFuture(what="The certificate", stated=str(received_on), now=str(today))
    try:
        with transaction.atomic():
            certificate = MaterialCertificate.objects.create(
                heat=heat.strip(),
                metal=metal.strip(),
                type=type.strip(),
                chemistry=dict(chemistry or {}),
                mechanicals=dict(mechanicals or {}),
                received_on=received_on,
                paper=paper,
            )
    except IntegrityError as error:
        raise errors.HeatTaken(heat=heat.strip()) from error
    record(
        Fact.CERTIFICATE_RECEIVED,
        about=certificate,
        by=by,
        at=at,
        after={"heat": certificate.heat, "type": certificate.type, "on": str(received_on)},
    )
    return certificate


@transaction.atomic
def accept_certificate(*, certificate_id: int, by: Person, at: datetime) -> MaterialCertificate:
    """Accept a certificate that was read and found good; a second acceptance changes nothing.

    raises : NotAllowed, CertificateNotReceived
    """
    require(by, Group.QUALITY_ENGINEER, deed="accept a certificate")
    certificate = MaterialCertificate.objects.select_for_update().get(pk=certificate_id)
    if certificate.received_on is None:
        raise errors.CertificateNotReceived(heat=certificate.heat)
    if certificate.accepted_on is None:
        certificate.accepted_by, certificate.accepted_on = by, timezone.localdate(at)
        certificate.save(update_fields=["accepted_by", "accepted_on"])
        record(Fact.CERTIFICATE_ACCEPTED, about=certificate, by=by, at=at)
    return certificate
