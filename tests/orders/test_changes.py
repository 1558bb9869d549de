"""A change shows what it touches before it is accepted, and does exactly that."""

from datetime import date, datetime, timedelta
from typing import Any

import pytest

from orders.actions.changes import accept_change, propose_change, refuse_change
from orders.actions.orders import hold_order
from orders.contract import Contract
from orders.effects import Effect
from orders.errors import (
    BadQuantity,
    ChangeCannotBe,
    ChangeDecided,
    DateInPast,
    EffectMoved,
    ForeignChoice,
    NothingChanges,
    WrongState,
)
from orders.facts import Fact
from orders.models import Change, Order
from quality.models import InspectionPoint
from schedule.actions.bought_outs import order_part
from schedule.actions.gates import clear_gate
from schedule.actions.pieces import NewPiece, pour
from schedule.actions.progress import report
from schedule.models import BoughtOut, Gate, Operation, Piece
from selection.configuration import Flange, PatternWork, Sealing
from tests.factories.orders import (
    NOW,
    TODAY,
    choice,
    engineer,
    enquiry,
    only_item,
    ordered,
    planner,
    pumps,
    step,
    taken,
    viewer,
    works_manager,
)
from works.errors import NotAllowed, ReasonMissing
from works.models import Event

pytestmark = pytest.mark.django_db

LATER = NOW + timedelta(days=1)


def propose(order: Order, **wanted: Any) -> Change:
    values = {
        "item_id": order.items.order_by("number")[0].pk,
        "what": "as the customer wrote on 3 March",
        "today": TODAY,
        "by": engineer(),
        "at": NOW,
        **wanted,
    }
    return propose_change(**values)


def effect(change: Change) -> Effect:
    return Effect.from_data(change.effect)


def do(operation: Operation, *, starts: datetime, hours: float = 1) -> None:
    """Let an operation be done, whatever holds it."""
    manager = works_manager()
    before = Gate.objects.open().filter(operation__route=operation.route)
    for gate in before:
        clear_gate(gate_id=gate.pk, by=manager, at=starts)
    report(
        operation_ids=[operation.pk],
        deed="finish",
        started_at=starts,
        stated_at=starts + timedelta(hours=hours),
        confirmed={operation.pk: {}},
        by=None,
        at=LATER,
    )


def poured(order: Order) -> list[Piece]:
    """The casing of the order's first unit, moulded and poured."""
    unit = only_item(order).route.units.get(number=1)
    codes = ("FDY-U-MOULD", "FDY-L-MOULD", "FDY-MELT", "FDY-U-POUR", "FDY-L-POUR")
    for n, code in enumerate(codes):
        operation = step(order, code)
        Operation.objects.filter(pk=operation.pk).update(confirmations=[])
        do(step(order, code), starts=NOW + timedelta(hours=n))
    return pour(
        pieces=[
            NewPiece(
                mark=f"C-{part[:1]}-1",
                part=part,
                pattern_number="P-CASING",
                metal="GJL-250",
                heat="H-1",
                unit_id=unit.pk,
            )
            for part in ("upper half", "lower half")
        ],
        poured_on=TODAY,
        by=None,
        at=NOW,
    )


def test_another_seal_shows_what_is_bought_inspected_and_tested_anew() -> None:
    order = ordered()
    seal = BoughtOut.objects.get(operation=step(order, "BUY-SEAL"))
    order_part(bought_out_id=seal.pk, supplier="Vedari", ordered_on=TODAY, by=None, at=NOW)
    packed = choice(
        only_item(order).study, sealing=Sealing.PACKING, flush_plan="", seal_static_limit_pa=None
    )
    change = propose(order, choice_id=packed.pk)
    found = effect(change).items[0]
    assert {row.code for row in found.added} == {"BUY-PACKING"}
    assert {row.code for row in found.dropped} == {"TST-SEAL"}
    assert {row.code for row in found.superseded} == {"BUY-SEAL"}
    assert [(row.item, row.supplier) for row in found.bought] == [("Mechanical seals", "Vedari")]
    assert "SEAL" in {row.code for row in found.inspections_dropped}
    assert found.before.ship_on and found.after.ship_on


def test_showing_a_change_changes_nothing() -> None:
    order = ordered(quantity=2)
    before = list(Operation.objects.order_by("pk").values("pk", "dropped_in", "earliest_finish_at"))
    points = InspectionPoint.objects.filter(withdrawn_at=None).count()
    change = propose(order, quantity=4, promised_on=date(2026, 10, 30))
    assert change.state == Change.State.PROPOSED
    item = only_item(order)
    assert (item.quantity, item.revision) == (2, 1)
    assert item.route is not None
    assert (item.route.quantity, item.route.revision) == (2, 1)
    assert before == list(
        Operation.objects.order_by("pk").values("pk", "dropped_in", "earliest_finish_at")
    )
    assert InspectionPoint.objects.filter(withdrawn_at=None).count() == points
    order.refresh_from_db()
    assert order.on_site_on != date(2026, 10, 30)


def test_accepting_revises_item_route_and_inspection_plan_together() -> None:
    order = ordered()
    packed = choice(
        only_item(order).study, sealing=Sealing.PACKING, flush_plan="", seal_static_limit_pa=None
    )
    change = propose(order, choice_id=packed.pk)
    accept_change(change_id=change.pk, by=planner(), at=NOW)
    item = only_item(order)
    assert item.route is not None and item.inspection_plan is not None
    assert (item.choice, item.revision) == (packed, 2)
    assert (item.route.choice, item.route.revision) == (packed, 2)
    assert item.inspection_plan.revision == 2
    live = Operation.objects.live().filter(route=item.route)
    assert not live.filter(code__in=["TST-SEAL", "BUY-SEAL"]).exists()
    assert live.filter(code="BUY-PACKING").exists()
    assert not item.inspection_plan.points.filter(code="SEAL", withdrawn_at=None).exists()
    change.refresh_from_db()
    assert change.state == Change.State.ACCEPTED
    assert change.decided_by is not None
    assert Event.objects.filter(deed=Fact.CHANGE_ACCEPTED, about_id=order.pk).count() == 1


def test_a_new_flange_needs_pattern_work_and_pours_the_casing_again() -> None:
    order = ordered()
    castings = poured(order)
    flanged = choice(
        only_item(order).study,
        casing_pattern_work=PatternWork.MODIFY,
        discharge_flange=Flange(standard="ASME B16.1", rating="Class 125", nominal="NPS 10"),
    )
    change = propose(order, choice_id=flanged.pk)
    found = effect(change).items[0]
    assert {row.code for row in found.pattern_work} >= {"PAT-CASING-MODIFY"}
    assert {row.code for row in found.repeated} >= {"FDY-U-POUR", "FDY-L-POUR"}
    assert [row.mark for row in found.castings] == [piece.mark for piece in castings][::-1]
    assert found.after.ship_on > found.before.ship_on
    accept_change(change_id=change.pk, by=planner(), at=LATER)
    for piece in castings:
        piece.refresh_from_db()
        assert (piece.state, piece.unit) == ("on the shelf", None)
    again = Operation.objects.live().get(route__item__order=order, code="FDY-U-POUR")
    assert (again.repeat, again.state) == (1, "waiting")


def test_a_new_impeller_metal_leaves_the_casing_alone() -> None:
    order = ordered()
    poured(order)
    bronze = choice(only_item(order).study, impeller_metal="CC333G")
    found = effect(propose(order, choice_id=bronze.pk)).items[0]
    assert found.castings == ()
    assert found.repeated == ()


def test_more_pumps_get_serials_and_fewer_give_their_castings_back() -> None:
    order = ordered(quantity=2)
    accept_change(change_id=propose(order, quantity=3).pk, by=planner(), at=NOW)
    route = only_item(order).route
    assert route is not None
    assert [unit.serial for unit in route.units.all()] == [f"26-001-1-0{n}" for n in (1, 2, 3)]
    third = route.units.get(number=3)
    (piece,) = pour(
        pieces=[
            NewPiece(
                mark="I-3",
                part="impeller",
                pattern_number="P-IMPELLER",
                metal="CC491K",
                heat="H-9",
                unit_id=third.pk,
            )
        ],
        poured_on=TODAY,
        by=None,
        at=NOW,
    )
    change = propose(order, quantity=2)
    assert [row.mark for row in effect(change).items[0].castings] == ["I-3"]
    accept_change(change_id=change.pk, by=planner(), at=NOW)
    piece.refresh_from_db()
    assert piece.unit is None
    assert route.units.filter(dropped_in=None).count() == 2


def test_another_date_moves_every_item_of_the_order() -> None:
    order = enquiry()
    pumps(order)
    pumps(order, 2)
    order = taken(order)
    change = propose(order, promised_on=date(2026, 10, 30))
    found = effect(change)
    assert [row.item for row in found.items] == [1, 2]
    assert {row.after.ship_by for row in found.items} == {"2026-09-22"}
    assert found.on_site == "2026-10-30"
    accept_change(change_id=change.pk, by=planner(), at=NOW)
    order.refresh_from_db()
    assert (order.on_site_on, order.ship_by_on) == (date(2026, 10, 30), date(2026, 9, 22))
    assert {item.route.due_on for item in order.items.all()} == {date(2026, 9, 22)}


def test_a_third_approval_round_is_a_change_of_the_contract() -> None:
    order = ordered()
    change = propose(order, contract=Contract(approval_rounds=3))
    assert {row.code for row in effect(change).items[0].added} == {"ENG-APPROVAL-R3"}
    accept_change(change_id=change.pk, by=planner(), at=NOW)
    order.refresh_from_db()
    assert order.contract["approval_rounds"] == 3


def test_castings_from_the_shelf_take_the_foundry_out_of_a_unit() -> None:
    order = ordered(quantity=2)
    change = propose(order, shelf_casings=[2])
    dropped = {(row.code, row.unit) for row in effect(change).items[0].dropped}
    assert ("FDY-U-POUR", 2) in dropped
    assert ("FDY-U-POUR", 1) not in dropped
    accept_change(change_id=change.pk, by=planner(), at=NOW)
    # A later change of something else keeps that.
    later = propose(order, contract=Contract(approval_rounds=3))
    assert {row.code for row in effect(later).items[0].added} == {"ENG-APPROVAL-R3"}


def test_castings_for_a_unit_that_is_not_there_are_refused() -> None:
    with pytest.raises(ChangeCannotBe, match="there is no unit 7"):
        propose(ordered(), shelf_casings=[7])


def test_a_change_that_touches_more_by_now_is_shown_again_before_it_is_done() -> None:
    order = ordered()
    flanged = choice(only_item(order).study, casing_pattern_work=PatternWork.MODIFY)
    change = propose(order, choice_id=flanged.pk)
    assert effect(change).items[0].castings == ()
    poured(order)
    with pytest.raises(EffectMoved, match="reckoned again"):
        accept_change(change_id=change.pk, by=planner(), at=LATER)
    change.refresh_from_db()
    assert change.state == Change.State.PROPOSED
    assert len(effect(change).items[0].castings) == 2
    assert only_item(order).revision == 1
    accept_change(change_id=change.pk, by=planner(), at=LATER)
    assert only_item(order).revision == 2


def test_a_change_is_decided_once() -> None:
    order = ordered()
    change = propose(order, quantity=2)
    accept_change(change_id=change.pk, by=planner(), at=NOW)
    with pytest.raises(ChangeDecided, match="is accepted already"):
        accept_change(change_id=change.pk, by=planner(), at=NOW)
    with pytest.raises(ChangeDecided):
        refuse_change(change_id=change.pk, reason="too late", by=planner(), at=NOW)


def test_a_refused_change_stays_on_the_record() -> None:
    order = ordered()
    change = propose(order, quantity=2)
    with pytest.raises(ReasonMissing):
        refuse_change(change_id=change.pk, reason=" ", by=engineer(), at=NOW)
    refuse_change(change_id=change.pk, reason="customer withdrew it", by=engineer(), at=NOW)
    change.refresh_from_db()
    assert change.state == Change.State.REFUSED
    assert effect(change).items


def test_only_a_planner_accepts_a_change() -> None:
    change = propose(ordered(), quantity=2)
    with pytest.raises(NotAllowed, match="accept a change"):
        accept_change(change_id=change.pk, by=engineer(), at=NOW)


def test_a_viewer_proposes_no_change() -> None:
    with pytest.raises(NotAllowed):
        propose(ordered(), quantity=2, by=viewer())


def test_a_change_needs_words() -> None:
    with pytest.raises(ReasonMissing):
        propose(ordered(), quantity=2, what="  ")


def test_a_change_that_changes_nothing_is_refused() -> None:
    order = ordered()
    with pytest.raises(NothingChanges, match="as it is"):
        propose(order, quantity=1, promised_on=order.promised_on)


def test_a_change_to_yesterday_is_refused() -> None:
    with pytest.raises(DateInPast):
        propose(ordered(), promised_on=TODAY - timedelta(days=1))


def test_a_change_to_no_pump_at_all_is_refused() -> None:
    with pytest.raises(BadQuantity):
        propose(ordered(), quantity=0)


def test_a_change_to_another_items_choice_is_refused() -> None:
    order = ordered()
    other = pumps(enquiry())
    assert other.choice is not None
    with pytest.raises(ForeignChoice):
        propose(order, choice_id=other.choice.pk)


def test_a_change_to_an_enquiry_is_refused() -> None:
    order = enquiry()
    pumps(order)
    with pytest.raises(WrongState, match="it must be in work"):
        propose(order, quantity=2)


def test_a_change_to_an_order_on_hold_is_taken() -> None:
    order = ordered()
    hold_order(order_id=order.pk, reason="customer asked", by=planner(), at=NOW)
    change = propose(order, quantity=2)
    accept_change(change_id=change.pk, by=planner(), at=NOW)
    assert only_item(order).quantity == 2


def test_the_same_work_on_several_units_is_told_once() -> None:
    order = ordered(quantity=3)
    found = effect(propose(order, shelf_casings=[2, 3])).items[0]
    dropped = {str(line) for title, lines, _ in found.operations for line in lines}
    assert "Pouring: upper half, units 2, 3" in dropped
    assert [title for title, _, _ in found.inspections] == ["Inspections dropped"]
    again = Effect.from_data(effect(propose(order, shelf_casings=[2])).as_data())
    assert again.items[0].operations[0][0] == "Operations dropped"
