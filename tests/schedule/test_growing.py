"""Routes grown, grown again, previewed, and repeated."""

from datetime import date, timedelta

import pytest
from django.db import DatabaseError, transaction

from schedule.actions.bought_outs import order_part
from schedule.actions.gates import clear_gate
from schedule.actions.growing import difference, grow_route, regrow_route, repeat_operations
from schedule.actions.progress import report
from schedule.actions.routes import cancel_route
from schedule.errors import BadFigure, RouteCannotGrow, RouteNotInWork
from schedule.models import BoughtOut, Gate, Link, Operation, Route, RouteRevision, WorkCentre
from schedule.planning.conditions import Terms
from selection.configuration import Sealing
from tests.factories.schedule import (
    DUE,
    NOW,
    GateFactory,
    LinkFactory,
    OperationFactory,
    configuration,
    grown,
    person,
    small_works,
    step,
)
from works.errors import NotAllowed, ReasonMissing
from works.models import Event
from works.people import Group

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)
PACKED = configuration(sealing=Sealing.PACKING)
BIGGER = configuration(sealing=Sealing.PACKING, impeller_metal="CC333G")


def finish(route: Route, *codes: str, unit: int = 1) -> None:
    """Finish operations, each an hour long, their confirmations right."""
    for code in codes:
        operation = step(route, code, unit)
        report(
            operation_ids=[operation.pk],
            deed="finish",
            started_at=NOW - HOUR,
            stated_at=NOW,
            by=None,
            at=NOW,
            confirmed={operation.pk: {"pattern": "P-IMPELLER B", "rotation": "clockwise"}},
        )


def poured(quantity: int = 1) -> Route:
    """A route whose impellers are poured and cooled; no long purchase hides what they cost."""
    route = grown(quantity=quantity, configuration=PACKED)
    finish(route, "ENG-REVIEW")
    for unit in range(1, quantity + 1):
        finish(route, "FDY-I-MOULD", "FDY-I-POUR", "FDY-I-COOL", unit=unit)
    route.refresh_from_db()
    return route


def codes(route: Route) -> set[str]:
    """Codes of the live operations."""
    return set(Operation.objects.live().filter(route=route).values_list("code", flat=True))


def test_a_route_has_an_operation_for_each_row_that_applies() -> None:
    route = grown(quantity=2)
    found = list(route.operations.values_list("code", flat=True))
    assert "BUY-SEAL" in found
    assert "BUY-PACKING" not in found
    assert found.count("ASM-BUILD") == 2
    assert found.count("ENG-REVIEW") == 1
    assert route.units.count() == 2
    assert BoughtOut.objects.get(operation__route=route).item == "Mechanical seals"


def test_a_route_is_forecast_as_soon_as_it_is_grown() -> None:
    route = grown()
    assert route.forecast_trouble == ""
    assert route.forecast_ship_at is not None
    assert route.forecast_ship_at > NOW
    assert route.days_in_hand is not None
    assert step(route, "DSP-PACK").earliest_finish_at == route.forecast_ship_at


def test_growing_is_recorded_with_the_route() -> None:
    route = grown(released=False)
    event = Event.objects.get(deed="schedule.route_grown")
    assert event.after["route"] == route.pk
    assert event.about_label == route.label


def test_a_spare_grows_without_a_hydraulic_choice() -> None:
    route = grown(configuration=None, spare={"impeller_pattern": "P-IMPELLER"})
    assert "FDY-I-POUR" in codes(route)
    assert "BUY-SEAL" not in codes(route)
    assert route.configuration == {"impeller_pattern": "P-IMPELLER"}


@pytest.mark.parametrize("quantity", [0, -1, 51])
def test_an_absurd_quantity_is_refused(quantity: int) -> None:
    with pytest.raises(BadFigure, match=r"The quantity is -?\d+; it must be from 1 to 50"):
        grown(quantity=quantity)


@pytest.mark.parametrize("due_on", [date(2026, 3, 3), date(1926, 5, 1), date(2090, 1, 1)])
def test_a_ship_by_in_the_past_or_out_of_reach_is_refused(due_on: date) -> None:
    with pytest.raises(BadFigure, match="it must be a day from 2026-03-04 to 2031-12-31"):
        grown(due_on=due_on)


def test_an_absurd_weight_is_refused() -> None:
    with pytest.raises(BadFigure, match="The weight is 10"):
        grown(weight=10)


def test_a_route_without_a_name_is_refused() -> None:
    with pytest.raises(BadFigure, match="label"):
        grown(label="  ")


def test_a_missing_work_centre_is_named() -> None:
    template = small_works()
    WorkCentre.objects.filter(code="LATHE").delete()
    with pytest.raises(RouteCannotGrow, match="Add the work centres LATHE"):
        grown(template=template)


def test_terms_that_cannot_be_are_refused_in_words() -> None:
    with pytest.raises(RouteCannotGrow, match="shelf_impellers is 4"):
        grown(terms=Terms(shelf_impellers=(4,)))


def test_the_floor_may_not_grow_a_route() -> None:
    with pytest.raises(NotAllowed, match="application engineer"):
        grown(by=person(Group.SUPERVISOR))


def test_the_database_refuses_a_ring() -> None:
    route = grown()
    with pytest.raises(DatabaseError, match="would wait for itself"), transaction.atomic():
        Link.objects.create(before=step(route, "DSP-PACK"), after=step(route, "ENG-REVIEW"))


def test_the_database_refuses_a_ring_made_by_two_links_at_once() -> None:
    first = OperationFactory.create()
    second = OperationFactory.create(route=first.route)
    both = [Link(before=first, after=second), Link(before=second, after=first)]
    with pytest.raises(DatabaseError, match="would wait for itself"), transaction.atomic():
        Link.objects.bulk_create(both)


def test_the_database_refuses_a_link_between_two_routes() -> None:
    with pytest.raises(DatabaseError, match="of one route"), transaction.atomic():
        LinkFactory.create(before=OperationFactory.create(), after=OperationFactory.create())


def test_another_seal_drops_one_purchase_and_adds_the_other() -> None:
    route = grown()
    found = regrow_route(
        route_id=route.pk,
        configuration=PACKED,
        terms=Terms(),
        reason="customer wants packing",
        by=None,
        at=NOW,
    )
    assert [touched.code for touched in found.added] == ["BUY-PACKING"]
    assert [touched.code for touched in found.dropped] == ["BUY-SEAL"]
    assert found.repeated == ()
    assert "BUY-SEAL" not in codes(route)
    assert BoughtOut.objects.filter(operation__route=route, operation__dropped_in=None).count() == 1
    revision = RouteRevision.objects.get(route=route)
    assert (revision.number, revision.reason) == (2, "customer wants packing")


def test_done_work_is_never_dropped_in_silence() -> None:
    route = grown()
    finish(route, "ENG-REVIEW")
    part = BoughtOut.objects.get(operation__route=route)
    order_part(bought_out_id=part.pk, supplier="Selado", ordered_on=NOW.date(), by=None, at=NOW)
    found = regrow_route(
        route_id=route.pk, configuration=PACKED, terms=Terms(), reason="packing", by=None, at=NOW
    )
    assert [touched.code for touched in found.superseded] == ["BUY-SEAL"]
    assert found.bought_outs == ("Mechanical seals",)
    seal = Operation.objects.get(route=route, code="BUY-SEAL")
    assert seal.dropped_in == 2
    assert seal.started_at is not None


def test_what_was_superseded_counts_as_done_when_it_is_called_for_again() -> None:
    route = grown()
    finish(route, "ENG-REVIEW")
    part = BoughtOut.objects.get(operation__route=route)
    order_part(bought_out_id=part.pk, supplier="Selado", ordered_on=NOW.date(), by=None, at=NOW)
    for chosen in (PACKED, configuration()):
        regrow_route(
            route_id=route.pk, configuration=chosen, terms=Terms(), reason="mind", by=None, at=NOW
        )
    seal = Operation.objects.get(route=route, code="BUY-SEAL")
    assert (seal.dropped_in, seal.state, seal.repeat) == (None, "started", 0)


def test_what_was_dropped_comes_back_when_it_is_called_for_again() -> None:
    route = grown()
    for chosen in (PACKED, configuration(), PACKED):
        regrow_route(
            route_id=route.pk, configuration=chosen, terms=Terms(), reason="mind", by=None, at=NOW
        )
    assert "BUY-PACKING" in codes(route)
    assert "BUY-SEAL" not in codes(route)
    route.refresh_from_db()
    assert (route.revision, route.forecast_trouble) == (4, "")


def test_another_metal_repeats_what_was_poured_in_the_old_one() -> None:
    route = poured()
    before = route.forecast_ship_at
    found = regrow_route(
        route_id=route.pk, configuration=BIGGER, terms=Terms(), reason="metal", by=None, at=NOW
    )
    again = {new.code for _, new in found.repeated}
    assert {"FDY-I-POUR", "FDY-I-MOULD"} <= again
    assert "ENG-REVIEW" not in again
    assert any("impeller metal was CC491K, is CC333G" in new.because for _, new in found.repeated)
    pour = step(route, "FDY-I-POUR")
    assert (pour.repeat, pour.state) == (1, "waiting")
    assert "again (1)" in pour.name
    route.refresh_from_db()
    assert before is not None and route.forecast_ship_at is not None
    assert route.forecast_ship_at > before


def test_work_already_done_keeps_what_it_rested_on() -> None:
    route = poured()
    regrow_route(
        route_id=route.pk, configuration=BIGGER, terms=Terms(), reason="metal", by=None, at=NOW
    )
    assert dict(step(route, "FDY-I-POUR", repeat=0).grown["facts"])["impeller_metal"] == "CC491K"
    assert dict(step(route, "FDY-I-POUR", repeat=1).grown["facts"])["impeller_metal"] == "CC333G"


def test_repeated_work_is_held_again() -> None:
    route = poured()
    pour = step(route, "FDY-I-POUR")
    gate = GateFactory.create(
        operation=pour, timing=Gate.Timing.AFTER, reason="Analysis", never_at_risk=True
    )
    clear_gate(gate_id=gate.pk, by=person(Group.QUALITY_ENGINEER), at=NOW)
    found = regrow_route(
        route_id=route.pk, configuration=BIGGER, terms=Terms(), reason="metal", by=None, at=NOW
    )
    again = Gate.objects.get(repeats=gate)
    assert (again.operation.repeat, again.reason, again.never_at_risk) == (1, "Analysis", True)
    assert again.is_open
    assert found.gates == ((gate.pk, again.pk),)


def test_holds_on_dropped_work_hold_nothing_more() -> None:
    route = grown()
    gate = GateFactory.create(operation=step(route, "BUY-SEAL"), timing="after")
    regrow_route(
        route_id=route.pk, configuration=PACKED, terms=Terms(), reason="packing", by=None, at=NOW
    )
    gate.refresh_from_db()
    assert gate.withdrawn_at == NOW


def test_more_units_add_their_operations_and_fewer_drop_the_last() -> None:
    route = grown(quantity=1)
    regrow_route(
        route_id=route.pk,
        configuration=configuration(),
        terms=Terms(),
        quantity=3,
        reason="two more",
        by=None,
        at=NOW,
    )
    assert route.units.filter(dropped_in=None).count() == 3
    assert step(route, "DSP-PACK", 3).added_in == 2
    regrow_route(
        route_id=route.pk,
        configuration=configuration(),
        terms=Terms(),
        quantity=2,
        reason="one less",
        by=None,
        at=NOW,
    )
    assert list(route.units.filter(dropped_in=None).values_list("number", flat=True)) == [1, 2]
    assert step(route, "DSP-PACK", 3).dropped_in == 3


def test_a_preview_says_what_would_change_and_changes_nothing() -> None:
    route = poured()
    events, links = Event.objects.count(), Link.objects.count()
    found = difference(route_id=route.pk, configuration=BIGGER, terms=Terms(), at=NOW)
    assert {new.code for _, new in found.repeated} >= {"FDY-I-POUR"}
    assert found.ship_at is not None and found.ship_at_before is not None
    assert found.ship_at > found.ship_at_before
    route.refresh_from_db()
    assert (route.revision, route.configuration["impeller_metal"]) == (1, "CC491K")
    assert (Event.objects.count(), Link.objects.count()) == (events, links)
    assert not RouteRevision.objects.exists()


def test_a_preview_of_the_same_changes_nothing_at_all() -> None:
    found = difference(route_id=poured().pk, configuration=PACKED, terms=Terms(), at=NOW)
    assert found.changes_nothing
    assert found.ship_at == found.ship_at_before


def test_growing_again_needs_a_reason() -> None:
    route = grown()
    with pytest.raises(ReasonMissing):
        regrow_route(
            route_id=route.pk, configuration=PACKED, terms=Terms(), reason=" ", by=None, at=NOW
        )


def test_a_cancelled_route_is_not_grown_again() -> None:
    route = grown()
    cancel_route(route_id=route.pk, reason="withdrawn", by=None, at=NOW)
    with pytest.raises(RouteNotInWork, match="cancelled"):
        regrow_route(
            route_id=route.pk, configuration=PACKED, terms=Terms(), reason="x", by=None, at=NOW
        )


def test_lost_work_is_repeated_with_what_followed_it_in_that_unit_alone() -> None:
    route = poured(quantity=2)
    finish(route, "MCH-I-TURN", unit=1)
    found = repeat_operations(
        operation_ids=[step(route, "FDY-I-POUR", 1).pk], reason="cold shut", by=None, at=NOW
    )
    assert {new.unit for _, new in found.repeated} == {1}
    assert {new.code for _, new in found.repeated} >= {"FDY-I-POUR", "FDY-I-MOULD", "MCH-I-TURN"}
    assert step(route, "FDY-I-POUR", 2).repeat == 0


def test_lost_work_of_two_routes_is_refused() -> None:
    first, second = grown(), grown()
    with pytest.raises(RouteCannotGrow, match="one route"):
        repeat_operations(
            operation_ids=[step(first, "FDY-I-POUR").pk, step(second, "FDY-I-POUR").pk],
            reason="power cut",
            by=None,
            at=NOW,
        )


def test_the_database_refuses_to_change_a_revision() -> None:
    route = grown()
    regrow_route(
        route_id=route.pk, configuration=PACKED, terms=Terms(), reason="packing", by=None, at=NOW
    )
    with pytest.raises(DatabaseError, match="never change"), transaction.atomic():
        RouteRevision.objects.update(reason="another")


def test_growing_asks_the_database_as_often_for_many_units_as_for_one(
    django_assert_max_num_queries: object,
) -> None:
    template = small_works()
    counts = []
    for quantity in (1, 6):
        with django_assert_max_num_queries(40) as asked:  # type: ignore[operator]
            grow_route(
                label=f"Q-{quantity}",
                template=template,
                configuration=configuration(),
                terms=Terms(),
                quantity=quantity,
                due_on=DUE,
                weight=2,
                choice=None,
                by=None,
                at=NOW,
            )
        counts.append(len(asked))
    assert counts[1] <= counts[0]
