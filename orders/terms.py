"""The contract's terms as `schedule` and `quality` want them, filled from order and item."""

from typing import Any

from orders.contract import Contract
from orders.errors import BadTerm
from orders.models import Item, Order
from quality.acceptance.errors import AcceptanceError
from quality.acceptance.terms import Terms as QualityTerms
from quality.acceptance.terms import Witnessable
from schedule.planning.conditions import Terms as ScheduleTerms
from schedule.planning.errors import PlanningError
from selection.configuration import Configuration, PatternWork


def configuration_of(item: Item) -> Configuration | None:
    """The pump as frozen; None for spares, which have no hydraulic choice."""
    return item.choice.as_configuration() if item.choice else None


def schedule_terms(order: Order, item: Item) -> ScheduleTerms:
    """What the contract asks of the route.

    raises : BadTerm
    """
    contract = Contract.from_data(order.contract)
    try:
        return ScheduleTerms(
            approval_rounds=contract.approval_rounds,
            days_a_round=contract.approval_days,
            plan_approval_days=contract.approval_days if contract.approves_inspection_plan else 0,
            customer_inspects=contract.customer_inspects,
            notice_days=contract.notice_days,
            paint_after_hydrostatic=contract.bare_until_pressure_test,
            crack_test_called_for=contract.crack_test_called_for,
            casing_crack_test=contract.critical_castings,
            contract_motor_on_test=not contract.test_on_works_motor,
            motor_to_works=contract.motor_to_works,
            data_book=contract.data_book,
            **_from_the_shelf(item),
            **_spare(item),
        )
    except PlanningError as error:
        raise BadTerm(why=str(error)) from error


def quality_terms(order: Order, item: Item) -> QualityTerms:
    """What the contract asks of inspection.

    raises : BadTerm
    """
    contract = Contract.from_data(order.contract)
    shelf = _from_the_shelf(item)
    witnessed = [
        test
        for test, wanted in (
            (Witnessable.HYDROSTATIC, contract.witnessed_pressure_test),
            (Witnessable.PERFORMANCE, contract.witnessed_performance_test),
            (Witnessable.SEAL, contract.witnessed_performance_test),
        )
        if wanted and contract.customer_inspects
    ]
    third = (Witnessable.HYDROSTATIC, Witnessable.PERFORMANCE)
    try:
        return QualityTerms(
            edition=contract.edition,
            grade=contract.grade,
            customer_inspects=contract.customer_inspects,
            witnessed=tuple(witnessed),
            third_party="independent inspector" if contract.third_party_inspects else "",
            third_party_witnesses=third if contract.third_party_inspects else (),
            witness_is_hold=contract.witness_is_hold,
            notice_days=contract.notice_days,
            hydrostatic_minutes=float(contract.hydrostatic_minutes),
            bare_until_hydrostatic=contract.bare_until_pressure_test,
            crack_test_called_for=contract.crack_test_called_for,
            critical_casting=contract.critical_castings,
            npsh_test=contract.npsh_test,
            noise_test=contract.noise_test,
            strip_inspection=contract.strip_inspection,
            data_book=contract.data_book,
            motor_to_works=contract.motor_to_works,
            casings_cast=len(shelf["shelf_casings"]) < item.quantity,
            impellers_cast=len(shelf["shelf_impellers"]) < item.quantity,
            **_spare(item),
        )
    except AcceptanceError as error:
        raise BadTerm(why=error.sentence) from error


def spare_facts(item: Item) -> dict[str, str]:
    """What is known of a spare without a choice, as the floor's confirmations need it."""
    names = ("impeller_pattern", "impeller_metal", "rotation", "shaft_metal")
    return {name: str(item.spare_for[name]) for name in names if item.spare_for.get(name)}


def _from_the_shelf(item: Item) -> dict[str, Any]:
    """Units whose castings come from the shelf, as the route was last grown; none before it is."""
    kept = item.route.terms if item.route is not None else {}
    return {name: tuple(kept.get(name, ())) for name in ("shelf_casings", "shelf_impellers")}


def _spare(item: Item) -> dict[str, Any]:
    """A spare impeller's pattern work, which no choice tells."""
    if item.kind != Item.Kind.SPARES_IMPELLER:
        return {}
    return {"impeller_pattern_work": PatternWork(item.spare_for.get("pattern_work", "none"))}
