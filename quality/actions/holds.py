"""Holds: released by each party, waived in writing, or passed at somebody's own risk."""

from datetime import datetime

from django.db import transaction

from quality import errors
from quality.evidence import in_the_way
from quality.facts import Fact
from quality.models import InspectionPoint, Part, Party, Release
from schedule.actions.gates import clear_gate, pass_at_risk
from schedule.actions.locks import lock_route
from schedule.models import Gate
from works import events, formats
from works.models import Person, Revision
from works.people import Group, require

FACTS = {
    Release.Kind.RELEASED: Fact.POINT_RELEASED,
    Release.Kind.WAIVED: Fact.POINT_WAIVED,
    Release.Kind.NOT_ATTENDED: Fact.WITNESS_DID_NOT_COME,
}


@transaction.atomic
def release(
    *,
    point_id: int,
    party: Party | str,
    kind: Release.Kind | str = Release.Kind.RELEASED,
    signed_by: str,
    record: str = "",
    paper: Revision | None = None,
    by: Person,
    at: datetime,
) -> Release:
    """Write down that a party lets work go on; clear the gate when all holding parties have.

    kind : released; waived in writing, with its words; or that a witness did not come
    signed_by : who gave the word, which for another party is not the person who enters it
    record : what was found, or the waiver's words
    raises : NotAllowed, PointWithdrawn, NoPartInPoint, AlreadyReleased, SignatureMissing,
        WaiverWithoutWords, HoldIsNotAWitness, NotProved
    """
    require(by, Group.QUALITY_ENGINEER, deed="release an inspection point")
    point = _locked(point_id)
    party, kind = Party(party), Release.Kind(kind)
    _check(point, party, kind, signed_by.strip(), record.strip())
    done = point.releases.create(
        party=party,
        kind=kind,
        signed_by=signed_by.strip(),
        record=record.strip(),
        paper=paper,
        by=by,
        at=at,
    )
    if point.gate is not None and _waits(point.gate) and not parties_still_to_release(point):
        clear_gate(gate_id=point.gate.pk, by=by, at=at)
    events.record(
        FACTS[kind],
        about=point,
        by=by,
        at=at,
        after={"party": party, "kind": kind, "signed by": done.signed_by, "record": done.record},
    )
    return done


@transaction.atomic
def proceed_at_risk(
    *, point_id: int, scope: str, limit: str, by: Person, at: datetime
) -> InspectionPoint:
    """Let work go on past a hold at the works' own risk; the hold stays to be released.

    scope : which work may go on
    limit : how far, at the latest until what
    raises : NotAllowed, PointWithdrawn, NothingToPass; from the schedule, that scope or limit is
        missing and that the pressure test and dispatch are never passed
    """
    require(by, Group.QUALITY_ENGINEER, deed="let work go on past a hold at risk")
    point = _locked(point_id)
    if point.gate is None or not point.gate.is_open:
        raise errors.NothingToPass(point=str(point))
    pass_at_risk(gate_id=point.gate.pk, scope=scope.strip(), limit=limit.strip(), by=by, at=at)
    events.record(
        Fact.POINT_PASSED_AT_RISK,
        about=point,
        by=by,
        at=at,
        after={"scope": scope.strip(), "limit": limit.strip()},
    )
    return point


def parties_still_to_release(point: InspectionPoint) -> list[str]:
    """Parties with a hold in the point that have neither released nor waived it."""
    holding = [party for party, letter in point.parties().items() if letter == Part.HOLD]
    done = set(
        point.releases.exclude(kind=Release.Kind.NOT_ATTENDED).values_list("party", flat=True)
    )
    return [party for party in holding if party not in done]


def _waits(gate: Gate) -> bool:
    """True while the gate waits for its release, passed at risk or not."""
    return gate.cleared_at is None and gate.withdrawn_at is None


def _locked(point_id: int) -> InspectionPoint:
    """The point, its route locked first as every deed does, so that no two wait in a ring."""
    route_id = InspectionPoint.objects.values_list("plan__route_id", flat=True).get(pk=point_id)
    lock_route(route_id)
    point = (
        InspectionPoint.objects.select_for_update(of=("self",))
        .select_related("operation", "gate", "plan__route")
        .get(pk=point_id)
    )
    if point.withdrawn_at is not None:
        raise errors.PointWithdrawn(point=str(point))
    return point


def _check(
    point: InspectionPoint, party: Party, kind: Release.Kind, signed_by: str, words: str
) -> None:
    parties = point.parties()
    if str(party) not in parties:
        raise errors.NoPartInPoint(
            point=str(point), party=party, parties=", ".join(parties) or "no party"
        )
    if given := point.releases.filter(party=party).first():
        raise errors.AlreadyReleased(
            point=str(point),
            party=party,
            signed_by=given.signed_by,
            at=formats.instant(given.at),
        )
    if not signed_by:
        raise errors.SignatureMissing
    if kind == Release.Kind.WAIVED and not words:
        raise errors.WaiverWithoutWords
    if kind == Release.Kind.NOT_ATTENDED and parties[str(party)] != Part.WITNESS:
        raise errors.HoldIsNotAWitness(point=str(point), party=party)
    if kind == Release.Kind.RELEASED and (missing := in_the_way(point)):
        raise errors.NotProved(point=str(point), missing=missing)
