"""Two people at once: the second is told, and nothing is overwritten or waited for in a ring."""

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from schedule.actions.gates import clear_gate, open_gate
from schedule.actions.growing import regrow_route
from schedule.actions.pieces import take_from_shelf
from schedule.actions.progress import report
from schedule.models import Gate, Operation, Piece, Progress
from schedule.planning.conditions import Terms
from selection.configuration import Sealing
from tests.factories.schedule import (
    NOW,
    GateFactory,
    PieceFactory,
    configuration,
    grown,
    person,
    step,
)
from works.errors import Refusal
from works.people import Group

pytestmark = pytest.mark.django_db(transaction=True)


def together(*deeds: Callable[[], object]) -> list[Exception | None]:
    """Do deeds at the same moment, each on a connection of its own; what each was refused with."""
    ready = Barrier(len(deeds))

    def one(deed: Callable[[], object]) -> Exception | None:
        ready.wait()
        try:
            deed()
        except Refusal as refusal:
            return refusal
        finally:
            connection.close()
        return None

    with ThreadPoolExecutor(len(deeds)) as pool:
        return list(pool.map(one, deeds))


def test_of_two_starts_the_second_is_told_of_the_first() -> None:
    operation = step(grown(), "ENG-REVIEW")

    def start() -> object:
        return report(operation_ids=[operation.pk], deed="start", stated_at=NOW, by=None, at=NOW)

    found = together(start, start)
    assert found.count(None) == 1
    assert "is started already" in str(next(r for r in found if r is not None))
    assert Progress.objects.count() == 1


def test_one_report_sent_twice_at_once_is_one_report() -> None:
    operation = step(grown(), "ENG-REVIEW")

    def start() -> object:
        return report(
            operation_ids=[operation.pk],
            deed="start",
            stated_at=NOW,
            by=None,
            at=NOW,
            key="tablet-3-17",
        )

    found = together(start, start, start)
    assert found == [None, None, None]
    assert Progress.objects.count() == 1


def test_of_two_releases_the_second_is_told_of_the_first() -> None:
    gate = GateFactory.create(operation=step(grown(), "ENG-REVIEW"))
    one, other = person(Group.QUALITY_ENGINEER), person(Group.QUALITY_ENGINEER)
    found = together(
        lambda: clear_gate(gate_id=gate.pk, by=one, at=NOW),
        lambda: clear_gate(gate_id=gate.pk, by=other, at=NOW),
    )
    assert found.count(None) == 1
    assert "was cleared by" in str(next(r for r in found if r is not None))


def test_a_start_and_a_hold_put_at_once_never_both_pass() -> None:
    for _ in range(5):
        operation = step(grown(), "ENG-REVIEW")
        pk = operation.pk
        found = together(
            lambda pk=pk: report(operation_ids=[pk], deed="start", stated_at=NOW, by=None, at=NOW),
            lambda pk=pk: open_gate(
                operation_id=pk, timing="before", reason="Data frozen", by=None, at=NOW
            ),
        )
        assert found.count(None) == 1
        started = Operation.objects.get(pk=pk).started_at is not None
        assert started != Gate.objects.filter(operation=pk).exists()


def test_of_two_units_that_want_one_casting_one_gets_it() -> None:
    first, second = grown(), grown()
    piece = PieceFactory.create(pattern__number="P-IMPELLER")
    units = [route.units.get().pk for route in (first, second)]
    found = together(
        lambda: take_from_shelf(piece_id=piece.pk, unit_id=units[0], by=None, at=NOW),
        lambda: take_from_shelf(piece_id=piece.pk, unit_id=units[1], by=None, at=NOW),
    )
    assert found.count(None) == 1
    assert "not on the shelf" in str(next(r for r in found if r is not None))
    assert Piece.objects.get().state == "taken"


def test_a_report_and_a_revision_at_once_both_hold() -> None:
    route = grown()
    review = step(route, "ENG-REVIEW")
    found = together(
        lambda: report(operation_ids=[review.pk], deed="start", stated_at=NOW, by=None, at=NOW),
        lambda: regrow_route(
            route_id=route.pk,
            configuration=configuration(sealing=Sealing.PACKING),
            terms=Terms(),
            reason="packing",
            by=None,
            at=NOW,
        ),
    )
    assert found == [None, None]
    route.refresh_from_db()
    assert (route.revision, step(route, "ENG-REVIEW").state) == (2, "started")
